"""The sentences of a refusal: what is allowed in a field, and a value as it is quoted back."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from armrise.store.record.fields import (
    Absence,
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Rule,
    Series,
    Whole,
    Words,
)
from armrise.store.record.light import dataclass
from armrise.store.record.visible import fits_a_line, visible

ABSENCE_WORDS = tuple(word.value for word in Absence)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is refused, said in one sentence by ``str()``.

    ``case`` is the case code (empty for a fault of the whole file), ``entry`` how the entry is named (its
    number, label, kind and date), ``field`` the field in question.
    """

    case: str
    entry: str
    field: str
    message: str

    def __str__(self) -> str:
        named = (f"case {self.case}" if self.case else "", self.entry, self.field)
        where = ", ".join(visible(part) for part in named if part)
        return f"{where}: {self.message}." if where else f"{self.message}."


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseHead:
    """What is said of a case once, when it is registered. ``side`` is LEFT or RIGHT in full."""

    code: str
    person: str
    side: str
    pathway: str
    registered_on: date
    dominance: str | None = None
    age_band: str | None = None
    clinician: str = ""
    referrer: str = ""


def shown(value: object) -> str:
    """A refused value as it is quoted back: on one line, shortened, nothing unprintable."""
    if isinstance(value, str):
        text = f"{value[:57]}..." if len(value) > 60 else value
        return f'"{visible(text)}"'
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    if isinstance(value, (int, float, Decimal)):
        text = str(value)
        return text if len(text) <= 24 else f"{text[:20]}... ({len(text)} digits)"
    return "a list" if isinstance(value, (list, tuple)) else "an object"


def quoted(words: tuple[str, ...]) -> str:
    """The words of a closed list, each in quotes."""
    return ", ".join(f'"{word}"' for word in words)


def allowed(rule: Rule) -> str:
    """What a field of this rule may hold, in words that follow "allowed is"."""
    if isinstance(rule, Choice):
        return f"one of {quoted(rule.words)}"
    if isinstance(rule, Words):
        return f"text of {rule.shortest} to {rule.longest} characters on one line"
    if isinstance(rule, Flag):
        return "true or false"
    if isinstance(rule, ClockTime):
        return 'a time of day from "00:00" to "23:59"'
    if isinstance(rule, Day):
        later = ", which may lie ahead" if rule.future else ""
        return f"an ISO date such as 2026-02-27 or a whole number of days from the clinic date{later}"
    if isinstance(rule, Children):
        return f"a list of objects ({rule.of.__name__})"
    unit = f" {rule.unit}" if rule.unit else ""
    if isinstance(rule, Series):
        blanks = ", null where one is blank" if rule.blanks else ""
        decimals = f" with at most {rule.places} decimals" if rule.places else ""
        return f"a list of at most {rule.most} numbers from {rule.low} to {rule.high}{unit}{decimals}{blanks}"
    high = "" if rule.high >= 2**62 else f" to {rule.high}"
    absent = f", or one of {quoted(ABSENCE_WORDS)}" if rule.absent else ""
    if isinstance(rule, Whole):
        return f"a whole number from {rule.low}{high}{unit}{absent}"
    return f"a number from {rule.low}{high}{unit} with at most {rule.places} decimals{absent}"


def unprintable(text: str) -> str | None:
    """The first character of ``text`` that is no letter, sign or space of one line, as U+000A; else None."""
    if text.isprintable():  # as nearly every text is: then every sign of it fits
        return None
    return next((f"U+{ord(sign):04X}" for sign in text if not fits_a_line(sign)), None)
