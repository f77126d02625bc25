"""Rows into frozen entries, fast: one function per kind, written out from its columns and compiled once.

A board reads tens of thousands of sessions. Calling the constructor of a frozen dataclass with keywords costs
more than twice what setting its slots costs, and a loop over converters adds as much again; so the function
is spelled out field by field, as :mod:`dataclasses` itself does for ``__init__``. What it does is small: take
the columns of one row by name, make each field's value, set each slot.

Nothing that is written here holds a line break or a control sign; where a store that another program changed
holds one, it is read as what it is, so that no line of a listing can be forged.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, MutableMapping
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from functools import cache
from typing import Any, Protocol

from armrise.store.database.columns import Field, columns, fields_of, item_columns
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Absence, Day, Flag, Number, Series, Whole, Words, series_of
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.visible import on_one_line


class Build(Protocol):
    """Appends the object made of each row to ``into[case_id]``, a session with its exercises by its id."""

    def __call__(
        self, rows: Iterable[Any], into: MutableMapping[int, list[Any]], items: Mapping[int, list[DoneItem]]
    ) -> None: ...


class Days(dict[str, date]):
    """Dates by their ISO text; a caseload repeats the same few hundred."""

    def __missing__(self, text: str) -> date:
        found = self[text] = date.fromisoformat(text)
        return found


class Numbers(dict[tuple[int, int], Decimal]):
    """Decimal numbers by their digits and their count of decimals."""

    def __missing__(self, parts: tuple[int, int]) -> Decimal:
        found = self[parts] = Decimal(parts[0]).scaleb(-parts[1])
        return found


class Zones(dict[int, timezone]):
    """Fixed offsets by their minutes."""

    def __missing__(self, minutes: int) -> timezone:
        found = self[minutes] = timezone(timedelta(minutes=minutes))
        return found


_ABSENCE = {word.value: word for word in Absence}
_HEAD = {
    "id": "id",
    "on": "days[happened_on]",
    "recorded_at": "instant(recorded_at_utc / 1e6, zones[recorded_offset_minutes])",
    "recorded_on": "days[recorded_on]",
    "author": "author if author.isprintable() else on_one_line(author)",
    "source": 'source + ""',
    "history": "history == 1",
    "items": "tuple(items.get(id, ()))",
}


def _expression(field: Field) -> str:
    """The Python expression that makes a field's value out of its columns.

    Adding nothing to a text or a number costs next to nothing, and refuses a damaged value of another type.
    """
    name = field.name
    match field.rule:
        case Flag():
            return f"{name} == 1"
        case Day():
            value = f"days[{name}]"
        case Series():
            return f"series({name}) if {name} else ()"
        case Number():
            value = f"numbers[{name} | 0, {name}_decimals | 0]"
        case Whole():
            value = f"{name} | 0"
        case Words():
            value = f"({name} if {name}.isprintable() else on_one_line({name}))"
        case _:
            value = f'{name} + ""'
    absent = isinstance(field.rule, Whole | Number) and field.rule.absent
    if absent and field.null:
        other = f"(None if {name}_absence is None else absence[{name}_absence])"
    else:
        other = f"absence[{name}_absence]" if absent else "None"
    return f"{value} if {name} is not None else {other}" if absent or field.null else value


def _compile(record: type[Any], names: tuple[str, ...], group: str) -> Build:
    own = {field.name: _expression(field) for field in fields_of(record)}
    scope: dict[str, Any] = {
        "days": Days(),
        "numbers": Numbers(),
        "zones": Zones(),
        "absence": _ABSENCE,
        "instant": datetime.fromtimestamp,
        "series": series_of,
        "on_one_line": on_one_line,
        "new": object.__new__,
        "Record": record,
    }
    lines = [
        "def build(rows, into, items):",
        f"    for {', '.join(names)} in rows:",
        "        o = new(Record)",
    ]
    for item in dataclasses.fields(record):
        scope[f"set_{item.name}"] = getattr(record, item.name).__set__
        lines.append(f"        set_{item.name}(o, {own.get(item.name) or _HEAD[item.name]})")
    lines.append(f"        into[{group}].append(o)")
    exec("\n".join(lines), scope)
    return scope["build"]


@cache
def entry_builder(kind: str) -> Build:
    """The function that builds the entries of ``kind`` from rows of its columns."""
    return _compile(KINDS[kind], tuple(column.name for column in columns(kind)), "case_id")


@cache
def _one_item(*values: Any) -> DoneItem:
    """One exercise; a programme repeats the same few for weeks, and what is frozen may be shared."""
    found: dict[int, list[DoneItem]] = {0: []}
    _compile_item()([(0, 0, *values)], found, {})
    return found[0][0]


@cache
def _compile_item() -> Build:
    return _compile(DoneItem, tuple(column.name for column in item_columns()), "session_id")


def add_items(rows: Iterable[Any], into: MutableMapping[int, list[DoneItem]]) -> None:
    """Appends the exercise made of each row to ``into[session_id]``."""
    for session_id, _place, *values in rows:
        into[session_id].append(_one_item(*values))
