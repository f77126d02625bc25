"""Writing many entries at once over the plain driver: a whole caseload without importing SQLModel."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from armrise.store.database.columns import (
    ITEM_TABLE,
    columns,
    item_columns,
    item_row_of,
    micros,
    row_of,
    table_name,
)
from armrise.store.database.driver import Connection
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
    for table, names, rows in rows_by_table(case_id, entries, batch):
        connection.executemany(_insert(table, names), rows)


Rows = tuple[str, list[str], list[tuple[Any, ...]]]
"""The name of a table, the names of its columns, and rows of them."""


def rows_by_table(case_id: int, entries: Sequence[Entry], batch: int | Mapping[int, int]) -> Iterator[Rows]:
    """What entries with ids become: the sequence first, because every other row refers to it."""
    of = dict.fromkeys((e.id for e in entries), batch) if isinstance(batch, int) else batch
    lines = [(e.id, case_id, e.KIND, of[e.id], micros(e.recorded_at)) for e in entries]
    yield "entry", ["id", "case_id", "kind", "batch", "recorded_at_utc"], lines
    by_kind: dict[str, list[tuple[Any, ...]]] = defaultdict(list)
    for entry in entries:
        by_kind[entry.KIND].append(row_of(entry, case_id))
    for kind, rows in by_kind.items():
        yield table_name(kind), [column.name for column in columns(kind)], rows
    items = [
        item_row_of(item, entry.id, place)
        for entry in entries
        if isinstance(entry, Session)
        for place, item in enumerate(entry.items)
    ]
    if items:
        yield ITEM_TABLE, [column.name for column in item_columns()], items


def _insert(table: str, names: Sequence[str]) -> str:
    quoted = ", ".join(f'"{name}"' for name in names)
    return f'INSERT INTO "{table}" ({quoted}) VALUES ({", ".join("?" * len(names))})'
