"""Events as a calendar file by RFC 5545. The library that writes it is an extra, imported when needed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from armrise.store.database.place import StoreError
from armrise.store.exchange.calendar.events import Event
from armrise.store.exchange.out.formats import VERSIONS
from armrise.store.record.clock import clinic_zone

MARK = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//armrise//calendar "
"""How the file begins: one that begins otherwise is never replaced by it."""
WITHOUT = "a calendar needs one extra library: pip install 'armrise[calendar]', then write it again"
NAME = "Shoulder caseload"
YEAR = timedelta(days=366)
"""The rules of the clock are written for so long before the first event and after the last."""
FICTIONAL = "FICTIONAL shoulder caseload"


def as_calendar(found: Sequence[Event], zone: str, *, fictional: bool, minutes: int | None = None) -> str:
    """The file: CRLF, lines of at most 75 bytes, hours in the clinic's ``zone`` with its rules.

    ``minutes`` is how long a slot takes; None leaves its end open, since no entry says it. The same events
    give the same text. Raises :class:`~armrise.store.database.place.StoreError` without the library.
    """
    try:
        from icalendar import Calendar
    except ImportError:
        raise StoreError(WITHOUT) from None
    calendar: Any = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", f"-//armrise//calendar {VERSIONS['calendar']}//EN")
    calendar.add("name", FICTIONAL if fictional else NAME)
    for event in found:
        calendar.add_component(_component(event, zone, minutes))
    if found:
        days = [event.day for event in found]
        calendar.add_missing_timezones(min(days) - YEAR, max(days) + YEAR)
    return calendar.to_ical().decode("utf-8")


def _component(event: Event, zone: str, minutes: int | None) -> Any:
    from icalendar import Event as Component

    made: Any = Component()
    made.add("uid", event.uid)
    made.add("dtstamp", event.changed.replace(microsecond=0))
    if event.at is None:
        made.add("dtstart", event.day)
    else:
        made.add("dtstart", datetime.combine(event.day, event.at, clinic_zone(zone)))
        if minutes is not None:
            made.add("duration", timedelta(minutes=minutes))
    made.add("summary", f"{event.code} {event.what}")
    made.add("class", "PRIVATE")
    made.add("transp", "OPAQUE" if event.busy and event.at else "TRANSPARENT")
    made.add("status", "CANCELLED" if event.cancelled else "CONFIRMED")
    return made
