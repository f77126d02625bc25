"""Writing many entries at once over the plain driver: a whole caseload without importing SQLModel."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from armrise.store.database.columns import HEAD, ITEM_TABLE, columns, item_columns, table_name
from armrise.store.database.driver import Connection
from armrise.store.database.rows import Row, item_row_maker, row_maker
from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session

_CASE = (
    "code",
    "person",
    "side",
    "pathway",
    "dominance",
    "age_band",
    "clinician",
    "referrer",
    "registered_on",
)


def insert_cases(connection: Connection, first: int, heads: Iterable[CaseHead]) -> None:
    """Write case heads with ids from ``first`` on."""
    rows = [
        (number, *(getattr(head, name) for name in _CASE[:-1]), head.registered_on.isoformat())
        for number, head in enumerate(heads, first)
    ]
    connection.executemany(_insert("cases", ("id", *_CASE)), rows)


def insert_entries(
    connection: Connection, case_id: int, entries: Sequence[Entry], *, batch: int | Mapping[int, int]
) -> None:
    """Write entries that have ids; ``batch`` is their action, or by the id of each its own."""
    insert_of_cases(connection, [(case_id, entries)], batch)


AT_A_TIME = 20_000
"""So many entries are made rows and written, then the next: a large file is never there twice as a whole."""

OfCase = tuple[int, Sequence[Entry]]
"""The id of a case, and entries of it that have ids."""


def insert_of_cases(connection: Connection, cases: Iterable[OfCase], batch: int | Mapping[int, int]) -> None:
    """Write entries of many cases, a table at a time; ``batch`` as for :func:`insert_entries`."""
    some: list[OfCase] = []
    held = 0
    for case in cases:
        some.append(case)
        held += len(case[1])
        if held >= AT_A_TIME:
            _insert_rows(connection, some, batch)
            some, held = [], 0
    _insert_rows(connection, some, batch)


def _insert_rows(connection: Connection, cases: Iterable[OfCase], batch: int | Mapping[int, int]) -> None:
    """The sequence first, because every other row refers to it, and sessions before their exercises."""
    lines: list[Row] = []
    of_kind: dict[str, list[Row]] = defaultdict(list)
    items: list[Row] = []
    for case_id, entries in cases:
        for entry in entries:
            kind = entry.KIND
            row = row_maker(kind)(entry, case_id)
            of_kind[kind].append(row)
            action = batch if isinstance(batch, int) else batch[entry.id]
            lines.append((entry.id, case_id, kind, action, row[_RECORDED]))
            if isinstance(entry, Session):
                made = item_row_maker()
                items += [made(item, entry.id, place) for place, item in enumerate(entry.items)]
    _put(connection, "entry", ("id", "case_id", "kind", "batch", "recorded_at_utc"), lines)
    for kind, rows in of_kind.items():
        _put(connection, table_name(kind), [column.name for column in columns(kind)], rows)
    _put(connection, ITEM_TABLE, [column.name for column in item_columns()], items)


_RECORDED = next(place for place, column in enumerate(HEAD) if column.name == "recorded_at_utc")


def _put(connection: Connection, table: str, names: Sequence[str], rows: Sequence[Row]) -> None:
    if rows:
        connection.executemany(_insert(table, names), rows)


def _insert(table: str, names: Sequence[str]) -> str:
    quoted = ", ".join(f'"{name}"' for name in names)
    return f'INSERT INTO "{table}" ({quoted}) VALUES ({", ".join("?" * len(names))})'
