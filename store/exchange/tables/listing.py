"""The list as a table: a row a case, in its order, with what ``armrise list --json`` says of it.

The columns follow from the schema of that output. What has parts has a column for each, as ``review_due``;
several lines of one kind share a cell, one behind the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

from armrise.store.clinic.case.standing import Standing
from armrise.store.exchange.out.listing import as_json
from armrise.store.exchange.out.schema import Schema
from armrise.store.exchange.out.schema_outputs import list_schema
from armrise.store.exchange.tables.cells import ANY, day, number, whole
from armrise.store.exchange.tables.records import first_column, told_format
from armrise.store.exchange.tables.table import Column, Table
from armrise.store.record.light import NamedTuple

LIST = "list"
BETWEEN = " | "
"""Between several lines in one cell."""
TELLING = ("sentence", "text", "say")
"""The field that tells an object of a list in words."""


class Leaf(NamedTuple):
    """A value of the output: the names that lead to it, and its schema."""

    path: tuple[str, ...]
    schema: Schema
    empty: bool
    """Whether what holds it may be missing."""

    @property
    def name(self) -> str:
        return "_".join(self.path)


def list_table(standings: Sequence[Standing]) -> Table:
    """The list as a table."""
    leaves, told = list_leaves(), told_format(LIST)
    rows = ((told, *(cell(row, leaf) for leaf in leaves)) for row in as_json(standings))
    return Table(LIST, list_columns(), rows)


def list_columns() -> tuple[Column, ...]:
    """The columns of the list."""
    columns = (Column(leaf.name, _as_text(leaf), _meaning(leaf.schema)) for leaf in list_leaves())
    return (first_column(LIST), *columns)


def list_leaves() -> list[Leaf]:
    """Every value of a case of the list."""
    case = list_schema()["properties"]["cases"]["items"]
    return [*_leaves(case["properties"], ())]


def _leaves(properties: Mapping[str, Schema], above: tuple[str, ...], empty: bool = False) -> Iterator[Leaf]:
    for name, schema in properties.items():
        inner = _object(schema)
        if inner is None:
            yield Leaf((*above, name), schema, empty)
        else:
            yield from _leaves(inner, (*above, name), empty or "anyOf" in schema)


def _object(schema: Schema) -> Mapping[str, Schema] | None:
    """The fields of an object, or of one that may be missing; None for anything else."""
    one = next((s for s in schema.get("anyOf", [schema]) if "properties" in s), None)
    return one["properties"] if one else None


def cell(row: Mapping[str, Any], leaf: Leaf) -> Any:
    """The value of a cell."""
    found: Any = row
    for name in leaf.path:
        found = None if found is None else cast("Mapping[str, Any]", found)[name]
    return in_words(cast("Sequence[Any]", found)) if isinstance(found, list) else found


def in_words(lines: Sequence[Any]) -> str | None:
    """Several lines in one cell; of objects what tells them in words. None: there is none."""
    said = (line if isinstance(line, str) else _told(line) for line in lines)
    return BETWEEN.join(said) or None


def _told(line: Any) -> str:
    if not isinstance(line, Mapping):
        return str(line)
    told = cast("Mapping[str, Any]", line)
    name = next((name for name in TELLING if name in told), None)
    said = str(told[name]) if name else ", ".join(f"{key} {value}" for key, value in told.items())
    return f"{told['state']}: {said}" if "state" in told else said


def _as_text(leaf: Leaf) -> Schema:
    """What the cell holds as text."""
    kinds = leaf.schema.get("anyOf", [leaf.schema])
    empty = leaf.empty or any(kind.get("type") == "null" for kind in kinds)
    said = [word for kind in kinds for word in kind.get("enum", ())]
    types = {kind.get("type") for kind in kinds}
    if any(kind.get("format") == "date" for kind in kinds):
        return day(empty=empty)
    if "integer" in types and not said:
        return whole(empty=empty)
    if "number" in types:
        return number(empty=empty)
    if said and types <= {None, "null"}:
        return {"enum": [*said, ""] if empty else said}
    return ANY


def _meaning(schema: Schema) -> str:
    return schema.get("description", "")
