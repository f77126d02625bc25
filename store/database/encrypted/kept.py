"""A key kept by the operating system, for whoever asked for that: through the library ``keyring``.

What is kept is the key of one store and of its copies, under its salt, never the passphrase. Whoever can sign
in to this account can then open the store: that is what it is for.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from typing import Any

from armrise.store.database.driver import StoreError
from armrise.store.database.encrypted.keys import Key

SERVICE = "armrise"


@cache
def _library() -> Any:
    try:
        return import_module("keyring")
    except ImportError:
        return None


def key(salt: bytes) -> Key | None:
    """The key kept for a salt; None where none is, or nothing here keeps keys."""
    if _library() is None:
        return None
    try:
        found = _library().get_password(SERVICE, salt.hex())
        return Key(bytes.fromhex(found), salt) if found else None
    except Exception:  # of whatever the operating system keeps keys by: then the passphrase is asked for
        return None


def keep(key: Key) -> None:
    """Have the operating system keep a key. Raises :class:`StoreError` where it keeps none."""
    if _library() is None:
        raise StoreError("to have the key kept one more package is needed: pip install 'armrise[encrypted]'")
    try:
        _library().set_password(SERVICE, key.salt.hex(), key.hex)
    except Exception as error:
        raise StoreError(
            f"this machine keeps no keys ({type(error).__name__}): the passphrase is asked for instead"
        ) from None


def forget(salt: bytes) -> bool:
    """Have the operating system keep the key no longer; False when it kept none."""
    if key(salt) is None:
        return False
    _library().delete_password(SERVICE, salt.hex())
    return True
