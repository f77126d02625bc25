"""A store in one SQLite file, private to its owner: the usual place."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.driver import Connection, Dialect, Fault, StoreError

_CHOOSE = "allow writing there, or choose another folder"


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
        return self.path.exists()

    def may_write(self) -> bool:
        """True when the file may be written to."""
        return os.access(self.path, os.W_OK)

    def check(self, *, read_only: bool) -> None:
        """Refuse what is no file; take one that may be written away from group and others."""
        if not self.path.exists():
            raise StoreError(f"there is no store at {self.path}: create it, or give the path of another one")
        if not self.path.is_file():
            raise StoreError(f"{self.path} is not a file: give the path of a store")
        if not read_only:
            sqlite.keep_private(self.path)

    def create(self, settings: Mapping[str, str], fill: Callable[[Connection], None]) -> None:
        """Make the file beside its place, and put it there when it is whole."""
        path = self.path
        if path.exists():
            raise StoreError(f"{path} exists already: open it, or choose another name")
        draft = path.with_name(f".{path.name}.new")
        try:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            draft.unlink(missing_ok=True)
            with contextlib.closing(sqlite.make_file(draft, lasting=settings.get("lasting") != "no")) as made:
                fill(made)
            if path.exists():
                raise StoreError(f"{path} was made by another process meanwhile: open it")
            draft.replace(path)
        except OSError as error:
            raise StoreError(f"cannot make a store in {path.parent} ({_why(error)}): {_CHOOSE}") from None
        finally:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)

    def connect(self, *, read_only: bool = False, lasting: bool = True) -> sqlite3.Connection:
        """A connection to the file, which must be there."""
        return sqlite.connect(self.path, read_only=read_only, lasting=lasting)

    def keep_before_upgrade(self, connection: Connection, version: int) -> None:
        """A copy beside the file."""
        self.copy_to(connection, self.path.with_name(f"{self.path.name}.schema-{version}.backup"))

    def copy_to(self, connection: Connection, target: Path) -> None:
        """A whole copy of the open store in a new file. Raises :class:`StoreError`."""
        assert isinstance(connection, sqlite3.Connection)
        try:
            sqlite.copy_to(connection, target)
        except OSError as error:
            raise StoreError(f"cannot write a backup in {target.parent} ({_why(error)}): {_CHOOSE}") from None

    def fault(self, error: Exception) -> Fault:
        """By SQLite's own code of the error."""
        return sqlite.fault(error)

    def cause(self, error: Exception) -> str:
        """Nothing: the kind of an error says enough of a file."""
        return ""


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
