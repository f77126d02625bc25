"""A table: what its columns mean and may hold, and its rows. Cells hold values; a writer makes them text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, cast

from armrise.store.exchange.out.schema import Schema
from armrise.store.record.fields import Absence, series_text
from armrise.store.record.visible import on_one_line

FIRST = "armrise"
"""The name of the first column; its cells say form and version of the table."""
YES, NO = "yes", "no"
Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: ``allowed`` is the JSON Schema of its cells as text."""

    name: str
    allowed: Schema
    meaning: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table by its name; every row has a cell for each column."""

    name: str
    columns: tuple[Column, ...]
    rows: Iterable[Row]

    @property
    def head(self) -> tuple[str, ...]:
        """The names of the columns."""
        return tuple(column.name for column in self.columns)


def is_number(value: object) -> bool:
    """True for what a spreadsheet may calculate with; yes and no are no numbers."""
    return isinstance(value, (int, float, Decimal)) and not isinstance(value, bool)


def as_text(value: Any) -> str:
    """A cell as text: nothing for what is not there, an absence in its word, dates and instants as ISO 8601.

    A decimal keeps the digits and places it has.
    """
    match value:
        case None:
            return ""
        case bool():
            return YES if value else NO
        case Absence():
            return value.value
        case str():
            return on_one_line(value)
        case Decimal():
            return f"{value:f}"
        case date():  # an instant is one too
            return value.isoformat()
        case tuple():
            return series_text(cast("tuple[Decimal | None, ...]", value))
        case _:
            return str(value)
