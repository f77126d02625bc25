"""Everything recorded as tables, one for each kind of entry: columns follow from its declaration."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from armrise.store.entries.build import COMMON, HEAD, HEAD_REQUIRED, FieldRule, field_rules
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.out.formats import format_of
from armrise.store.exchange.out.schema import Schema, flat, meanings
from armrise.store.exchange.out.schema_caseload import SAY_ON, SAY_WRITTEN_WITH
from armrise.store.exchange.tables.cells import ANY, INSTANT, day, of_rule, whole
from armrise.store.exchange.tables.table import FIRST, Column, Row, Table
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Children
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.known import withdrawn_ids

CASES = "case"
SAY_ENTRY = "the number of the entry: its place in the order of writing, over all cases written out"
SAY_NUMBER_OF = "the number of an entry of the same case"


def first_column(name: str) -> Column:
    """The column that says in every row what the table is."""
    return Column(FIRST, {"const": told_format(name)}, "form, version and table")


def told_format(name: str) -> str:
    """Form and version of a table, such as "csv 1 visit"."""
    return f"{format_of('csv').removeprefix('armrise ')} {name}"


def part_name(kind: str, field: str) -> str:
    """The table of the parts of an entry, such as "session items"."""
    return f"{kind} {field}"


def record_tables(made: CaseloadFile) -> Iterator[Table]:
    """The cases, then every kind of entry with its parts, those without any too."""
    yield Table(CASES, case_columns(), (_case_row(case) for case in made.cases))
    for kind, of in KINDS.items():
        yield Table(kind, entry_columns(kind), _entry_rows(made, of))
        for spec in part_fields(of):
            yield Table(part_name(kind, spec.name), part_columns(kind, spec), _part_rows(made, of, spec))


def part_fields(of: type) -> list[FieldRule]:
    """The fields of a kind that hold parts: they have a table of their own."""
    return [spec for spec in field_rules(of) if isinstance(spec.rule, Children)]


def _parts(spec: FieldRule) -> type:
    assert isinstance(spec.rule, Children)
    return spec.rule.of


def _cell_fields(of: type) -> list[FieldRule]:
    return [spec for spec in field_rules(of) if not isinstance(spec.rule, Children)]


# --- columns ------------------------------------------------------------------------------------------------


def case_columns() -> tuple[Column, ...]:
    """What was said of a case when it was registered."""
    head = (Column(name, of_rule(rule, name in HEAD_REQUIRED)) for name, rule in HEAD.items())
    return (first_column(CASES), Column("case", ANY, "its code"), *head)


def entry_columns(kind: str) -> tuple[Column, ...]:
    """What every entry states, then the fields of the kind."""
    return (*_common_columns(kind), *_field_columns(KINDS[kind]))


def part_columns(kind: str, spec: FieldRule) -> tuple[Column, ...]:
    """To which entry a part belongs and in which place, then its fields."""
    return (
        first_column(part_name(kind, spec.name)),
        Column("case", ANY, "its code"),
        Column("entry", whole(), f"the number of its {kind}"),
        Column("place", whole(), "from 1, in the order in which they were told"),
        *_field_columns(_parts(spec)),
    )


def _common_columns(kind: str) -> tuple[Column, ...]:
    return (
        first_column(kind),
        Column("case", ANY, "its code"),
        Column("entry", whole(), SAY_ENTRY),
        Column("on", day(), SAY_ON),
        Column("recorded", INSTANT, "the instant of the recording, with its offset"),
        Column("recorded_on", day(), "the clinic date of that instant"),
        *(Column(name, of_rule(rule, name != "author")) for name, rule in COMMON.items() if name != "on"),
        Column("written_with", whole(empty=True), SAY_WRITTEN_WITH),
        Column("withdrawn_by", whole(empty=True), "the number of the correction that withdrew it"),
    )


def _field_columns(of: type) -> Iterator[Column]:
    say = meanings(of)
    for spec in _cell_fields(of):
        unit = getattr(spec.rule, "unit", "")
        told = ". ".join(part for part in (unit, say.get(spec.name, "")) if part)
        allowed: Schema = of_rule(spec.rule, spec.required or spec.default is not None)
        if _points(of, spec.name):
            allowed, told = whole(empty=not spec.required), SAY_NUMBER_OF
        yield Column(spec.name, allowed, flat(told))


def _points(of: type, name: str) -> bool:
    return of is Correction and name in ("corrects", "replaced_by")


# --- rows ---------------------------------------------------------------------------------------------------


def _case_row(case: FileCase) -> Row:
    head = case.head
    told = (getattr(head, "registered_on" if name == "registered" else name) for name in HEAD)
    return (told_format(CASES), head.code, *told)


def _entry_rows(made: CaseloadFile, of: type[Entry]) -> Iterator[Row]:
    names = [spec.name for spec in _cell_fields(of)]
    for case in made.cases:
        gone = _withdrawn(case)
        for place, entry in enumerate(case.entries, 1):
            if type(entry) is of:
                values = (_value(case, entry, name) for name in names)
                yield (*_common_cells(case, entry, place, gone), *values)


def _common_cells(case: FileCase, entry: Entry, place: int, gone: Mapping[int, int]) -> Row:
    return (
        told_format(entry.KIND),
        case.head.code,
        _number(case, place),
        entry.on,
        entry.recorded_at,
        entry.recorded_on,
        *(getattr(entry, name) for name in COMMON if name != "on"),
        (case.actions[place - 1] or None) if case.actions else None,
        gone.get(place),
    )


def _part_rows(made: CaseloadFile, of: type[Entry], spec: FieldRule) -> Iterator[Row]:
    told, names = told_format(part_name(of.KIND, spec.name)), [own.name for own in _cell_fields(_parts(spec))]
    for case in made.cases:
        for place, entry in enumerate(case.entries, 1):
            if type(entry) is of:
                for nth, part in enumerate(getattr(entry, spec.name), 1):
                    values = (getattr(part, name) for name in names)
                    yield (told, case.head.code, _number(case, place), nth, *values)


def _value(case: FileCase, entry: Entry, name: str) -> Any:
    value = getattr(entry, name)
    if _points(type(entry), name):  # by its place in the case: a table tells its number
        return None if value is None else _number(case, value)
    return value


def _number(case: FileCase, place: int) -> int:
    return case.numbers[place - 1] if case.numbers else place


def _withdrawn(case: FileCase) -> Mapping[int, int]:
    """By the place of each entry that is withdrawn the number of what withdrew it."""
    said = [
        replace(entry, id=place)
        for place, entry in enumerate(case.entries, 1)
        if isinstance(entry, Correction)
    ]
    gone = withdrawn_ids(said)
    return {one.corrects: _number(case, one.id) for one in said if one.id not in gone}
