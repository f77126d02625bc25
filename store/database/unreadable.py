"""A row that cannot be read, named by its table and number, with nothing of what stands in it.

A damaged row shows itself in one of two ways: the database cannot hand it out, or what it hands out makes no
record. Both are said in one sentence with what to do. A list is never shown without the row.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Generator, Iterable, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from armrise.store.database.driver import Connection, StoreError

WHAT_NEXT = "armrise verify, then restore a backup"

OF_VALUES = (ArithmeticError, AttributeError, LookupError, OSError, TypeError, ValueError)
"""What a damaged value leads to where something is made of it; some clocks refuse by OSError."""

Values = Sequence[Any] | Mapping[str, Any]
Take = Callable[[Iterable[Any]], Any]


class Unreadable(StoreError):
    """``row`` of the store, as "visit 1234", cannot be read."""

    def __init__(self, row: str, why: str) -> None:
        super().__init__(f"{row} of the store cannot be read, {why}: {WHAT_NEXT}")


def read_rows(connection: Connection, table: str, sql: str, values: Values, take: Take) -> Any:
    """What ``take`` makes of the rows of a statement, whose first column is the id in ``table``.

    Raises :class:`Unreadable` for a row that ``take`` fails at. What the database itself raises comes as it
    is, with a note that names the row, see :func:`named`.
    """
    try:
        return take(connection.execute(sql, values))
    except Exception:  # whatever a damaged row leads to
        _look_for(connection, table, sql, values, take)
        raise


def _look_for(connection: Connection, table: str, sql: str, values: Values, take: Take) -> None:
    """Go through the rows once more, each by itself, and raise for the first that cannot be read."""
    number, before = 0, "the first"
    rows = iter(connection.execute(sql, values))
    while True:
        try:
            row = next(rows, None)
        except Exception as error:
            error.add_note(f"{table} {_number(connection, sql, values, number) or f'after {before}'}")
            raise
        if row is None:
            return
        try:
            take([row])
        except OF_VALUES:
            raise Unreadable(f"{table} {row[0]}", "its values make no entry of that kind") from None
        number, before = number + 1, str(row[0])


def _number(connection: Connection, sql: str, values: Values, place: int) -> str:
    """The id of a row that cannot be read whole, by its place; empty where not even that can be read."""
    try:
        # the id alone: a text that is no text is then not asked for
        row = connection.execute(f"SELECT r.id FROM ({sql}) AS r LIMIT 1 OFFSET {place}", values).fetchone()
    except Exception:
        return ""
    return str(row[0]) if row else ""


def known_kind(entry: int, kind: str, kinds: Container[str]) -> str:
    """The kind of an entry, where it is one of ``kinds``. Raises :class:`Unreadable`."""
    if kind not in kinds:
        raise Unreadable(f"entry {entry}", "its kind is none that is known")
    return kind


@contextmanager
def making(row: str) -> Generator[None, None, None]:
    """Around what reads a row, as "draft", and makes something of it: a damaged value is :class:`Unreadable`.

    What the database itself raises comes as it is, with a note that names the row, see :func:`named`.
    """
    try:
        yield
    except OF_VALUES:
        raise Unreadable(row, "its values are none that armrise wrote") from None
    except Exception as error:
        error.add_note(row)
        raise


def named(error: Exception) -> str:
    """The row at which the database raised ``error``, as "visit 1234"; empty where no row is known."""
    return next(iter(getattr(error, "__notes__", ())), "")
