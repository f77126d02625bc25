"""A store in one SQLite file, private to its owner: the usual place. And one in memory, for a listing."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Mapping
from itertools import count
from pathlib import Path
from typing import Any

from armrise.store.database import causes, sqlite
from armrise.store.database.driver import Connection, Dialect, Fault, StoreError
from armrise.store.database.sqlite_copy import copy_to
from armrise.store.files import whole as files

_LOOKED_AT = (Fault.READ_ONLY, Fault.FULL, Fault.DAMAGED)
"""Faults whose cause lies around the file."""
_CHOOSE = "allow writing there, or choose another folder"


def is_there(path: Path) -> bool:
    """True where something lies at ``path``. Raises :class:`StoreError` where that cannot be found out."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except (OSError, ValueError) as error:
        why = _why(error) if isinstance(error, OSError) else str(error)
        raise StoreError(f"whether there is a store at {path} cannot be seen ({why}): allow it") from None
    return True


class SqliteFile:
    """The driver of a store that lies in a file."""

    dialect: Dialect = sqlite
    engine_url = "sqlite://"
    engine_module: Any = None
    errors = sqlite.ERRORS
    encrypted = False

    def __init__(self, path: Path) -> None:
        self.path = path

    @property
    def name(self) -> str:
        """The path."""
        return str(self.path)

    @property
    def folder(self) -> Path:
        """The folder in which the file lies."""
        return self.path.parent

    def exists(self) -> bool:
        """True when something lies there."""
        return is_there(self.path)

    def may_write(self) -> bool:
        """True when the file may be written to."""
        return os.access(self.path, os.W_OK)

    def at(self, path: Path) -> SqliteFile:
        """The driver of another file of the same kind: a copy, a draft."""
        return SqliteFile(path)

    def check(self, *, read_only: bool) -> None:
        """Refuse what is no file; take one that may be written away from group and others."""
        if not is_there(self.path):
            raise StoreError(f"there is no store at {self.path}: create it, or give the path of another one")
        if not self.path.is_file():
            raise StoreError(f"{self.path} is not a file: give the path of a store")
        if not read_only:
            sqlite.keep_private(self.path)
            if sqlite.keeps_no_log(self.path):
                with contextlib.suppress(*sqlite.ERRORS), contextlib.closing(self.connect()) as connection:
                    sqlite.write_ahead(connection)

    def create(self, settings: Mapping[str, str], fill: Callable[[Connection], None]) -> None:
        """Make the file beside its place, and put it there when it is whole."""
        path, lasting = self.path, settings.get("lasting") != "no"
        if path.exists():
            raise StoreError(f"{path} exists already: open it, or choose another name")
        draft = files.draft_beside(path)
        try:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            if logs := sqlite.logs_of(path):
                raise StoreError(
                    f"{logs[0]} lies there, the log of a store that is gone: "
                    "move it away, or choose another name"
                )
            sqlite.empty_file(draft)
            with contextlib.closing(sqlite.connect(draft, lasting=lasting, opener=self._opened)) as made:
                sqlite.begin_file(made)
                fill(made)
            files.put(draft, path, over=False, lasting=lasting)
        except OSError as error:
            if isinstance(error, FileExistsError) and path.exists():
                raise StoreError(f"{path} was made by another process meanwhile: open it") from None
            raise StoreError(f"cannot make a store in {path.parent} ({_why(error)}): {_CHOOSE}") from None
        finally:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)

    def connect(
        self, *, read_only: bool = False, lasting: bool = True, still: bool = False, waits: bool = True
    ) -> Connection:
        """A connection to the file, which must be there; ``still``: a copy that nobody writes to.

        ``waits`` False: what is written to by somebody else is refused at once.
        """
        return sqlite.connect(
            self.path, read_only=read_only, lasting=lasting, still=still, waits=waits, opener=self._opened
        )

    def _opened(self, address: str, alone: bool, seconds: float) -> Any:
        """A connection to the file or to a draft of it."""
        return sqlite.plainly(address, alone, seconds)

    def keep_before_upgrade(self, connection: Connection, version: int) -> None:
        """A copy beside the file."""
        target = files.free_name(self.path.with_name(f"{self.path.name}.schema-{version}.backup"))
        try:
            copy_to(connection, target, connect_to=self.open_copy)
        except OSError as error:
            raise StoreError(f"cannot write a copy in {target.parent} ({_why(error)}): {_CHOOSE}") from None

    def open_copy(self, path: Path) -> Any:
        """A connection to the empty file of a copy."""
        return sqlite3.connect(path)

    def cause(self, error: Exception) -> str:
        """By what stands in the way of the file."""
        code = getattr(error, "sqlite_errorcode", 0)
        if code == sqlite.NOT_A_DATABASE and sqlite.looks_encrypted(self.path):
            return f"{self.path} is encrypted now: leave armrise and open it again"
        if not isinstance(error, sqlite.ERRORS):
            return ""
        return causes.in_words(self.path, error) if self.fault(error) in _LOOKED_AT else ""

    def fault(self, error: Exception) -> Fault:
        """By SQLite's own code of the error."""
        return sqlite.fault(error)


class SqliteMemory:
    """The driver of a store in the memory of this process: nothing of it is ever on a disk.

    One connection is kept; with the last the store is gone. For one thread: readers beside a writer are
    refused and not made to wait.
    """

    dialect: Dialect = sqlite
    engine_url = "sqlite://"
    engine_module: Any = None
    errors: tuple[type[Exception], ...] = (sqlite3.Error,)
    encrypted = False
    name = "the caseload in memory"
    _numbers = count(1)

    def __init__(self) -> None:
        self._address = f"file:armrise-{next(self._numbers)}?mode=memory&cache=shared"
        self._kept = self.connect()

    @property
    def path(self) -> Path:
        """It has none. Raises :class:`StoreError`."""
        raise StoreError(f"{self.name} lies in no file: load it into a store first")

    @property
    def folder(self) -> Path:
        """Where the command was given."""
        return Path.cwd()

    def exists(self) -> bool:
        """It is there as long as this object is."""
        return True

    def may_write(self) -> bool:
        """Nobody else is at it."""
        return True

    def check(self, *, read_only: bool) -> None:
        """It is there as long as this object is."""

    def create(self, settings: Mapping[str, str], fill: Callable[[Connection], None]) -> None:
        """Fill it."""
        sqlite.begin_file(self._kept)
        fill(self._kept)

    def connect(self, *, read_only: bool = False, lasting: bool = True) -> Connection:
        """One more connection to it."""
        opened = sqlite3.connect(self._address, uri=True, isolation_level=None, check_same_thread=False)
        return sqlite.configured(opened, lasting=False)

    def close(self) -> None:
        """Let it go."""
        self._kept.close()

    def keep_before_upgrade(self, connection: Connection, version: int) -> None:
        """It is always of the newest schema."""

    def fault(self, error: Exception) -> Fault:
        """By SQLite's own code of the error."""
        return sqlite.fault(error)

    def cause(self, error: Exception) -> str:
        """Nothing of its own."""
        return ""


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
