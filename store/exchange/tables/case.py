"""One case as tables: what is worked out for it, then everything recorded of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

from armrise.store.entries.filed import CaseloadFile
from armrise.store.exchange.tables.cells import ANY
from armrise.store.exchange.tables.listing import in_words
from armrise.store.exchange.tables.records import CASES, record_tables
from armrise.store.exchange.tables.table import Column, Row, Table
from armrise.store.exchange.tables.workbook import dated

FIGURES = "worked out"
RECORDED = "recorded"
NONE = "none"


def case_tables(details: Mapping[str, Any], made: CaseloadFile) -> list[Table]:
    """Its figures, a table for each list among them, then a table for each kind of entry that it has."""
    figures, lists = [*_figures(details)], [*_lists(details)]
    first = Table(FIGURES, _columns(("what", "value")), [*dated(figures)])
    recorded = (table for table in record_tables(made) if table.name != CASES)
    held = [(table, [*table.rows]) for table in recorded]
    return [
        first,
        *lists,
        *(Table(f"{RECORDED} {table.name}", table.columns, rows) for table, rows in held if rows),
    ]


def _columns(names: Sequence[str]) -> tuple[Column, ...]:
    return tuple(Column(name, ANY) for name in names)


def _figures(value: Mapping[str, Any], above: tuple[str, ...] = ()) -> Iterator[Row]:
    """Every bare value by its name; a list of lines in one cell; of what is empty, that there is none."""
    for name, part in value.items():
        path = (*above, name.replace("_", " "))
        if isinstance(part, Mapping):
            yield from _figures(cast("Mapping[str, Any]", part), path)
        elif not isinstance(part, list):
            yield " ".join(path), part
        elif not _is_rows(lines := cast("list[Any]", part)):
            yield " ".join(path), in_words(lines) or NONE


def _lists(value: Mapping[str, Any], above: tuple[str, ...] = ()) -> Iterator[Table]:
    for name, part in value.items():
        path = (*above, name.replace("_", " "))
        if isinstance(part, Mapping):
            yield from _lists(cast("Mapping[str, Any]", part), path)
        elif _is_rows(part):
            yield _table(" ".join(path), cast("list[Mapping[str, Any]]", part))


def _is_rows(part: object) -> bool:
    return isinstance(part, list) and any(isinstance(one, Mapping) for one in cast("list[object]", part))


def _table(name: str, found: Sequence[Mapping[str, Any]]) -> Table:
    flat = [dict(_cells(one)) for one in found]
    names = [*dict.fromkeys(key for row in flat for key in row)]
    rows = [tuple(row.get(key) for key in names) for row in flat]
    return Table(name, _columns([key.replace("_", " ") for key in names]), [*dated(rows)])


def _cells(value: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    for name, part in value.items():
        if isinstance(part, Mapping):
            yield from _cells(cast("Mapping[str, Any]", part), f"{above}{name}_")
        else:
            told = in_words(cast("Sequence[Any]", part)) if isinstance(part, list) else part
            yield f"{above}{name}", told
