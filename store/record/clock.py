"""The clinic's clock: the one room that asks what time it is, knows zones, and puts an instant on a clock.

Zones are those of the standard library, by the database that pendulum brings along. What comes out is a plain
aware datetime or a plain date, since days are counted between dates and the database takes no other. Pendulum
itself, which knows the zone of the machine, is imported when that is asked for: the first rows need it not.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo

REGION = re.compile(r"UTC|[A-Z][A-Za-z]+(/[A-Za-z0-9_+-]+)+")
"""A region and a place, never a name that means what this machine is set to ("localtime") or no place."""

Zone = ZoneInfo
"""The zone of a region."""


class UnknownZone(ValueError):
    """A name that is no zone. The message is one sentence."""


class NoSuchTime(ValueError):
    """A time of day that the clocks left out on that day."""


def clinic_zone(name: str) -> Zone:
    """The zone of a region's name, never "this machine's". Raises :class:`UnknownZone` for any other name."""
    try:
        if REGION.fullmatch(name):
            return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        pass
    raise UnknownZone(f'time zone "{name}" is not known: use a name such as Europe/London')


def machine_zone() -> str:
    """The name of the zone this machine is set to; UTC where it has no region's name."""
    import pendulum

    name = pendulum.local_timezone().name
    return name if REGION.fullmatch(name) else "UTC"


def utc_now() -> datetime:
    """The present instant."""
    return datetime.now(UTC)


def today_in(zone: tzinfo) -> date:
    """Today on the calendar of a zone."""
    return on_the_clock(utc_now(), zone).date()


def machine_today() -> date:
    """Today on this machine's own calendar."""
    return utc_now().astimezone().date()


def on_the_clock(instant: datetime, zone: tzinfo) -> datetime:
    """An aware instant as the clock of a zone shows it."""
    return instant.astimezone(zone)


def instant_at(day: date, at: time, zone: tzinfo) -> datetime:
    """The instant in UTC of a time of day; of an hour that comes twice the second is meant.

    Raises :class:`NoSuchTime` for one that the clocks left out.
    """
    instant = datetime.combine(day, at.replace(fold=1), zone).astimezone(UTC)
    if instant.astimezone(zone).time() != at:
        raise NoSuchTime(f"there was no {at:%H:%M} on {day}")
    return instant


def whole_weeks_on(day: date, today: date) -> date:
    """The newest date that is whole weeks from ``day`` and not after ``today``: a Monday stays a Monday."""
    return today - (today - day) % timedelta(weeks=1)


def end_of_day(day: date, zone: tzinfo) -> datetime:
    """The last instant, in UTC, of a day in a zone."""
    midnight = datetime.combine(day + timedelta(days=1), time(), zone)
    return midnight.astimezone(UTC) - timedelta(microseconds=1)


class DayClock:
    """A clock that goes on one day only, the clinic date of a store for which that is fixed.

    It begins at the time of day that it is in ``zone``, never before ``newest`` (what was recorded last, None
    for nothing), goes on as time does, and stops at the end of the day. ``now`` gives the present instant.
    """

    def __init__(self, day: date, zone: tzinfo, newest: datetime | None, now: Callable[[], datetime]) -> None:
        self._now = now
        self._began = now()
        at = datetime.combine(day, on_the_clock(self._began, zone).time(), zone).astimezone(UTC)
        self._first = max(at, newest or at)
        self._last = max(end_of_day(day, zone), self._first)

    def __call__(self) -> datetime:
        """The instant on that day, aware; later calls never give an earlier one while time goes on."""
        return min(self._first + max(self._now() - self._began, timedelta()), self._last)
