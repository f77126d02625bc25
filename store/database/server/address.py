"""How a store is named: a file, or the address of a database on a server.

Nothing here imports the driver: a name is read before that is needed.
"""

from __future__ import annotations

from dataclasses import field
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

from armrise.store.database.driver import StoreError
from armrise.store.record.light import dataclass

SCHEMES = ("postgresql://", "postgres://")
_SECRET = ("password", "sslpassword")
UNREADABLE = "the address of the server cannot be read: write postgresql://account@machine/database"
_KEPT = "leave it out, it is asked for, or read from the file of PGPASSFILE"


@dataclass(frozen=True)
class ServerAddress:
    """An address as libpq reads it, ``postgresql://account@machine/database?sslmode=verify-full``.

    It holds no password: one that is asked for stands beside it, in memory alone.
    """

    text: str
    password: str = field(default="", repr=False, compare=False)

    def __str__(self) -> str:
        """The address without what follows its question mark: how sentences name the store."""
        return self.text.partition("?")[0]


def is_address(text: str) -> bool:
    """True for what is the address of a server, and no name of a file."""
    return text.casefold().startswith(SCHEMES)


def read_address(text: str) -> ServerAddress:
    """The address typed. Raises :class:`StoreError` for one that cannot be read or holds a password.

    Others see what is typed on a command line. The sentence quotes none of it.
    """
    try:
        parts = urlsplit(text)
        secret = parts.password is not None or any(name in _SECRET for name, _ in parse_qsl(parts.query))
    except ValueError:
        raise StoreError(UNREADABLE) from None
    if secret:
        raise StoreError(f"the address of the server holds a password, which others can see: {_KEPT}")
    return ServerAddress(text)


Where = Path | ServerAddress
"""The name of a store: a file, or the address of a database on a server."""


def where(text: str) -> Where:
    """The store that was named in words. Raises :class:`StoreError`, which repeats no password."""
    return read_address(text) if is_address(text) else Path(text)
