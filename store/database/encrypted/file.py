"""A store in one file that SQLCipher encrypts: the driver of a plain file, with a key.

Every page is encrypted (AES-256) and sealed (HMAC-SHA512), the log and its copies too; only the 16 bytes of
salt at the head say nothing about it in plain. A file made by another key and one that is damaged give the
same fault, so no sentence can tell which it was.
"""

from __future__ import annotations

import contextlib
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from armrise.store.database import sqlite
from armrise.store.database.driver import StoreError, WrongPassphrase
from armrise.store.database.encrypted.keys import Key, salt_of
from armrise.store.database.sqlite_file import SqliteFile

HOW_TO_INSTALL = "pip install 'armrise[encrypted]'"


def library() -> Any:
    """SQLCipher. Raises :class:`StoreError` where the extra is not installed."""
    found = _library()
    if found is None:
        raise StoreError(f"encrypted stores need one more package: {HOW_TO_INSTALL}")
    return found


def is_installed() -> bool:
    """True where encrypted stores can be made and opened."""
    return _library() is not None


@cache
def _library() -> Any:
    try:
        found = import_module("sqlcipher3.dbapi2")
    except ImportError:
        return None
    sqlite.known_too(found.Error)
    SqliteFile.errors = sqlite.ERRORS
    return found


class EncryptedFile(SqliteFile):
    """The driver of a store that lies encrypted in a file. Raises :class:`StoreError` without SQLCipher."""

    encrypted = True

    def __init__(self, path: Path, key: Key) -> None:
        super().__init__(path)
        self.key = key
        self.engine_module = library()

    def at(self, path: Path) -> EncryptedFile:
        """By the same key and salt."""
        return EncryptedFile(path, self.key)

    def _opened(self, address: str, alone: bool, seconds: float) -> Any:
        try:
            return opened_by(self.key, self.path, address, alone=alone, seconds=seconds)
        except WrongPassphrase:
            if salt_of(self.path) == self.key.salt:
                raise
            changed = f"{self.path} is another file than it was, or has a new passphrase"
            raise StoreError(f"{changed}: leave armrise and open it again") from None

    def open_copy(self, path: Path) -> Any:
        """By the same key and salt: the passphrase that opens the store opens the copy."""
        return opened_by(self.key, path, sqlite.address(path))


def opened_by(
    key: Key | None,
    path: Path,
    address: str,
    *,
    alone: bool = False,
    seconds: float = sqlite.BUSY_SECONDS,
) -> Any:
    """A connection by SQLCipher; ``key`` None to a plain file. Raises :class:`WrongPassphrase`.

    It waits so many ``seconds`` for a lock of somebody else at most.
    """
    twin = library()
    connection = twin.connect(address, uri=True, timeout=seconds, isolation_level=None)
    try:
        # Before the key: what SQLCipher finds amiss it would write over the screen, to the error stream.
        connection.execute("PRAGMA cipher_log_level = NONE")
        if key is not None:
            connection.execute(f'PRAGMA key = "{key.words}"')
        if alone:
            connection.execute(sqlite.ALONE)
        connection.execute("PRAGMA temp_store = MEMORY")
        connection.execute("PRAGMA schema_version").fetchone()  # of the first page: the key opens it or not
    except twin.DatabaseError as error:
        with contextlib.suppress(twin.Error):
            connection.close()
        if key is not None and getattr(error, "sqlite_errorcode", 0) == sqlite.NOT_A_DATABASE:
            raise WrongPassphrase(wrong(path)) from None
        raise
    return connection


def wrong(path: Path) -> str:
    """What is said of a file that a passphrase does not open."""
    return (
        f"wrong passphrase, or the file is damaged: {path} does not open. Type the passphrase again, or "
        "restore a backup; without the passphrase nobody can open it"
    )
