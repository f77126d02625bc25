"""How much a store or a copy of one holds, read in plain SQL that every schema understands."""

from __future__ import annotations

from datetime import datetime

from armrise.store.database import chain, sqlite
from armrise.store.database.declared import LINK
from armrise.store.database.driver import Connection
from armrise.store.database.instants import EPOCH, MICROSECOND
from armrise.store.record.clock import clinic_zone, on_the_clock
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date, time_words


class Contents(NamedTuple):
    """What a store holds, in numbers; two copies of one state agree in all of them."""

    cases: int
    entries: int
    newest: datetime | None
    """The latest instant at which anything was recorded (UTC); None in an empty store."""
    last: int
    """The highest id of an entry, 0 in an empty store."""
    created: str
    """When the store was made, which tells one store from another."""
    zone: str
    fictional: bool
    schema: int
    head: str
    """The head of its chain as it is printed; empty in a copy of before there was one."""

    @property
    def size(self) -> int:
        """A number that grows with whatever is recorded."""
        return self.cases + self.entries


def contents(connection: Connection) -> Contents:
    """What the store holds, inside the transaction of the connection if it has one."""
    settings = dict(connection.execute("SELECT name, value FROM setting"))
    cases = connection.execute("SELECT count(*) FROM cases").fetchone()[0]
    entries, newest, last = connection.execute(
        "SELECT count(*), max(recorded_at_utc), max(id) FROM entry"
    ).fetchone()
    return Contents(
        cases,
        entries,
        None if newest is None else EPOCH + newest * MICROSECOND,
        last or 0,
        settings.get("created", ""),
        settings.get("zone", "UTC"),
        settings.get("fictional") == "yes",
        sqlite.schema_version(connection),
        _head(connection),
    )


def _head(connection: Connection) -> str:
    link = chain.head_of(connection) if LINK.name in sqlite.definitions(connection) else None
    return link.short if link else ""


class Later(NamedTuple):
    """Entries that a store has and an earlier copy of it has not: how many, of how many cases, since when."""

    entries: int
    cases: int
    first: datetime | None
    newest: datetime | None


def later_than(connection: Connection, copy: Contents) -> Later:
    """What the store holds that was recorded after the newest entry of the copy."""
    newest = -1 if copy.newest is None else (copy.newest - EPOCH) // MICROSECOND
    sql = (
        "SELECT count(*), count(DISTINCT case_id), min(recorded_at_utc), max(recorded_at_utc) FROM entry "
        "WHERE recorded_at_utc > ? OR id > ?"
    )
    entries, cases, *ends = connection.execute(sql, (newest, copy.last)).fetchone()
    first, latest = (None if end is None else EPOCH + end * MICROSECOND for end in ends)
    return Later(entries, cases, first, latest)


# --- in words --------------------------------------------------------------------------------------------


def counted(number: int, one: str, several: str) -> str:
    """ "1 case", "4,123 entries"."""
    return f"1 {one}" if number == 1 else f"{number:,} {several}"


def instant_words(at: datetime) -> str:
    """An instant as the clock it is on shows it: "Mon 2 Mar 2026, 08:05"."""
    return f"{full_date(at.date())}, {time_words(at)}"


def on_its_clock(at: datetime | None, zone: str) -> str:
    """An instant on the clock of a zone; nothing for none."""
    return instant_words(on_the_clock(at, clinic_zone(zone))) if at else ""


def holds(held: Contents) -> str:
    """ "37 cases, 4,123 entries, the newest of Mon 2 Mar 2026, 08:05", on the clinic's clock."""
    told = f"{counted(held.cases, 'case', 'cases')}, {counted(held.entries, 'entry', 'entries')}"
    newest = on_its_clock(held.newest, held.zone)
    return f"{told}, the newest of {newest}" if newest else told
