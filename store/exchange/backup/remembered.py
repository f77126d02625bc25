"""What a store remembers of its backups: when the last was taken, how much it held, the second folder.

Beside the record and no part of it. The head of the list asks for them before SQLModel is imported, so they
are read in plain SQL.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from armrise.store.database.place import Store, recalled, remember
from armrise.store.database.place import remembered as told
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.database.unreadable import making
from armrise.store.record.light import NamedTuple

TAKEN, SIZE, ALSO = "last backup", "last backup size", "also back up to"
A_DAY = timedelta(days=1)
"""Leaving makes a backup once the last is as old as this. Design: a day of work is what may be lost."""


class Remembered(NamedTuple):
    """When the last backup was taken (UTC; None: never), what it held, and how much is recorded now."""

    taken: datetime | None
    held: int | None
    size: int
    """Cases and entries now: it grows with whatever is recorded."""
    also: Path | None
    """The folder that every backup goes to as well."""


def remembered(store: Store) -> Remembered:
    """What the store remembers. Raises :class:`~armrise.store.database.place.StoreError`."""
    with store.reading() as connection:
        found = recalled(connection, TAKEN, SIZE, ALSO)
        parts = connection.execute("SELECT (SELECT count(*) FROM cases), (SELECT count(*) FROM entry)")
        size = sum(parts.fetchone())
    taken, held, also = (found.get(name) for name in (TAKEN, SIZE, ALSO))
    with making("what is remembered of the backups"):
        return Remembered(
            datetime.fromisoformat(taken) if taken else None,
            int(held) if held else None,
            size,
            Path(also) if also else None,
        )


def last_backup(store: Store) -> datetime | None:
    """When the store was last backed up (UTC); None is never."""
    said = told(store, TAKEN)
    with making(f"remembered {TAKEN}"):
        return datetime.fromisoformat(said) if said else None


def is_kept_in_a_file(store: Store) -> bool:
    """True for a file that lasts: its copies are made here, those of a server where the server is kept."""
    return store.lasting and isinstance(store.driver, SqliteFile)


def is_due(store: Store, now: datetime) -> bool:
    """True for a store that lasts, has no backup of the last day, and has had something recorded since."""
    if store.read_only or not is_kept_in_a_file(store):
        return False
    known = remembered(store)
    old = known.taken is None or not timedelta() <= now - known.taken < A_DAY
    return old and known.size > 0 and known.size != known.held


def remember_backup(store: Store, taken: datetime, size: int) -> None:
    """Note that a backup was taken that held so much."""
    with store.writing() as connection:
        remember(connection, {TAKEN: taken.isoformat(timespec="seconds"), SIZE: str(size)})


def remember_folder(store: Store, folder: Path | None) -> None:
    """Have every backup go to that folder as well; None: to no other."""
    with store.writing() as connection:
        remember(connection, {ALSO: str(folder) if folder else ""})
