"""From a raw mapping to the frozen record, by the rule beside each field; faults are collected."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields
from datetime import UTC, date, datetime, timedelta, tzinfo
from difflib import get_close_matches
from functools import cache
from typing import Any, cast

from armrise.store.entries.ranges import Range, own_ranges
from armrise.store.entries.values import (
    OutOfRangeError,
    RefusalError,
    clock_time,
    day,
    instant,
    number_of,
    series,
    words_of,
)
from armrise.store.entries.words import CaseHead, Fault, allowed, quoted, shown
from armrise.store.record.case import KINDS
from armrise.store.record.fields import (
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Number,
    Rule,
    Series,
    Whole,
    Words,
)
from armrise.store.record.kinds.care import SPOKEN, Contact
from armrise.store.record.kinds.head import AGE_BANDS, CODE_LONGEST, HANDS, SIDES, SOURCES, Entry
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.safety import Screen
from armrise.store.record.light import dataclass
from armrise.store.rules.pathway import Rules

_CODE = re.compile(rf"[A-Za-z0-9][A-Za-z0-9._-]{{0,{CODE_LONGEST - 1}}}\Z")
CODE_ALLOWED = f"1 to {CODE_LONGEST} letters, digits, hyphens, dots"

COMMON: dict[str, Rule] = {
    "on": Day(),
    "author": Words(24),
    "source": Choice(SOURCES),
    "history": Flag(),
}
"""The fields every entry has; "recorded" is read apart because its default follows from the others."""

HEAD: dict[str, Rule] = {
    "person": Words(24),
    "side": Choice(SIDES),
    "pathway": Words(8),
    "registered": Day(),
    "dominance": Choice(HANDS),
    "age_band": Choice(AGE_BANDS),
    "clinician": Words(24),
    "referrer": Words(60),
}
HEAD_REQUIRED = ("person", "side", "pathway", "registered")

ONLY_BESIDE: dict[str, tuple[str, tuple[str, ...], tuple[str, ...]]] = {
    Screen.KIND: ("answer", ("yes",), ("severity",)),
    Contact.KIND: ("outcome", SPOKEN, ("load_cut", "plan_corrected")),
}
"""By kind: a field, its words, and the fields that say nothing beside any other word of it.

A severity beside "no" is a "yes" mistyped. Nobody cuts the load of a patient who did not answer; the surgeon
can have been told all the same.
"""


@dataclass(frozen=True, slots=True)
class FieldRule:
    """One field of a record type: its rule, and whether it has to be stated."""

    name: str
    rule: Rule
    required: bool
    default: Any


@cache
def field_rules(of: type) -> tuple[FieldRule, ...]:
    """The fields of a record type that carry a rule, in the order in which they are declared."""
    ruled = [(f, f.default is MISSING) for f in fields(of) if "rule" in f.metadata]
    return tuple(FieldRule(f.name, f.metadata["rule"], no, None if no else f.default) for f, no in ruled)


def build(
    kind: object,
    raw: Mapping[str, Any],
    *,
    case: str,
    label: str,
    base: date,
    zone: tzinfo | None = None,
    rules: Rules | None = None,
    exact: bool = False,
) -> tuple[Entry | None, list[Fault]]:
    """The entry of ``kind`` that ``raw`` states, or None with every fault found.

    ``raw`` maps field names to values as JSON gives them (numbers as int or Decimal, dates as ISO text or
    days from ``base``); dates, instants and :class:`Absence` values are taken as they are. ``recorded`` is a
    date or an aware instant, by default the evening of ``on`` (of the day after for a session with a next
    morning) in ``zone``. ``label`` is how a fault names the entry ("entry 3"). With ``rules`` a number out of
    range is told the range of its own measure or score. ``kind`` may be whatever a file holds in its place.
    ``exact`` keeps the blanks at the ends of texts, which fall away otherwise.
    """
    if not isinstance(kind, str) or kind not in KINDS:
        missing = f"is missing, needed is one of {quoted(tuple(KINDS))}"
        say = missing if kind is None else unknown("kind of entry", kind, tuple(KINDS))
        return None, [Fault(case, label, "kind", say)]
    of = KINDS[kind]
    reader = Reader(case, f"{label} ({kind})", base, own_ranges(rules, kind, raw), exact=exact)
    on = reader.one("on", COMMON["on"], raw.get("on"), required=True)
    if isinstance(on, date):
        reader.entry = f"{label} ({kind} of {on.isoformat()})"
    known = {rule.name for rule in field_rules(of)} | set(COMMON) | {"recorded"}
    reader.refuse_unknown(raw, known, f"field of a {kind}")
    values = reader.common(raw) | reader.all(of, raw)
    reader.refuse_beside(kind, values)
    recorded = reader.recorded(raw.get("recorded"), on, of, values, zone or UTC)
    if reader.faults or recorded is None or not isinstance(on, date):
        return None, reader.faults
    return of(on=on, recorded_at=recorded[0], recorded_on=recorded[1], **values), []


def is_code(code: object) -> bool:
    """True for what may be the code of a case."""
    return isinstance(code, str) and _CODE.match(code) is not None


def build_head(
    raw: Mapping[str, Any], *, code: str, base: date, place: str = "", exact: bool = False
) -> tuple[CaseHead | None, list[Fault]]:
    """The head of a case as a caseload file states it, or None with every fault found.

    ``place`` is how a fault names a case whose code is refused ("2 of the file"); ``exact`` as in
    :func:`build`.
    """
    reader = Reader(code if is_code(code) else place, "", base, exact=exact)
    if not is_code(code):
        reader.fault("code", f"{shown(code)} is no case code, allowed is {CODE_ALLOWED}")
    values: dict[str, Any] = {}
    for name, rule in HEAD.items():
        value = reader.one(name, rule, raw.get(name), required=name in HEAD_REQUIRED)
        if value is not None:
            values["registered_on" if name == "registered" else name] = value
    if reader.faults:
        return None, reader.faults
    return CaseHead(code=code, **values), []


def unknown(what: str, word: object, words: Sequence[str]) -> str:
    """The message for a word that is not in a closed list of names, with the close ones."""
    close = get_close_matches(str(word), words, n=3, cutoff=0.6)
    hint = f"did you mean {quoted(tuple(close))}" if close else f"known are {quoted(tuple(words))}"
    return f"{shown(word)} is no {what}, {hint}"


class Reader:
    """Reads the fields of one entry and keeps the faults found on the way."""

    def __init__(
        self,
        case: str,
        entry: str,
        base: date,
        own: Mapping[str, Range] | None = None,
        *,
        exact: bool = False,
    ) -> None:
        self.exact = exact
        self.case = case
        self.entry = entry
        self.base = base
        self.own = own or {}
        self.faults: list[Fault] = []

    def fault(self, name: str, message: str) -> None:
        """Keep one fault of the field ``name``."""
        self.faults.append(Fault(self.case, self.entry, name, message))

    def refuse_unknown(self, raw: Mapping[str, Any], known: set[str], what: str, path: str = "") -> None:
        """Keep a fault for every key of ``raw`` that is no known field."""
        for key in raw:
            if key not in known:
                self.fault(f"{path}{key[:40]}", unknown(what, key, sorted(known)))

    def one(self, name: str, rule: Rule, value: Any, *, required: bool, path: str = "") -> Any:
        """The value of a field without a default, or None (with a fault where there has to be one)."""
        if value is None:
            if required:
                self.fault(f"{path}{name}", f"is missing, needed is {allowed(rule)}")
            return None
        try:
            return self.value(rule, value, f"{path}{name}")
        except OutOfRangeError as refusal:
            own = self.own.get(f"{path}{name}")
            self.fault(f"{path}{name}", own.refusal(shown(refusal.value)) if own else str(refusal))
        except RefusalError as refusal:
            self.fault(f"{path}{name}", str(refusal))
        return None

    def common(self, raw: Mapping[str, Any]) -> dict[str, Any]:
        """The fields every entry has, apart from its dates."""
        names = ("author", "source", "history")
        read = {name: self.one(name, COMMON[name], raw.get(name), required=False) for name in names}
        return {name: value for name, value in read.items() if value is not None}

    def all(self, of: type, raw: Mapping[str, Any], path: str = "") -> dict[str, Any]:
        """Every stated field of the record type ``of``; what is left out keeps the type's default."""
        read: dict[str, Any] = {}
        for spec in field_rules(of):
            told = raw.get(spec.name)
            if told is None and not spec.required:  # as most fields of an entry are
                if spec.default is not None and spec.name in raw:
                    say = "null says nothing, leave the field out or state it"
                    self.fault(f"{path}{spec.name}", f"{say}, allowed is {allowed(spec.rule)}")
                continue
            value = self.one(spec.name, spec.rule, told, required=spec.required, path=path)
            if value is not None:
                read[spec.name] = value
        return read

    def refuse_beside(self, kind: str, values: Mapping[str, Any]) -> None:
        """Keep a fault for a field that says nothing beside the answer or outcome stated."""
        decides, allowing, only = ONLY_BESIDE.get(kind, ("", (), ()))
        answer = values.get(decides)
        if answer is None or answer in allowing:
            return
        for name in only:
            if values.get(name):
                beside = " or ".join(f'"{word}"' for word in allowing)
                say = f'{shown(values[name])} stands beside the {decides} "{answer}"'
                self.fault(name, f"{say}, allowed only beside {beside}")

    def value(self, rule: Rule, value: Any, path: str) -> Any:
        """``value`` as the record holds it. Raises :class:`RefusalError` with the reason."""
        if isinstance(rule, (Whole, Number)):
            return number_of(rule, value)
        if isinstance(rule, Words):
            return words_of(rule, value, exact=self.exact)
        if isinstance(rule, Day):
            return day(value, self.base)
        if isinstance(rule, ClockTime):
            return clock_time(value)
        if isinstance(rule, Series):
            return series(rule, value)
        if isinstance(rule, Children):
            return self.children(rule, value, path)
        if isinstance(rule, Flag):
            if not isinstance(value, bool):
                raise RefusalError(f"{shown(value)} is neither true nor false")
            return value
        if not isinstance(value, str) or value not in rule.words:
            raise RefusalError(f"{shown(value)} is not allowed, allowed is {allowed(rule)}")
        return str(value)

    def children(self, rule: Children, value: Any, path: str) -> tuple[Any, ...]:
        """The parts of a list field; their faults are named by the part's number."""
        if not isinstance(value, (list, tuple)):
            raise RefusalError(f"{shown(value)} is no list, allowed is {allowed(rule)}")
        built: list[Any] = []
        known = {spec.name for spec in field_rules(rule.of)}
        for number, part in enumerate(cast("Sequence[object]", value), 1):
            where = f"{path} {number} "
            if isinstance(part, rule.of):
                built.append(part)
            elif not isinstance(part, Mapping):
                self.fault(where.strip(), f"{shown(part)} is no object with the fields of an item")
            else:
                before, item = len(self.faults), cast("Mapping[str, Any]", part)
                self.refuse_unknown(item, known, "field of an item", where)
                values = self.all(rule.of, item, where)
                if len(self.faults) == before:
                    built.append(rule.of(**values))
        return tuple(built)

    def recorded(
        self, value: Any, on: Any, of: type[Entry], values: Mapping[str, Any], zone: tzinfo
    ) -> tuple[datetime, date] | None:
        """The recorded instant and its clinic-local date, or None when it or ``on`` is refused."""
        if value is None:
            if not isinstance(on, date):
                return None
            later = of is Session and isinstance(values.get("morning"), int)
            value = on + timedelta(days=1) if later else on
        try:
            return instant(value, self.base, zone)
        except RefusalError as refusal:
            self.fault("recorded", str(refusal))
            return None
