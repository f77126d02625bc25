"""From a raw mapping to the frozen record, by the rule beside each field; faults are collected."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from datetime import date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import cache
from typing import Any, cast
from zoneinfo import ZoneInfo

from store.clinic.fields import Absence, Children, Choice, Day, Flag, Number, Rule, Whole, Words
from store.clinic.record import AGE_BANDS, KINDS, SIDES, SOURCES, Entry, Session
from store.entries.words import ABSENCE_WORDS, CaseHead, Fault, allowed, quoted, shown, unprintable

RECORDED_AT = time(18, 0)
"""An entry whose recorded hour nobody wrote down counts as written in the evening, clinic time."""

_FARTHEST_DAYS = 60_000
_WIDEST_OFFSET = timedelta(hours=15)
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}\Z")

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
    "dominance": Choice(("left", "right", "both")),
    "age_band": Choice(AGE_BANDS),
    "clinician": Words(24),
    "referrer": Words(60),
}
HEAD_REQUIRED = ("person", "side", "pathway", "registered")


class RefusalError(ValueError):
    """Why one value is refused; becomes the message of a :class:`Fault`."""


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
    return tuple(
        FieldRule(
            f.name, f.metadata["rule"], f.default is MISSING, None if f.default is MISSING else f.default
        )
        for f in fields(of)
        if "rule" in f.metadata
    )


def build(
    kind: str,
    raw: Mapping[str, Any],
    *,
    case: str,
    label: str,
    base: date,
    zone: ZoneInfo | None = None,
) -> tuple[Entry | None, list[Fault]]:
    """The entry of ``kind`` that ``raw`` states, or None with every fault found.

    ``raw`` maps field names to values as JSON gives them (numbers as int or Decimal, dates as ISO text or
    days from ``base``); dates, instants and :class:`Absence` values are taken as they are. ``recorded`` is a
    date or an aware instant, by default the evening of ``on`` (of the day after for a session with a next
    morning) in ``zone``. ``label`` is how a fault names the entry ("entry 3").
    """
    if kind not in KINDS:
        return None, [Fault(case, label, "kind", unknown("kind of entry", kind, tuple(KINDS)))]
    of = KINDS[kind]
    reader = Reader(case, f"{label} ({kind})", base)
    on = reader.one("on", COMMON["on"], raw.get("on"), required=True)
    if isinstance(on, date):
        reader.entry = f"{label} ({kind} of {on.isoformat()})"
    known = {rule.name for rule in field_rules(of)} | set(COMMON) | {"recorded"}
    reader.refuse_unknown(raw, known, f"field of a {kind}")
    values = reader.common(raw) | reader.all(of, raw)
    recorded = reader.recorded(raw.get("recorded"), on, of, values, zone or ZoneInfo("UTC"))
    if reader.faults or recorded is None or not isinstance(on, date):
        return None, reader.faults
    return of(on=on, recorded_at=recorded[0], recorded_on=recorded[1], **values), []


def build_head(raw: Mapping[str, Any], *, code: str, base: date) -> tuple[CaseHead | None, list[Fault]]:
    """The head of a case as a caseload file states it, or None with every fault found."""
    reader = Reader(code, "", base)
    if not _CODE.match(code):
        say = f"{shown(code)} is no case code, allowed is 1 to 24 letters, digits, hyphens, dots"
        reader.faults.append(Fault("", "", "code", say))
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

    def __init__(self, case: str, entry: str, base: date) -> None:
        self.case = case
        self.entry = entry
        self.base = base
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
            if spec.name in raw and raw[spec.name] is None and not spec.required and spec.default is not None:
                say = "null says nothing, leave the field out or state it"
                self.fault(f"{path}{spec.name}", f"{say}, allowed is {allowed(spec.rule)}")
                continue
            value = self.one(spec.name, spec.rule, raw.get(spec.name), required=spec.required, path=path)
            if value is not None:
                read[spec.name] = value
        return read

    def value(self, rule: Rule, value: Any, path: str) -> Any:
        """``value`` as the record holds it. Raises :class:`RefusalError` with the reason."""
        if isinstance(rule, (Whole, Number)):
            return _number(rule, value)
        if isinstance(rule, Words):
            return _words(rule, value)
        if isinstance(rule, Day):
            return day(value, self.base)
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
                self._child(rule.of, cast("Mapping[str, Any]", part), known, where, built)
        return tuple(built)

    def _child(
        self, of: type, part: Mapping[str, Any], known: set[str], where: str, built: list[Any]
    ) -> None:
        before = len(self.faults)
        self.refuse_unknown(part, known, "field of an item", where)
        values = self.all(of, part, where)
        if len(self.faults) == before:
            built.append(of(**values))

    def recorded(
        self, value: Any, on: Any, of: type[Entry], values: Mapping[str, Any], zone: ZoneInfo
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


def day(value: Any, base: date) -> date:
    """A date from a date, ISO text or a number of days from ``base``. Raises :class:`RefusalError`."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        if abs(value) > _FARTHEST_DAYS:
            raise RefusalError(
                f"{shown(value)} days from the clinic date is beyond {_FARTHEST_DAYS} days either way"
            )
        try:
            return base + timedelta(days=value)
        except OverflowError:
            raise RefusalError(f"{shown(value)} days from the clinic date is outside the calendar") from None
    if not isinstance(value, str) or not _ISO.match(value):
        raise RefusalError(f"{shown(value)} is no date, allowed is {allowed(Day())}")
    try:
        found = date.fromisoformat(value)
    except ValueError:
        raise RefusalError(f"{shown(value)} is no day of the calendar") from None
    if not 1900 <= found.year <= 2199:
        raise RefusalError(f"{shown(value)} is outside the years 1900 to 2199")
    return found


def instant(value: Any, base: date, zone: ZoneInfo) -> tuple[datetime, date]:
    """The recorded instant and its date in ``zone``; a bare date counts as the evening of it."""
    if isinstance(value, str) and not _ISO.match(value):
        try:
            value = datetime.fromisoformat(value)
        except ValueError:
            say = "is neither a date nor an instant with an offset such as 2026-02-27T18:00:00+00:00"
            raise RefusalError(f"{shown(value)} {say}") from None
    if isinstance(value, datetime):
        if abs(value.utcoffset() or timedelta()) > _WIDEST_OFFSET:
            raise RefusalError(f"{shown(value)} has an offset that no clock on earth has")
        if value.tzinfo is None:
            raise RefusalError(
                f"{shown(value)} has no offset, needed is one such as 2026-02-27T18:00:00+00:00"
            )
        try:
            return value, value.astimezone(zone).date()
        except OverflowError:
            raise RefusalError(f"{shown(value)} is outside the calendar") from None
    on = day(value, base)
    return datetime.combine(on, RECORDED_AT, zone), on


def _number(rule: Whole | Number, value: Any) -> int | Decimal | Absence:
    if isinstance(value, str) and value in ABSENCE_WORDS:
        if not rule.absent:
            raise RefusalError(f"{shown(str(value))} is not allowed here, allowed is {allowed(rule)}")
        return Absence(value)
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        raise RefusalError(f"{shown(value)} is no number, allowed is {allowed(rule)}")
    number = _decimal(value, rule)
    if not rule.low <= number <= rule.high:
        raise RefusalError(f"{shown(value)} is out of range, allowed is {allowed(rule)}")
    places = 0 if isinstance(rule, Whole) else rule.places
    if number != round(number, places):
        what = "is no whole number" if isinstance(rule, Whole) else "has too many decimals"
        raise RefusalError(f"{shown(value)} {what}, allowed is {allowed(rule)}")
    return int(number) if isinstance(rule, Whole) else _plain(number, places)


def _plain(number: Decimal, places: int) -> Decimal:
    """The number without an exponent and without zeros beyond the decimals allowed."""
    exponent = cast("int", number.as_tuple().exponent)
    return round(number, min(max(-exponent, 0), places))


def _decimal(value: int | float | Decimal, rule: Rule) -> Decimal:
    try:
        number = Decimal(str(value)) if isinstance(value, float) else Decimal(value)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise RefusalError(f"{shown(value)} is no number, allowed is {allowed(rule)}")
    return number


def _words(rule: Words, value: Any) -> str:
    if not isinstance(value, str):
        raise RefusalError(f"{shown(value)} is no text, allowed is {allowed(rule)}")
    sign = unprintable(value)
    if sign is not None:
        raise RefusalError(f"{shown(value)} holds the control character {sign}, allowed is {allowed(rule)}")
    text = value.strip()
    if not rule.shortest <= len(text) <= rule.longest:
        found = f"{shown(value)} has {len(text)} characters"
        raise RefusalError(f"{found}, allowed is {allowed(rule)}")
    return text
