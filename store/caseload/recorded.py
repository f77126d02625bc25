"""How much is recorded, and until when: asked by head and poll before any case is read."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from armrise.store.caseload import ahead as ahead_of
from armrise.store.database.instants import EPOCH, FOREVER, MICROSECOND, micros
from armrise.store.database.unreadable import read_rows

if TYPE_CHECKING:
    from armrise.store.database.place import Store


def known_up_to(store: Store, known_at: datetime | None = None) -> int:
    """The last instant, in microseconds UTC, whose entries are read: of two limits the earlier."""
    limits = [micros(instant) for instant in (known_at, store.known_at) if instant is not None]
    return min(limits, default=FOREVER)


def data_version(store: Store) -> int:
    """A number that grows whenever anything is recorded, by any process: the cheap question "changed?"."""
    with store.reading() as connection:
        parts = connection.execute("SELECT (SELECT max(id) FROM entry), (SELECT max(id) FROM cases)")
        return sum(part or 0 for part in parts.fetchone())


def newest_recorded(store: Store) -> datetime | None:
    """The latest instant at which anything was recorded, on the clinic's clock; None in an empty store."""

    def taken(rows: Iterable[Any]) -> list[datetime]:
        return [store.local(EPOCH + at_utc * MICROSECOND) for _, at_utc in rows]

    with store.reading() as connection:
        known, ahead = known_up_to(store), ahead_of.noted(connection)
        left_out, values = ahead_of.outside(ahead)
        sql = (
            f"SELECT id, recorded_at_utc FROM entry WHERE recorded_at_utc <= ?{left_out} "
            "ORDER BY recorded_at_utc DESC LIMIT 1"
        )
        found = read_rows(connection, "entry", sql, (known, *values), taken)
    found += [store.local(EPOCH + one.at * MICROSECOND) for one in ahead if one.at <= known]
    return max(found, default=None)
