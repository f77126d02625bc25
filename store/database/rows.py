"""Frozen entries into rows: one function per kind, written out from its fields and compiled once.

The other way round of :mod:`armrise.store.database.builder`, and for its reason: a caseload file, the
demonstration among them, is thousands of entries, and asking each of their fields by which rule it is written
costs several times what writing it costs.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from functools import cache
from typing import Any

from armrise.store.database.columns import HEAD, ITEM_HEAD, Column, Field, columns_of, fields_of
from armrise.store.database.instants import EPOCH, MICROSECOND
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Absence, Day, Flag, Number, Series, Whole, series_text
from armrise.store.record.kinds.programme import DoneItem

Row = tuple[Any, ...]

_OF_THE_HEAD = {
    "id": "o.id",
    "case_id": "case_id",
    "happened_on": "o.on.isoformat()",
    "recorded_at_utc": "(o.recorded_at - EPOCH) // MICROSECOND",
    "recorded_offset_minutes": "(o.recorded_at.utcoffset() or NONE) // MINUTE",
    "recorded_on": "o.recorded_on.isoformat()",
    "author": "o.author",
    "source": "o.source",
    "history": "int(o.history)",
}
_OF_A_DRAFT = _OF_THE_HEAD | {
    "id": "number",
    "recorded_at_utc": "at",
    "recorded_offset_minutes": "offset",
    "recorded_on": "day",
    "author": "o.author or author",
}
_OF_AN_ITEM = {"session_id": "session_id", "place": "place"}


def _scaled(value: Decimal | None) -> tuple[int | None, int | None]:
    if value is None:
        return None, None
    exponent = value.as_tuple().exponent
    decimals = max(0, -exponent) if isinstance(exponent, int) else 0
    return int(value.scaleb(decimals)), decimals


_SCOPE: dict[str, Any] = {
    "EPOCH": EPOCH,
    "MICROSECOND": MICROSECOND,
    "MINUTE": timedelta(minutes=1),
    "NONE": timedelta(0),
    "Absence": Absence,
    "scaled": _scaled,
    "series": series_text,
}


def _expression(field: Field, value: str) -> str:
    """What the columns of a field hold, parted by commas; ``value`` is a name for what the field holds."""
    absent = isinstance(field.rule, Whole | Number) and field.rule.absent
    plain = f"(None if {value}.__class__ is Absence else {value})" if absent else value
    match field.rule:
        case Number():
            said = f"*scaled({plain})"
        case Flag():
            said = f"int({plain})"
        case Day():
            said = f"None if {plain} is None else {plain}.isoformat()"
        case Series():
            said = f"series({plain})"
        case _:
            said = plain
    return f"{said}, ({value}.value if {value}.__class__ is Absence else None)" if absent else said


def _compile(record: type[Any], given: str, head: tuple[Column, ...], of_head: dict[str, str]) -> Any:
    fields = fields_of(record)
    lines = [f"def row({given}):", *(f"    v{place} = o.{field.name}" for place, field in enumerate(fields))]
    parts = [of_head[column.name] for column in head]
    parts += [_expression(field, f"v{place}") for place, field in enumerate(fields)]
    lines.append(f"    return ({', '.join(parts)},)")
    scope = dict(_SCOPE)
    exec("\n".join(lines), scope)
    return scope["row"]


@cache
def row_maker(kind: str) -> Callable[[Any, int], Row]:
    """What makes the row of an entry of ``kind`` that has its id, given it and the id of its case.

    The values are those of :func:`armrise.store.database.columns.columns`.
    """
    return _compile(KINDS[kind], "o, case_id", HEAD, _OF_THE_HEAD)


@cache
def draft_row_maker(kind: str) -> Callable[[Any, int, int, int, int, str, str], Row]:
    """The same for a draft, given it, the id of its case, its own, and what recording states: the instant in
    microseconds UTC, its offset in minutes, the clinic date in ISO, the author where the draft names none.
    """
    return _compile(KINDS[kind], "o, case_id, number, at, offset, day, author", HEAD, _OF_A_DRAFT)


@cache
def item_row_maker() -> Callable[[DoneItem, int, int], Row]:
    """What makes the row of one exercise of a session, given it, the session's id and its place from 0."""
    return _compile(DoneItem, "o, session_id, place", ITEM_HEAD, _OF_AN_ITEM)


def defaults_of(record: type[Any]) -> dict[str, Any]:
    """What the columns of a record type hold in a row where the field was left out: its default."""
    given = {item.name: item.default for item in dataclasses.fields(record)}
    return {
        column.name: value
        for field in fields_of(record)
        if given[field.name] is not dataclasses.MISSING
        for column, value in zip(columns_of(field), _values(field, given[field.name]), strict=True)
        if value is not None
    }


def _values(field: Field, value: Any) -> Row:
    return eval(f"({_expression(field, 'value')},)", _SCOPE | {"value": value})
