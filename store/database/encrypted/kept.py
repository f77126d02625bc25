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
    name = key.salt.hex()
    try:
        _library().set_password(SERVICE, name, key.hex)
        why = "" if _library().get_password(SERVICE, name) == key.hex else "it took the key and has none"
    except Exception as error:
        why = _why(error)
    if why:
        raise StoreError(f"this machine keeps no key ({why}): the passphrase is asked for instead")


def forget(salt: bytes) -> bool:
    """Have the operating system keep the key no longer; False when it kept none.

    Raises :class:`StoreError` where it may still keep it.
    """
    if _library() is None:
        return False
    try:
        if _library().get_password(SERVICE, salt.hex()) is None:
            return False
        _library().delete_password(SERVICE, salt.hex())
    except Exception as error:
        if type(error).__name__ == "NoKeyringError":
            return False
        raise StoreError(
            f"the operating system may still keep the key ({_why(error)}): "
            f"unlock its keyring and take {SERVICE} {salt.hex()} out of it"
        ) from None
    return True


_FAULTS = {
    "NoKeyringError": "there is no keyring",
    "KeyringLocked": "its keyring is locked",
    "InitError": "its keyring cannot be opened",
    "PasswordSetError": "its keyring refused",
    "PasswordDeleteError": "its keyring refused",
}
"""What can be wrong with a keyring, by the names of the errors of the library."""


def _why(error: Exception) -> str:
    """In words; what the error says for itself may quote what it was given."""
    return _FAULTS.get(type(error).__name__, f"its keyring fails by {type(error).__name__}")
