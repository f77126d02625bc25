"""From an encrypted file to its key: at hand already, kept by the operating system, or asked for.

A passphrase is never taken as an argument or from the environment: both can be read by other programs, and
the shell keeps them. Who asks is set by whoever runs: the command line asks at the terminal, the screens
catch :class:`KeyNeeded` and ask in a field that shows no letters.
"""

from __future__ import annotations

from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.driver import Driver, KeyNeeded, StoreError, WrongPassphrase
from armrise.store.database.encrypted import kept, keys
from armrise.store.database.encrypted.asker import asker
from armrise.store.database.encrypted.file import EncryptedFile, library
from armrise.store.database.encrypted.keys import Key

TRIES = 3
"""So often the terminal asks before the command ends. Nothing is lost by it, nothing is locked."""


def driver_of_encrypted(path: Path) -> EncryptedFile | None:
    """What reaches an encrypted file; None for what is none. Raises :class:`StoreError`."""
    if not sqlite.looks_encrypted(path):
        return None
    library()
    return EncryptedFile(path, key_of(path))


def key_of(path: Path) -> Key:
    """The key that opens a file. Raises :class:`KeyNeeded` and :class:`WrongPassphrase`."""
    salt = keys.salt_of(path)
    for find in (keys.held, kept.key):
        key = find(salt)
        if key is not None and opens(path, key):
            keys.hold(key)
            return key
    ask = asker()
    if ask is None:
        raise KeyNeeded(path)
    said = ""
    for _ in range(TRIES):
        try:
            return unlock(path, ask(path, said))
        except WrongPassphrase as wrong:
            said = str(wrong)
    raise WrongPassphrase(said)


def unlock(path: Path, passphrase: str) -> Key:
    """The key that a passphrase gives, held from now on. Raises :class:`WrongPassphrase`, StoreError."""
    key = keys.derive(passphrase, keys.salt_of(path))
    _try(path, key)
    keys.hold(key)
    return key


def new_file(path: Path, passphrase: str) -> EncryptedFile:
    """What makes a store that a passphrase opens; its key is held from now on. Raises :class:`StoreError`."""
    key = keys.derive(passphrase, keys.new_salt())
    keys.hold(key)
    return EncryptedFile(path, key)


def opens(path: Path, key: Key) -> bool:
    """True when the key opens the file."""
    try:
        _try(path, key)
    except WrongPassphrase:
        return False
    return True


def is_opened_by(driver: Driver, passphrase: str) -> bool:
    """True for the passphrase whose key opens the store; the file is not looked at."""
    return isinstance(driver, EncryptedFile) and keys.derive(passphrase, driver.key.salt) == driver.key


def _try(path: Path, key: Key) -> None:
    driver = EncryptedFile(path, key)
    try:
        driver.connect(read_only=True).close()
    except driver.errors as error:
        raise StoreError(f"{path} cannot be opened ({sqlite.fault_name(error)}): try again") from None
