"""How an entry lies in the database: the columns of each kind, worked out from the record types alone.

The tables, the reader and both ways of writing use these columns, so that a field of a record is named, typed
and ordered in one place.

* A date is ISO text. An instant is microseconds since 1970 UTC, with the offset of its clock in minutes.
* A number with decimals is a whole number and the count of its decimals (12.50 is 1250 and 2), because a
  floating number would not come back as it was written.
* A series of numbers is one line of text.
* A value that may be absent is two columns: the value, and the word that says why it is not there.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import cache
from typing import Any

from armrise.store.record.case import KINDS
from armrise.store.record.fields import Children, Flag, Number, Rule, Whole
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.light import NamedTuple, annotated

ITEM_TABLE = "session_item"


class Column(NamedTuple):
    """One column: ``kind`` is "whole", "long" (a number past 32 bits), "text" or "flag"."""

    name: str
    kind: str
    null: bool = False


HEAD = (
    Column("id", "whole"),
    Column("case_id", "whole"),
    Column("happened_on", "text"),
    Column("recorded_at_utc", "long"),
    Column("recorded_offset_minutes", "whole"),
    Column("recorded_on", "text"),
    Column("author", "text"),
    Column("source", "text"),
    Column("history", "flag"),
)
"""What every kind begins with, in this order."""

ITEM_HEAD = (Column("session_id", "whole"), Column("place", "whole"))


def table_name(kind: str) -> str:
    """The table of a kind of entry: the kind's word with underscores."""
    return kind.replace(" ", "_")


class Field(NamedTuple):
    """A field of a record type beside its rule and whether it may be empty (None)."""

    name: str
    rule: Rule
    null: bool


@cache
def fields_of(record: type[Any]) -> tuple[Field, ...]:
    """The fields that a record type adds to the common head, children left out."""
    found: list[Field] = []
    for item in dataclasses.fields(record):
        rule = item.metadata.get("rule")
        if rule is not None and not isinstance(rule, Children):
            said, _ = annotated(record, item.name)
            found.append(Field(item.name, rule, said.endswith("| None")))
    return tuple(found)


def columns_of(field: Field) -> Iterator[Column]:
    """The columns of one field, in their order."""
    name, rule, null = field
    absent = isinstance(rule, Whole | Number) and rule.absent
    match rule:
        case Whole():
            yield Column(name, "long" if rule.high >= 2**31 else "whole", null or absent)
        case Number():
            yield Column(name, "whole", null or absent)
            yield Column(f"{name}_decimals", "whole", null or absent)
        case Flag():
            yield Column(name, "flag", null)
        case _:
            yield Column(name, "text", null)
    if absent:
        yield Column(f"{name}_absence", "text", True)


@cache
def columns(kind: str) -> tuple[Column, ...]:
    """Every column of the table of ``kind``, in the order of the table."""
    own = (column for field in fields_of(KINDS[kind]) for column in columns_of(field))
    return (*HEAD, *own)


@cache
def item_columns() -> tuple[Column, ...]:
    """Every column of the table of a session's exercises."""
    own = (column for field in fields_of(DoneItem) for column in columns_of(field))
    return (*ITEM_HEAD, *own)
