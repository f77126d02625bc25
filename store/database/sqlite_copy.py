"""A whole copy of a SQLite file, taken while it is in use, and a file with nobody else connected to it."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Generator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, TypeVar, cast

from armrise.store.database import sqlite
from armrise.store.database.driver import Connection
from armrise.store.files import whole as files

PAGES_A_STEP = 500
"""So many pages of a copy are taken before somebody may stop it: some 2 MB."""
STEPS_A_LOOK = 50_000
"""So many steps of SQLite's own are taken before somebody may stop it: some milliseconds."""

T = TypeVar("T")


class Stopped(Exception):
    """Nobody waits for this copy any more; nothing is left of it."""


def never() -> bool:
    """What does not stop."""
    return False


def copy_to(
    connection: Connection,
    target: Path,
    agrees: Callable[[Connection], bool] = lambda copy: True,
    stop: Callable[[], bool] = never,
    connect_to: Callable[[Path], Any] = sqlite3.connect,
) -> None:
    """A whole copy of an open store as the new file ``target``, taken online: see :func:`copied`.

    Raises :class:`FileExistsError` for a name that is taken.
    """
    with copied(connection, target, agrees, stop, connect_to) as draft:
        files.put(draft, target, over=False)


@contextmanager
def copied(
    connection: Connection,
    target: Path,
    agrees: Callable[[Connection], bool] = lambda copy: True,
    stop: Callable[[], bool] = never,
    connect_to: Callable[[Path], Any] = sqlite3.connect,
) -> Generator[Path, None, None]:
    """A whole copy of an open store, private, as a draft beside ``target``; taken away if it stays a draft.

    Every page, row and reference of the copy is looked at, and ``agrees`` is asked of it, before it counts.
    ``connection`` may be inside a transaction: the copy is then of what that one sees. ``stop`` is asked all
    the while and ends it. ``connect_to`` opens the empty file of the copy as ``connection`` was opened.
    Raises one of :data:`armrise.store.database.sqlite.ERRORS`, OSError and :class:`Stopped`.
    """

    def go_on(*_: int) -> None:
        _go_on(stop)

    draft = files.draft_beside(target)
    os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    try:
        with closing(connect_to(draft)) as copy:
            copy.execute("PRAGMA synchronous = OFF")  # it is synced before it gets its name
            cast(Any, connection).backup(copy, pages=PAGES_A_STEP, progress=go_on)
            copy.execute("PRAGMA journal_mode = DELETE")
            faults = unless_stopped(copy, stop, sqlite.damage)
            if not faults and not agrees(copy):
                faults = ("it does not hold what the store holds",)
        if faults:
            raise DamagedCopy(f"the copy is damaged: {faults[0]}")
        yield draft
    finally:
        for left in (draft, *sqlite.logs_of(draft)):
            left.unlink(missing_ok=True)


class DamagedCopy(sqlite3.DatabaseError):
    """A copy that is not whole, or not what it is a copy of."""


def unless_stopped(connection: Any, stop: Callable[[], bool], ask: Callable[[Connection], T]) -> T:
    """What ``ask`` answers about the connection. Raises :class:`Stopped` as soon as ``stop`` says so."""
    connection.set_progress_handler(stop, STEPS_A_LOOK)
    try:
        answer = ask(connection)
    finally:
        connection.set_progress_handler(None, 0)
    _go_on(stop)
    return answer


def _go_on(stop: Callable[[], bool]) -> None:
    if stop():
        raise Stopped


# --- alone with a store ----------------------------------------------------------------------------------


@contextmanager
def alone_with(connect: Callable[[], Connection]) -> Generator[Connection, None, None]:
    """The store with nobody else connected, its log written back into the file and gone.

    Whoever waits for it meanwhile writes nothing once another file has taken its place: SQLite looks whether
    the file was moved before it writes to one without such a log. Raises :class:`sqlite3.Error`; where
    somebody is connected :func:`armrise.store.database.sqlite.fault` says so.
    """
    with closing(connect()) as connection:
        connection.execute(sqlite.ALONE)
        _lock(connection)
        if connection.execute("PRAGMA journal_mode = DELETE").fetchone() != ("delete",):
            raise sqlite3.OperationalError("the log cannot be written back")
        _lock(connection)
        yield connection


def _lock(connection: Connection) -> None:
    """Take the lock; in the exclusive mode it is kept."""
    connection.execute("BEGIN EXCLUSIVE")
    connection.commit()
