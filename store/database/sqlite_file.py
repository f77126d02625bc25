"""A store in one SQLite file, private to its owner: the usual place."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path

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
    errors = sqlite.ERRORS

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

    def check(self, *, read_only: bool) -> None:
        """Refuse what is no file; take one that may be written away from group and others."""
        if not is_there(self.path):
            raise StoreError(f"there is no store at {self.path}: create it, or give the path of another one")
        if not self.path.is_file():
            raise StoreError(f"{self.path} is not a file: give the path of a store")
        if not read_only:
            sqlite.keep_private(self.path)
            if sqlite.keeps_no_log(self.path):
                with contextlib.suppress(sqlite3.Error), contextlib.closing(self.connect()) as connection:
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
            with contextlib.closing(sqlite.make_file(draft, lasting=lasting)) as made:
                fill(made)
            files.put(draft, path, over=False, lasting=lasting)
        except OSError as error:
            if isinstance(error, FileExistsError) and path.exists():
                raise StoreError(f"{path} was made by another process meanwhile: open it") from None
            raise StoreError(f"cannot make a store in {path.parent} ({_why(error)}): {_CHOOSE}") from None
        finally:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)

    def connect(self, *, read_only: bool = False, lasting: bool = True) -> sqlite3.Connection:
        """A connection to the file, which must be there."""
        return sqlite.connect(self.path, read_only=read_only, lasting=lasting)

    def keep_before_upgrade(self, connection: Connection, version: int) -> None:
        """A copy beside the file."""
        target = files.free_name(self.path.with_name(f"{self.path.name}.schema-{version}.backup"))
        try:
            copy_to(connection, target)
        except OSError as error:
            raise StoreError(f"cannot write a copy in {target.parent} ({_why(error)}): {_CHOOSE}") from None

    def cause(self, error: Exception) -> str:
        """By what stands in the way of the file; nothing is known of a text that cannot be read."""
        if not isinstance(error, sqlite3.Error):
            return ""
        return causes.in_words(self.path, error) if self.fault(error) in _LOOKED_AT else ""

    def fault(self, error: Exception) -> Fault:
        """By SQLite's own code of the error."""
        return sqlite.fault(error)


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
