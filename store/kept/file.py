"""The file of kept lists, beside the store: a list a clinic date, and the rows of its cases by their digests.

A SQLite file of its own, opened by the driver of the store and so with its key. It is disposable: nothing in
it is waited for on the disk, and whatever is amiss with it, it is cleared. What is damaged is never taken for
a row: the text of a list names every row by its digest and has one itself.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Generator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from datetime import date
from typing import TYPE_CHECKING, Any

from armrise.store.database import sqlite
from armrise.store.database.driver import Connection, Fault, StoreError
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.files.beside import forget_kept, kept_beside
from armrise.store.kept.digest import digest

if TYPE_CHECKING:
    from armrise.store.database.place import Store

APPLICATION_ID = 0x61726D6B
"""Marks a SQLite file as kept lists: never taken for a store."""
FORM = 2
"""How the tables are laid out; a file of any other form is cleared."""
_TABLES = (
    'CREATE TABLE "list" ("day" TEXT PRIMARY KEY, "digest" TEXT NOT NULL, "text" TEXT NOT NULL)',
    'CREATE TABLE "row" ("day" TEXT, "digest" TEXT, "text" TEXT NOT NULL, PRIMARY KEY ("day", "digest"))'
    " WITHOUT ROWID",
    'CREATE TABLE "printed" ("day" TEXT, "name" TEXT, "under" TEXT NOT NULL, "digest" TEXT NOT NULL, '
    '"packed" BLOB NOT NULL, PRIMARY KEY ("day", "name"))',
)
_AT_ONCE = 500
"""Digests in one statement."""


class Doubt(Exception):
    """What is kept is damaged, or not of this program: it is not to be used, and to be cleared."""


class Busy(Doubt):
    """Somebody else is writing there: it is not to be used now."""


def file_beside(store: Store, *, demonstration: bool = False) -> KeptFile | None:
    """The file for the lists of a store; None for one of which nothing is ever kept.

    That is one that is thrown away, unless it is a ``demonstration`` that came with its list, one that lies
    in memory or on a server, or is seen as it was known at an earlier instant.
    """
    lasts = store.lasting or demonstration
    kept_here = lasts and store.known_at is None and isinstance(store.driver, SqliteFile)
    return KeptFile(store.driver) if kept_here else None  # pyright: ignore[reportArgumentType]


class KeptFile:
    """The file beside one store, which is kept in a file itself."""

    def __init__(self, store: SqliteFile) -> None:
        self._store = store.path.resolve()
        self.path = kept_beside(self._store)
        self._driver = store.at(self.path)

    def list_of(self, day: date) -> str | None:
        """The text of the list kept for a clinic date; None where there is none. Raises :class:`Doubt`."""
        if not self.path.is_file():
            return None
        with self._reading() as connection:
            sql = 'SELECT "digest", "text" FROM "list" WHERE "day" = ?'
            row = connection.execute(sql, (day.isoformat(),)).fetchone()
        if row is None:
            return None
        return _sound(*row)

    def rows_of(self, day: date, wanted: Sequence[str]) -> dict[str, str]:
        """The rows of these digests, each whole. Raises :class:`Doubt` where one is missing or damaged."""
        found: dict[str, str] = {}
        with self._reading() as connection:
            for start in range(0, len(wanted), _AT_ONCE):
                some = wanted[start : start + _AT_ONCE]
                marks = ", ".join("?" * len(some))
                sql = f'SELECT "digest", "text" FROM "row" WHERE "day" = ? AND "digest" IN ({marks})'
                rows = connection.execute(sql, (day.isoformat(), *some))
                found |= {told: _sound(told, text) for told, text in rows}
        if len(found) != len(set(wanted)):
            raise Doubt("rows are missing")
        return found

    def put(
        self,
        day: date,
        text: str,
        rows: Collection[str],
        text_of: Callable[[str], str],
        days: Collection[date],
    ) -> bool:
        """Keep the list of a clinic date with its rows, and of other dates only those of ``days``.

        ``rows`` are all digests it names; ``text_of`` gives the text of one that is not in the file. One
        transaction. False where it cannot be kept, or somebody else is writing there.
        """

        def write(connection: Connection) -> None:
            _drop(connection, {one.isoformat() for one in (day, *days)})
            _write(connection, day.isoformat(), text, frozenset(rows), text_of)

        return self._written(write)

    def _written(self, write: Callable[[Connection], None]) -> bool:
        """Have it written in one transaction; False where that cannot be, or somebody else is writing."""
        try:
            self._begin()
            with closing(self._connect()) as connection:
                sqlite.begin(connection, writing=True)
                write(connection)
                connection.commit()
        except Busy:
            return False
        except (*self._driver.errors, StoreError, OSError) as error:
            if not self._is_busy(error):
                self.forget()
            return False
        return True

    def printed(self, day: date, name: str, under: str) -> bytes | None:
        """What is kept as printed of a clinic date; ``under``: what it has to rest on.

        None where there is none. Raises :class:`Doubt`.
        """
        if not self.path.is_file():
            return None
        with self._reading() as connection:
            sql = 'SELECT "digest", "packed" FROM "printed" WHERE "day" = ? AND "name" = ? AND "under" = ?'
            row = connection.execute(sql, (day.isoformat(), name, under)).fetchone()
        if row is None:
            return None
        told, packed = row
        if not isinstance(packed, bytes) or _told(name, under, packed) != told:
            raise Doubt("what is printed is damaged")
        return packed

    def put_printed(self, day: date, under: str, packed: Mapping[str, bytes], since: date) -> bool:
        """Keep what is printed of a clinic date, by its names; what is of days before ``since`` goes.

        As :meth:`put`.
        """
        rows = [(day.isoformat(), name, under, _told(name, under, one), one) for name, one in packed.items()]

        def write(connection: Connection) -> None:
            connection.execute('DELETE FROM "printed" WHERE "day" < ?', (since.isoformat(),))
            connection.executemany('INSERT OR REPLACE INTO "printed" VALUES (?, ?, ?, ?, ?)', rows)

        return self._written(write)

    def days(self) -> frozenset[str]:
        """The clinic dates, in ISO form, of which a list is kept; none where that cannot be told."""
        with suppress(Doubt):
            if self.path.is_file():
                with self._reading() as connection:
                    return frozenset(day for (day,) in connection.execute('SELECT "day" FROM "list"'))
        return frozenset()

    def forget(self) -> None:
        """Clear the file."""
        forget_kept(self._store)

    @contextmanager
    def _reading(self) -> Generator[Connection, None, None]:
        try:
            with closing(self._connect()) as connection:
                _expect(connection)
                yield connection
        except (*self._driver.errors, StoreError, OSError) as error:
            raise (Busy if self._is_busy(error) else Doubt)(type(error).__name__) from None

    def _connect(self) -> Connection:
        """One that may write: what somebody left who was killed is taken back. Nothing is waited for."""
        return self._driver.connect(lasting=False, waits=False)

    def _is_busy(self, error: Exception) -> bool:
        return isinstance(error, self._driver.errors) and self._driver.fault(error) is Fault.LOCKED

    def _begin(self) -> None:
        """Make the file where there is none or one of another form, private to its owner."""
        if self.path.is_file():
            try:
                with self._reading():
                    sqlite.keep_private(self.path)
                    return
            except Busy:
                raise
            except Doubt:
                self.forget()
        sqlite.empty_file(self.path)
        with closing(self._connect()) as connection:
            sqlite.begin(connection, writing=True)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {FORM}")
            for table in _TABLES:
                connection.execute(table)
            connection.commit()


def _expect(connection: Connection) -> None:
    told = [connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("application_id", "user_version")]
    if told != [APPLICATION_ID, FORM]:
        raise Doubt("it is of another form")


def _sound(told: Any, text: Any) -> str:
    if not isinstance(text, str) or digest(text) != told:
        raise Doubt("a row is damaged")
    return text


def _told(name: str, under: str, packed: bytes) -> str:
    """The digest of something printed, with its name and what it rests on."""
    return digest(f"{name} {under} ".encode() + packed)


def _drop(connection: Connection, days: Collection[str]) -> None:
    """Keep the lists of these clinic dates only."""
    kept = [
        day for (day,) in connection.execute('SELECT "day" FROM "list" UNION SELECT "day" FROM "printed"')
    ]
    for day in (one for one in kept if one not in days):
        for table in ("list", "row", "printed"):
            connection.execute(f'DELETE FROM "{table}" WHERE "day" = ?', (day,))


def _write(
    connection: Connection, day: str, text: str, rows: Collection[str], text_of: Callable[[str], str]
) -> None:
    there = {one for (one,) in connection.execute('SELECT "digest" FROM "row" WHERE "day" = ?', (day,))}
    gone = [(day, one) for one in there if one not in rows]
    connection.executemany('DELETE FROM "row" WHERE "day" = ? AND "digest" = ?', gone)
    new = ((day, one, text_of(one)) for one in rows if one not in there)
    connection.executemany('INSERT INTO "row" ("day", "digest", "text") VALUES (?, ?, ?)', new)
    connection.execute('DELETE FROM "printed" WHERE "day" = ?', (day,))  # it was another list
    values = (day, digest(text), text)
    connection.execute('INSERT OR REPLACE INTO "list" ("day", "digest", "text") VALUES (?, ?, ?)', values)
