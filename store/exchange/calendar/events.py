"""What of a caseload belongs in a calendar: slots booked from the clinic date on, and when a review is due.

By code alone. An event has the same identifier in every export, so that a calendar that takes a later file
moves what it has: a slot is known by its case and the instant it was booked, a review by its case. A due date
is where it is counted to, on whatever day of the week; holidays move no due date.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time
from uuid import UUID, uuid5

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.clocks import settled_by
from armrise.store.clinic.time.slots import CANCELLED
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.clock import on_the_clock
from armrise.store.record.kinds.care import Appointment, Attendance
from armrise.store.record.light import NamedTuple
from armrise.store.rules.pathway import Rules

SPACE = UUID("6f7b0a5e-3d0c-4f0e-9a35-7b1f0c2d9e11")
"""The name space of the identifiers (RFC 9562): drawn once, and never changed."""
ACTIVE = ("active", "on hold")


class Event(NamedTuple):
    """One event: ``at`` is None where it takes a day without an hour, or where the hour was not told."""

    uid: str
    code: str
    what: str
    day: date
    at: time | None
    changed: datetime
    """When what it rests on was recorded, in UTC."""
    cancelled: bool = False
    busy: bool = True


def events(
    records: Sequence[CaseRecord], standings: Sequence[Standing], rules: Rules, today: date
) -> list[Event]:
    """The events of these cases on a clinic date, in the order of their days."""
    stands = {standing.code: standing for standing in standings if standing.status in ACTIVE}
    found: list[Event] = []
    for record in records:
        if record.code in stands:
            found += [*_slots(record, rules, today), *_review(record, stands[record.code])]
    return sorted(found, key=lambda event: (event.day, event.at or time(), event.code, event.what))


def _slots(record: CaseRecord, rules: Rules, today: date) -> Iterator[Event]:
    """Slots from today on; one that was cancelled says so, so that it leaves the calendar it is in."""
    view = View.of(record, rules, today)
    for slot in record.appointments:
        end = settled_by(view, slot)
        cancelled = isinstance(end, Attendance) and end.outcome in CANCELLED
        if slot.booked_for >= today and (end is None or cancelled):
            changed = end.recorded_at if end is not None else slot.recorded_at
            yield Event(
                _slot_uid(record.code, slot),
                record.code,
                "booked",
                slot.booked_for,
                time.fromisoformat(slot.at) if slot.at else None,
                on_the_clock(changed, UTC),
                cancelled,
            )


def _review(record: CaseRecord, standing: Standing) -> Iterator[Event]:
    due = standing.review.due
    if due is not None:
        uid = str(uuid5(SPACE, f"review {record.code}"))
        yield Event(uid, record.code, "review due", due, None, _newest(record), busy=False)


def _slot_uid(code: str, slot: Appointment) -> str:
    booked = on_the_clock(slot.recorded_at, UTC).isoformat()
    return str(uuid5(SPACE, f"slot {code} {booked} {slot.booked_for} {slot.at or ''}"))


def _newest(record: CaseRecord) -> datetime:
    """When anything of the case was recorded last; a due date may rest on any of it."""
    told = (entry.recorded_at for name in FIELD_OF_KIND.values() for entry in getattr(record, name))
    registered = datetime.combine(record.registered_on, time(), UTC)
    return on_the_clock(max(told, default=registered), UTC)
