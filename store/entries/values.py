"""From one raw value to what a record holds: dates, instants, numbers and words, or why not."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta, tzinfo
from decimal import Decimal, InvalidOperation
from typing import Any, cast

from armrise.store.entries.words import ABSENCE_WORDS, allowed, shown, unprintable
from armrise.store.record.clock import UnknownZone, Zone, clinic_zone, on_the_clock
from armrise.store.record.fields import Absence, ClockTime, Day, Number, Rule, Series, Whole, Words

RECORDED_AT = time(18, 0)
"""An entry whose recorded hour nobody wrote down counts as written in the evening, clinic time."""

_INSTANT = "2026-02-27T18:00:00+00:00"
FARTHEST_DAYS = 60_000
_WIDEST_OFFSET = timedelta(hours=15)
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d\Z", re.ASCII)


class RefusalError(ValueError):
    """Why one value is refused; becomes the message of a :class:`Fault`."""


class OutOfRangeError(RefusalError):
    """A number beyond what its field may hold in general; ``value`` is the number as it was written."""

    def __init__(self, value: Any, rule: Whole | Number) -> None:
        super().__init__(f"{shown(value)} is out of range, allowed is {allowed(rule)}")
        self.value = value


def zone(name: Any) -> Zone:
    """The time zone of a region's name. Raises :class:`RefusalError`."""
    say = 'allowed is the name of a region such as "Europe/London", or "UTC"'
    if not isinstance(name, str):
        raise RefusalError(f"{shown(name)} is no time zone, {say}")
    try:
        return clinic_zone(name)
    except UnknownZone:
        raise RefusalError(f"{shown(name)} is no time zone, {say}") from None


def day(value: Any, base: date) -> date:
    """A date from a date, ISO text or a number of days from ``base``. Raises :class:`RefusalError`."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        if abs(value) > FARTHEST_DAYS:
            raise RefusalError(
                f"{shown(value)} days from the clinic date is beyond {FARTHEST_DAYS} days either way"
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


def instant(value: Any, base: date, zone: tzinfo) -> tuple[datetime, date]:
    """The recorded instant and its date in ``zone``; a bare date counts as the evening of it."""
    if isinstance(value, str) and not _ISO.match(value):
        try:
            value = datetime.fromisoformat(value)
        except ValueError:
            say = f"is neither a date nor an instant with an offset such as {_INSTANT}"
            raise RefusalError(f"{shown(value)} {say}") from None
    if isinstance(value, datetime):
        if abs(value.utcoffset() or timedelta()) > _WIDEST_OFFSET:
            raise RefusalError(f"{shown(value)} has an offset that no clock on earth has")
        if value.tzinfo is None:
            raise RefusalError(f"{shown(value)} has no offset, needed is one such as {_INSTANT}")
        try:
            return value, on_the_clock(value, zone).date()
        except OverflowError:
            raise RefusalError(f"{shown(value)} is outside the calendar") from None
    on = day(value, base)
    return datetime.combine(on, RECORDED_AT, zone), on


def clock_time(value: Any) -> str:
    """A time of day from text. Raises :class:`RefusalError`."""
    if not isinstance(value, str) or not _CLOCK.match(value):
        raise RefusalError(f"{shown(value)} is no time of day, allowed is {allowed(ClockTime())}")
    return value


def number_of(rule: Whole | Number, value: Any) -> int | Decimal | Absence:
    if isinstance(value, str) and value in ABSENCE_WORDS:
        if not rule.absent:
            raise RefusalError(f"{shown(str(value))} is not allowed here, allowed is {allowed(rule)}")
        return Absence(value)
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        raise RefusalError(f"{shown(value)} is no number, allowed is {allowed(rule)}")
    found = _decimal(value, rule)
    if not rule.low <= found <= rule.high:
        raise OutOfRangeError(value, rule)
    places = 0 if isinstance(rule, Whole) else rule.places
    if found != round(found, places):
        what = "is no whole number" if isinstance(rule, Whole) else "has too many decimals"
        raise RefusalError(f"{shown(value)} {what}, allowed is {allowed(rule)}")
    if isinstance(rule, Whole):
        return int(found)
    # Without an exponent and without zeros beyond the decimals allowed.
    exponent = cast("int", found.as_tuple().exponent)
    return round(found, min(max(-exponent, 0), places))


def _decimal(value: int | float | Decimal, rule: Rule) -> Decimal:
    try:
        number = Decimal(str(value)) if isinstance(value, float) else Decimal(value)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise RefusalError(f"{shown(value)} is no number, allowed is {allowed(rule)}")
    return number


def series(rule: Series, value: Any) -> tuple[Decimal | None, ...]:
    """A series of numbers from a list. Raises :class:`RefusalError`."""
    if not isinstance(value, (list, tuple)):
        raise RefusalError(f"{shown(value)} is no list, allowed is {allowed(rule)}")
    parts = cast("list[Any]", value)
    if len(parts) > rule.most:
        raise RefusalError(f"{len(parts)} numbers are too many, allowed is {allowed(rule)}")
    return tuple(_of_series(rule, part) for part in parts)


def _of_series(rule: Series, part: Any) -> Decimal | None:
    if part is None and rule.blanks:
        return None
    try:
        found = number_of(Number(rule.low, rule.high, rule.places, rule.unit), part)
    except RefusalError:
        raise RefusalError(f"{shown(part)} is not allowed in it, allowed is {allowed(rule)}") from None
    return cast("Decimal", found)


def words_of(rule: Words, value: Any, *, exact: bool = False) -> str:
    if not isinstance(value, str):
        raise RefusalError(f"{shown(value)} is no text, allowed is {allowed(rule)}")
    sign = unprintable(value)
    if sign is not None:
        raise RefusalError(f"{shown(value)} holds the control character {sign}, allowed is {allowed(rule)}")
    text = value.strip()
    if not rule.shortest <= len(text) <= rule.longest:
        found = f"{shown(value)} has {len(text)} character{'' if len(text) == 1 else 's'}"
        raise RefusalError(f"{found}, allowed is {allowed(rule)}")
    return value if exact and len(value) <= rule.longest else text
