"""Entries recorded while the clock ran ahead, from when that was found out.

Nothing recorded is changed: such an entry keeps its instant. But nothing recorded afterwards would come after
it: no answer would answer it, the list would say that its data are of next month, and every entry would ask
whether the clock is right. Once somebody has confirmed the clock, what lies ahead of it is noted, and read
as recorded at that moment: before all that is entered later, after all that was entered before. The order
of the instants is then that of entry again.

As known at an earlier instant counts what the record says: an entry of next month is not known today. And
what is said to have happened on a day ahead is not seen before that day: it has to be corrected.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from armrise.store.database.driver import Connection
from armrise.store.database.instants import EPOCH, MICROSECOND, micros
from armrise.store.database.place import Store, recalled, remember
from armrise.store.database.unreadable import making
from armrise.store.record.clock import on_the_clock
from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.database.reading import Found

AHEAD = "recorded ahead"
"""Under which name it is remembered beside the record."""
CLOCK_SLACK = timedelta(minutes=1)
"""Two machines never agree to the second."""


class Ahead(NamedTuple):
    """The entries from ``first`` to ``last``, found out at ``at`` (microseconds UTC)."""

    first: int
    last: int
    at: int


def noted(connection: Connection) -> tuple[Ahead, ...]:
    """What was found to be ahead; nothing in almost every store. Raises a store error where it is damaged."""
    with making(f"remembered {AHEAD}"):
        kept = recalled(connection, AHEAD).get(AHEAD, "[]")
        return tuple(Ahead(*map(int, one)) for one in json.loads(kept))


def note(connection: Connection, store: Store, now: datetime) -> None:
    """Note every entry that lies ahead of ``now``, a clock that somebody has confirmed.

    A clock before the making of the store is wrong itself, whatever was confirmed.
    """
    made = datetime.fromisoformat(store.created) if store.created else None
    if store.clinic_date is not None or (made is not None and now < made):
        return
    known = noted(connection)
    sql = "SELECT id FROM entry WHERE (batch > 0 AND recorded_at_utc > ?) OR recorded_at_utc > ? ORDER BY id"
    late = (micros(now + CLOCK_SLACK), micros(store.end_of_day(store.today(now))))
    fresh = [found for (found,) in connection.execute(sql, late) if _of(found, known) is None]
    ranges = [*known, *_ranges(fresh, micros(now))]
    remember(connection, {AHEAD: json.dumps(ranges)})


def outside(ahead: Sequence[Ahead]) -> tuple[str, list[int]]:
    """The condition, with its values, that leaves those entries out of a statement over entries."""
    values = [number for one in ahead for number in (one.first, one.last)]
    return " AND entry.id NOT BETWEEN ? AND ?" * len(ahead), values


def recorded(entry: int, at: int, ahead: Sequence[Ahead]) -> int:
    """When an entry counts as recorded, of which ``at`` is on record (microseconds UTC)."""
    found = _of(entry, ahead)
    return at if found is None else min(at, found.at)


def put_right(found: Iterable[Found], ahead: Sequence[Ahead]) -> None:
    """Let the entries that lie ahead count as recorded when that was found out."""
    for by_case in found if ahead else ():
        for case_id, entries in by_case.items():
            by_case[case_id] = [_right(entry, _of(entry.id, ahead)) for entry in entries]


def _right(entry: Any, ahead: Ahead | None) -> Any:
    if ahead is None or micros(entry.recorded_at) <= ahead.at:
        return entry
    at = on_the_clock(EPOCH + ahead.at * MICROSECOND, entry.recorded_at.tzinfo)
    return replace(entry, recorded_at=at, recorded_on=min(entry.recorded_on, at.date()))


def _of(entry: int, ahead: Sequence[Ahead]) -> Ahead | None:
    return next((one for one in ahead if one.first <= entry <= one.last), None)


def _ranges(ids: Iterable[int], at: int) -> list[Ahead]:
    found: list[Ahead] = []
    for one in ids:
        if found and found[-1].last == one - 1:
            found[-1] = found[-1]._replace(last=one)
        else:
            found.append(Ahead(one, one, at))
    return found
