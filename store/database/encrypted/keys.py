"""The key of an encrypted store: made from a passphrase, and in the memory of this process alone.

The key is scrypt (RFC 7914) over the passphrase and the first 16 bytes of the file, with the least figures
that the OWASP Password Storage Cheat Sheet asks for: N = 2**17, r = 8, p = 1, which takes 128 MiB and the
better part of a second for each guess. SQLCipher keeps those 16 bytes, its salt, at the head of the file and
never encrypts them; so a copy needs no second file beside it, and opens by the same passphrase.
"""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path

from armrise.store.database.driver import StoreError

SALT_BYTES = 16
KEY_BYTES = 32
COST, BLOCK, LANES = 2**17, 8, 1
"""N, r and p of RFC 7914. Other figures would open no file made with these."""
LEAST_LETTERS = 15
"""NIST SP 800-63B-4, section 3.1.1.2: a passphrase that is all that is asked for has at least so many."""
MOST_LETTERS = 200


class Key:
    """The 32 bytes by which SQLCipher opens a file, and the salt at its head. Printed, it says nothing."""

    __slots__ = ("_secret", "salt")

    def __init__(self, secret: bytes, salt: bytes) -> None:
        self._secret = secret
        self.salt = salt

    def __repr__(self) -> str:
        return "Key(...)"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Key) and (self._secret, self.salt) == (other._secret, other.salt)

    def __hash__(self) -> int:
        return hash(self.salt)

    @property
    def words(self) -> str:
        """The key and the salt as SQLCipher reads them raw: it derives nothing from them."""
        return f"x'{self.hex}{self.salt.hex()}'"

    @property
    def hex(self) -> str:
        """The secret bytes in hexadecimal digits."""
        return self._secret.hex()


def new_salt() -> bytes:
    """The salt of a file that is to be made."""
    return os.urandom(SALT_BYTES)


def salt_of(path: Path) -> bytes:
    """The salt at the head of an encrypted file. Raises OSError."""
    with path.open("rb") as file:
        return file.read(SALT_BYTES)


def derive(passphrase: str, salt: bytes) -> Key:
    """The key that a passphrase, as it was typed, gives with a salt of 16 bytes."""
    from hashlib import scrypt

    room = 128 * BLOCK * (COST + LANES + 2)
    typed = as_typed(passphrase).encode()
    try:
        made = scrypt(typed, salt=salt, n=COST, r=BLOCK, p=LANES, maxmem=room, dklen=KEY_BYTES)
    except (MemoryError, ValueError) as error:
        raise StoreError(f"there is no room in memory to make the key ({error}): close something") from None
    return Key(made, salt)


def as_typed(passphrase: str) -> str:
    """The passphrase without blanks around it, and one way of writing each letter (RFC 8265: NFC)."""
    return unicodedata.normalize("NFC", passphrase.strip())


def passphrase_fault(typed: str, again: str) -> str:
    """Why this is no passphrase to set, in a sentence that does not repeat it; empty when it is one."""
    letters = len(as_typed(typed))
    if letters < LEAST_LETTERS:
        return (
            f"passphrase: at least {LEAST_LETTERS} characters, {letters} typed; four or five words are good."
        )
    if letters > MOST_LETTERS:
        return f"passphrase: at most {MOST_LETTERS} characters, {letters} typed."
    return (
        "" if as_typed(typed) == as_typed(again) else "passphrase: the two are not the same, type both again."
    )


# --- in memory -------------------------------------------------------------------------------------------

_held: dict[bytes, Key] = {}
"""By their salts: a copy of a store has that of the store."""


def hold(key: Key) -> None:
    """Keep a key that has opened a file, until the program ends."""
    _held[key.salt] = key


def held(salt: bytes) -> Key | None:
    """The key that opened a file of that salt before."""
    return _held.get(salt)
