"""A connection to a PostgreSQL server that takes statements as they are written for every store."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from psycopg import Connection, Cursor

_PLACES = re.compile(r"""('[^']*'|"[^"]*"|--[^\n]*)|\?|(?<![:\w]):([a-z_]+)|%""")
"""What is quoted or said to the reader, and outside of that the places where values go."""


@lru_cache(maxsize=128)
def with_values(sql: str) -> bytes:
    """A statement with ``?`` or ``:name`` as psycopg takes it, with ``%s`` or ``%(name)s``."""

    def place(found: re.Match[str]) -> str:
        quoted, name = found.groups()
        if quoted is not None:
            return quoted.replace("%", "%%")
        return f"%({name})s" if name else "%s" if found[0] == "?" else "%%"

    return _PLACES.sub(place, sql).encode()


class ServerConnection(Connection[tuple[Any, ...]]):
    """psycopg's own connection; statements given to it itself have ``?`` or ``:name`` where a value goes.

    A cursor of it takes psycopg's placeholders, which SQLAlchemy writes.
    """

    def execute(  # pyright: ignore[reportIncompatibleMethodOverride]
        self, sql: str, parameters: Sequence[Any] | Mapping[str, Any] = (), /
    ) -> Cursor[tuple[Any, ...]]:
        """Run one statement; without values also several, parted by semicolons."""
        if not parameters:
            return super().execute(sql.encode())
        return super().execute(with_values(sql), parameters)

    def executemany(self, sql: str, parameters: Iterable[Sequence[Any]], /) -> None:
        """Run one statement for each sequence of values, sent together."""
        with self.cursor() as cursor:
            cursor.executemany(with_values(sql), parameters)
