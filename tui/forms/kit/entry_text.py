"""Any field of any entry as text and back: what is typed in a generated form, read by the field's own rule.

Pure functions. What a field may hold is said by its rule in the record types; whether the value is allowed is
asked of :func:`armrise.store.entries.build`, so that a form refuses with the same sentence as a file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from armrise.store.entries.build import build, field_rules
from armrise.store.record.case import KINDS
from armrise.store.record.fields import (
    BLANK,
    Absence,
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Number,
    Rule,
    Series,
    Words,
    series_text,
)
from armrise.store.record.kinds.head import SOURCES, Entry
from armrise.store.record.kinds.programme import CLASS_WORDS
from armrise.store.record.labels import label_of
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain
from armrise.tui.words.choices import in_words, lettered
from armrise.tui.words.entries import day, read_day

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules

ABSENT_KEYS = {
    "n": Absence.NOT_MEASURED,
    "a": Absence.NOT_ASKED,
    "d": Absence.DECLINED,
    "p": Absence.PROHIBITED,
}
"""One letter for each way in which a value is not there."""


# values as text


def word_text(word: str) -> str:
    """A word of a closed list as it is shown and typed."""
    return word.replace("_", " ")


def text_of(rule: Rule, value: Any) -> str:
    """What stands in the field for ``value``; empty for what is left out."""
    if value is None:
        return ""
    if isinstance(value, Absence):
        return value.value
    match rule:
        case Choice():
            return word_text(value)
        case Flag():
            return "yes" if value else "no"
        case Day():
            return day(value)
        case Series():
            return series_text(value)
        case Children():
            return "\n".join(child_text(rule.of, child) for child in value)
        case Number():
            return f"{value:f}"
        case _:
            return str(value)


def shown_value(rule: Rule, value: Any) -> str:
    """A value in words for reading: an absence by its word, nothing as "left empty"."""
    if isinstance(rule, Choice) and value in CLASS_WORDS:
        return CLASS_WORDS[value]
    if isinstance(value, Decimal):
        return plain(value) + _unit(rule)
    return (text_of(rule, value) or "left empty") + (_unit(rule) if type(value) is int else "")


def _unit(rule: Rule) -> str:
    unit = getattr(rule, "unit", "")
    return f" {unit}" if unit else ""


def child_text(of: type, child: Any) -> str:
    """One part of a list field on a line: "load class R1, sets 3, reps 10: wall slide"."""
    name, rest = _child_fields(of)
    said: list[str] = []
    for spec in rest:
        value = getattr(child, spec.name)
        if isinstance(spec.rule, Flag):
            said += [word_text(spec.name)] if value else []
        elif value not in (None, ""):
            said.append(f"{word_text(spec.name)} {text_of(spec.rule, value)}")
    return f"{', '.join(said)}: {getattr(child, name.name)}"


def _child_fields(of: type) -> tuple[Any, list[Any]]:
    """The field that names a part, and the others."""
    specs = field_rules(of)
    named = next(spec for spec in specs if isinstance(spec.rule, Words))
    return named, [spec for spec in specs if spec is not named]


# text as raw values


class Unreadable(ValueError):
    """Why a text is no value of its field, in one sentence."""


def raw_of(rule: Rule, text: str, today: date) -> Any:
    """What ``text`` says, as :func:`armrise.store.entries.build` takes it; None when it is empty.

    Raises :class:`Unreadable` for what cannot be read at all; whether it is allowed is not asked here.
    """
    said = text.strip()
    if not said:
        return None
    match rule:
        case Choice():
            return chosen(rule.words, said)
        case Flag():
            return _flag(said)
        case Day():
            return _day(said, today, ahead=rule.future)
        case Series():
            return [None if word == BLANK else _number(word) for word in said.split()]
        case Children():
            return [child_of(rule.of, line, today) for line in said.splitlines() if line.strip()]
        case Words() | ClockTime():
            return said
        case _:
            return _absence(said) if rule.absent and _absence(said) else _number(said)


def chosen(words: Sequence[str], text: str) -> str:
    """The word of a closed list that was typed: itself, its number, or a part of it that only it has.

    Raises :class:`Unreadable`.
    """
    exact = {word_text(word).casefold(): word for word in words}
    said = " ".join(word_text(text).casefold().split())
    if said in exact:
        return exact[said]
    own = lettered(words)
    if said in own:
        return own[said]
    if said.isdecimal():
        if not own and 1 <= int(said) <= len(words):
            return words[int(said) - 1]
        raise Unreadable(f'"{text}" is not {in_words(own) if own else f"1 to {len(words)}"}')
    close = matches(words, said)
    if len(close) == 1:
        return close[0]
    if close:
        raise Unreadable(f'"{text}" could be {len(close)} of the list: type more of it, or its number')
    raise Unreadable(f'"{text}" is not in the list: type its number, or a part of the word')


def matches(words: Sequence[str], text: str) -> list[str]:
    """The words of a closed list that hold ``text``, those that begin with it first."""
    said = " ".join(word_text(text).casefold().split())
    held = [word for word in words if said in _searched(word)]
    begin = [word for word in held if _searched(word).startswith(said)]
    return begin or held


def _searched(word: str) -> str:
    return f"{word_text(word)} {CLASS_WORDS.get(word, '')}".casefold()


def _flag(said: str) -> bool:
    if said.casefold() in ("y", "yes"):
        return True
    if said.casefold() in ("n", "no"):
        return False
    raise Unreadable(f'"{said}" is neither yes nor no: type y or n')


def _day(said: str, today: date, *, ahead: bool) -> date:
    found = read_day(said, today, ahead=ahead)
    if found is None:
        raise Unreadable(f'"{said}" is no date: say -3, 27 Feb, Thu or 2026-02-27')
    return found


def _absence(said: str) -> Absence | None:
    word = said.casefold()
    return ABSENT_KEYS.get(word) or next((absence for absence in Absence if absence.value == word), None)


def _number(said: str) -> Any:
    """A decimal, or the text itself, which is then refused with what is allowed."""
    try:
        return Decimal(said.replace(",", "."))
    except InvalidOperation:
        return said


def child_of(of: type, line: str, today: date) -> dict[str, Any]:
    """The raw part of a list field that :func:`child_text` wrote. Raises :class:`Unreadable`."""
    before, colon, name = line.partition(":")
    named, rest = _child_fields(of)
    if not colon:
        raise Unreadable(f'"{line.strip()}" has no ":" before the name of the exercise')
    raw: dict[str, Any] = {named.name: name.strip() or None}
    by_words = sorted(rest, key=lambda spec: -len(spec.name))
    for part in (part.strip() for part in before.split(",") if part.strip()):
        spec = next((s for s in by_words if f"{part} ".startswith(f"{word_text(s.name)} ")), None)
        if spec is None:
            known = ", ".join(word_text(s.name) for s in rest)
            raise Unreadable(f'"{part}" is not one of {known}')
        value = part[len(spec.name) :].strip()
        raw[spec.name] = (
            True if isinstance(spec.rule, Flag) and not value else raw_of(spec.rule, value, today)
        )
    return raw


# a whole entry


@dataclass(frozen=True)
class TextField:
    """One line of a generated form: its name, its rule, whether it has to be stated."""

    name: str
    rule: Rule
    required: bool
    default: Any = None

    @property
    def label(self) -> str:
        """The field in words."""
        return label_of(self.name)


COMMON = (
    TextField("on", Day(), True),
    TextField("source", Choice(SOURCES), False, "clinician measured"),
    TextField("history", Flag(), False, False),
)


def form_fields(kind: str) -> tuple[TextField, ...]:
    """The lines of the form of a kind: the day, its own fields, then where it comes from."""
    own = (TextField(s.name, _typed(s.rule), s.required, s.default) for s in field_rules(KINDS[kind]))
    return (COMMON[0], *own, *COMMON[1:])


def _typed(rule: Rule) -> Rule:
    """What can be typed: the word that is empty is said by leaving the line empty."""
    return Choice(tuple(word for word in rule.words if word)) if isinstance(rule, Choice) else rule


def texts_of(entry: Entry) -> dict[str, str]:
    """Every field of an entry as text, to be changed in a form."""
    return {one.name: text_of(one.rule, getattr(entry, one.name)) for one in form_fields(entry.KIND)}


def first_texts(kind: str, today: date) -> dict[str, str]:
    """What stands in the form of a kind before anything is typed: today, and nothing else."""
    return {one.name: day(today) if one.name == "on" else "" for one in form_fields(kind)}


@dataclass(frozen=True)
class Read:
    """What the texts of a form say: the values of an entry, or the faults by field."""

    values: dict[str, Any] | None
    faults: dict[str, str]


def read_texts(
    kind: str,
    texts: Mapping[str, str],
    today: date,
    rules: Rules | None = None,
    specs: Sequence[TextField] = (),
) -> Read:
    """The values that the texts state, an empty one left to the record's default; or every fault by field.

    ``specs`` are the fields of the form where they take less than those of the kind.
    """
    raw: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for one in specs or form_fields(kind):
        try:
            value = raw_of(one.rule, texts.get(one.name, ""), today)
        except Unreadable as reason:
            faults[one.name] = f"{one.label}: {reason}."
            continue
        if value is not None:
            raw[one.name] = value
    entry, found = build(kind, raw, case="", label="", base=today, rules=rules)
    for fault in found:
        name = fault.field.split(" ")[0]
        faults.setdefault(name, f"{label_of(name)}{fault.field[len(name) :]}: {fault.message}.")
    if entry is None or faults:
        return Read(None, faults)
    names = [one.name for one in form_fields(kind)]
    return Read({name: getattr(entry, name) for name in names}, {})


def allowed_short(one: TextField) -> str:
    """What a field takes, in a few words that fit beside it."""
    rule, need = one.rule, "" if one.required else "may stay empty"
    match rule:
        case Choice():
            own = lettered(rule.words)
            said = f"{in_words(own) if own else f'1-{len(rule.words)}'}, or a part of the word"
        case Flag():
            said, need = "y or n", f"empty is {'yes' if one.default else 'no'}"
        case Day():
            said = "a date: 27 Feb, -3, Thu" if not rule.future else "a date: 27 Mar, +14, Thu"
        case ClockTime():
            said = "a time of day: 08:40"
        case Series():
            blanks = f', "{BLANK}" for a blank' if rule.blanks else ""
            said = f"up to {rule.most} numbers {rule.low} to {rule.high}{_unit(rule)}{blanks}"
        case Words():
            shortest = f"{rule.shortest} to " if rule.shortest > 1 else "up to "
            said = f"{shortest}{rule.longest} characters"
        case Children():
            said = "one line each"
        case _:
            high = f" to {rule.high}" if rule.high < 2**62 else ""
            said = f"{rule.low}{high}{_unit(rule)}"
    if getattr(rule, "absent", False):
        said += ", or n not measured, a not asked, d declined, p prohibited"
    return f"{said}; {need}" if need else said


EXAMPLE_ITEM = "load class R1, sets 3, sets asked 3, reps 10, reps asked 10, load 1.5: wall slide"
"""How one exercise of a session is typed; a test reads it."""
