"""The JSON Schema of a row of each table, as whoever reads CSV by its head has it: every cell a text."""

from __future__ import annotations

from collections.abc import Iterator

from armrise.store.exchange.out.schema import Schema, document, mapping, ref, told
from armrise.store.exchange.tables.listing import LIST, list_columns
from armrise.store.exchange.tables.records import (
    CASES,
    case_columns,
    entry_columns,
    part_columns,
    part_fields,
    part_name,
)
from armrise.store.exchange.tables.table import Column
from armrise.store.record.case import KINDS

TITLE = "a row of armrise export --csv FOLDER or armrise list --csv FILE, each cell a text"


def csv_schema() -> Schema:
    """A row of any table: the first cell says of which."""
    rows = {name: _row(columns) for name, columns in every_table()}
    return document(TITLE, {"anyOf": [ref(name) for name in rows]}, rows)


def every_table() -> Iterator[tuple[str, tuple[Column, ...]]]:
    """Every table there is by its name, with its columns."""
    yield LIST, list_columns()
    yield CASES, case_columns()
    for kind, of in KINDS.items():
        yield kind, entry_columns(kind)
        for spec in part_fields(of):
            yield part_name(kind, spec.name), part_columns(kind, spec)


def _row(columns: tuple[Column, ...]) -> Schema:
    return mapping({column.name: told(column.allowed, column.meaning) for column in columns})
