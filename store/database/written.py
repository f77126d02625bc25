"""What stands in a stretch of a store, and each row of it as one line of text that a hash is taken over.

A line must come out the same whoever asks and whenever: it names table and columns, gives whole numbers and
texts as they are, and leaves out what is at its default. So a row reads the same after the columns of a table
were put in another order, and after a later schema has given it a column with the default of that column.
For that, a default that has landed is never changed.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from typing import Any

from armrise.store.database.columns import ITEM_TABLE, table_name
from armrise.store.database.declared import CASES, ENTRY, SETTING, Table, tables
from armrise.store.database.driver import Connection
from armrise.store.database.rows import item_row_maker, row_maker
from armrise.store.database.unreadable import read_rows
from armrise.store.record.case import KINDS
from armrise.store.record.light import NamedTuple

Row = tuple[Any, ...]

FIRST, LAST = -(2**63), 2**63 - 1
"""Below and above every id, also one that no program of ours gave."""

STRETCH = 2000
"""So many entries are held at once where a whole store is read."""


class Stretch(NamedTuple):
    """The entries of a stretch of ids: their lines, and the rows of their kinds with their exercises."""

    entries: list[Row]
    kinds: dict[str, dict[int, Row]]
    """By kind and id; also rows that no line speaks of."""
    items: dict[int, list[Row]]
    """By the id of their session."""


def stretches(
    connection: Connection, after: int, upto: int, *, every_kind: bool = False
) -> Iterator[Stretch]:
    """The entries with ids over ``after`` and up to ``upto``, some at a time; see :func:`stretch_of`."""
    sql = f'SELECT "id" FROM "entry" WHERE "id" > ? AND "id" <= ? ORDER BY "id" LIMIT {STRETCH}'
    while after < upto:
        ids = connection.execute(sql, (after, upto)).fetchall()
        end = ids[-1][0] if len(ids) == STRETCH else upto
        yield stretch_of(connection, after, end, every_kind=every_kind)
        after = end


def stretch_of(connection: Connection, after: int, upto: int, *, every_kind: bool = False) -> Stretch:
    """The entries with ids over ``after`` and up to ``upto``, by id.

    ``every_kind`` looks into the tables of all kinds, also those that no line names.
    """
    entries = _rows(connection, ENTRY, "id", after, upto)
    named = {row[_KIND] for row in entries}
    kinds = {
        kind: {row[0]: row for row in _rows(connection, _table(table_name(kind)), "id", after, upto)}
        for kind in KINDS
        if every_kind or kind in named
    }
    items: dict[int, list[Row]] = defaultdict(list)
    if kinds.get("session"):
        for row in _rows(connection, _table(ITEM_TABLE), "session_id", after, upto):
            items[row[0]].append(row)
    return Stretch(entries, kinds, items)


_KIND = next(place for place, column in enumerate(ENTRY.columns) if column.name == "kind")


@cache
def _table(name: str) -> Table:
    return next(table for table in tables() if table.name == name)


def _rows(connection: Connection, table: Table, by: str, after: int, upto: int) -> list[Row]:
    names = ", ".join(f'"{column.name}"' for column in table.columns)
    order = ", ".join(f'"{name}"' for name in table.key)
    sql = f'SELECT {names} FROM "{table.name}" WHERE "{by}" > ? AND "{by}" <= ? ORDER BY {order}'
    return read_rows(connection, table.name, sql, (after, upto), list)


def cases_of(connection: Connection, after: int, upto: int) -> list[Row]:
    """The cases with ids over ``after`` and up to ``upto``, by id, in the order of their columns."""
    return _rows(connection, CASES, "id", after, upto)


def settings_lines(connection: Connection) -> Iterator[str]:
    """A line for each setting, by its name."""
    rows = connection.execute('SELECT "name", "value" FROM "setting" ORDER BY "name"').fetchall()
    return map(_line_of(SETTING.name), rows)


def case_lines(rows: Iterable[Row]) -> Iterator[str]:
    """A line for each case."""
    return map(_line_of(CASES.name), rows)


def entry_lines(stretch: Stretch) -> Iterator[tuple[Row, list[str]]]:
    """Each entry by id: its row of the sequence, and its lines, one for each row that it is made of."""
    head, item = _line_of(ENTRY.name), _line_of(ITEM_TABLE)
    for row in stretch.entries:
        number, kind = row[0], row[_KIND]
        lines, own = [head(row)], stretch.kinds.get(kind, {}).get(number)
        if own is not None:
            lines.append(_line_of(table_name(kind))(own))
        lines += map(item, stretch.items.get(number, ()) if kind == "session" else ())
        yield row, lines


@cache
def _line_of(name: str) -> Callable[[Sequence[Any]], str]:
    return line_maker(_table(name))


def make_ready(kind: str) -> None:
    """Write out ahead what entries of a kind are written by: the first of them need not wait for it."""
    for table in (CASES.name, ENTRY.name, table_name(kind), ITEM_TABLE):
        _line_of(table)
    row_maker(kind)
    item_row_maker()


def line_maker(table: Table) -> Callable[[Sequence[Any]], str]:
    """The function that makes the line of a row of the table, given in the order of its columns.

    Written out from the columns and compiled, as in :mod:`armrise.store.database.rows` and for its reason.
    """
    named = sorted((column.name, place) for place, column in enumerate(table.columns))
    scope: dict[str, Any] = {"text": _text, "other": _other}
    said: list[str] = []
    for name, place in named:
        scope[f"default{place}"] = table.defaults.get(name)
        of_kind, plain = ("str", "{text(v)}") if table.columns[place].kind == "text" else ("int", "{v}")
        before = f",{_text(name)}:"
        value = f"f'{before}{plain}' if v.__class__ is {of_kind} else "
        value += f"'{before}null' if v is None else f'{before}{{other(v)}}'"
        said.append(f"    if (v := row[{place}]) != default{place}: said += {value}")
    begins, ends = f"[{_text(table.name)},{{", "}]"
    lines = ["def line(row):", "    said = ''", *said, f"    return {begins!r} + said[1:] + {ends!r}"]
    exec("\n".join(lines), scope)
    return scope["line"]


_text = json.encoder.encode_basestring_ascii
"""A text as JSON of ASCII signs."""
_encode = json.JSONEncoder(ensure_ascii=True, separators=(",", ":"), default=repr).encode


def _other(value: Any) -> str:
    """A flag as the number it is kept as: some drivers hand it out as true or false."""
    return _encode(int(value) if value is True or value is False else value)
