"""Writes out the SQL that the record types call for: ``python -m armrise.store.database.draft``.

A helper for whoever writes the next migration: compare it with the schema the migrations make, and write the
difference as a new numbered file. Nothing at run time uses it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from armrise.store.database.columns import (
    ITEM_TABLE,
    Column,
    Field,
    columns,
    fields_of,
    item_columns,
    table_name,
)
from armrise.store.record.case import AGE_BANDS
from armrise.store.record.fields import Absence, Choice, Day, Flag, Number, Rule, Series, Whole, Words
from armrise.store.record.kinds.every import KINDS
from armrise.store.record.kinds.head import SIDES, SOURCES
from armrise.store.record.kinds.programme import DoneItem

SQL_TYPES = {"whole": "INTEGER", "long": "BIGINT", "text": "TEXT", "flag": "BOOLEAN"}
_DAY = "LIKE '____-__-__'"
_SCALE = 'CASE "{0}_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END'
SERIES_PLACE = 8
"""The room a number of a series takes at most, with the blank after it."""

_HEAD_CHECKS = (
    f'"happened_on" {_DAY}',
    '"recorded_offset_minutes" BETWEEN -900 AND 900',
    f'"recorded_on" {_DAY}',
    'length("author") <= 60',
    '"history" IN (0, 1)',
)


def one_of(name: str, words: Iterable[str]) -> str:
    """The condition that a column holds one of the words."""
    listed = ["'" + word.replace("'", "''") + "'" for word in words]
    line = f'"{name}" IN ({", ".join(listed)})'
    if len(line) < 100:
        return line
    column = ",\n        ".join(listed)
    return f'"{name}" IN (\n        {column}\n    )'


def _absence_checks(field: Field) -> Iterator[str]:
    name = field.name
    yield one_of(f"{name}_absence", (word.value for word in Absence))
    if field.null:
        yield f'"{name}" IS NULL OR "{name}_absence" IS NULL'
    else:
        yield f'("{name}" IS NULL) <> ("{name}_absence" IS NULL)'


def _number_checks(name: str, rule: Number) -> Iterator[str]:
    scale = _SCALE.format(name)
    yield f'"{name}_decimals" BETWEEN 0 AND {rule.places}'
    yield f'("{name}" IS NULL) = ("{name}_decimals" IS NULL)'
    yield f'"{name}" BETWEEN {rule.low} * {scale} AND {rule.high} * {scale}'


def _plain_check(name: str, rule: Rule) -> str:
    match rule:
        case Whole():
            return f'"{name}" BETWEEN {rule.low} AND {rule.high}'
        case Choice():
            return one_of(name, rule.words)
        case Words():
            return f'length("{name}") BETWEEN {rule.shortest} AND {rule.longest}'
        case Series():
            return f'length("{name}") <= {rule.most * SERIES_PLACE}'
        case Day():
            return f'"{name}" {_DAY}'
        case Flag():
            return f'"{name}" IN (0, 1)'
        case _:
            raise TypeError(f"{name}: no condition for {rule!r}")


def checks(field: Field) -> Iterator[str]:
    """The conditions that the columns of one field must meet."""
    if isinstance(field.rule, Number):
        yield from _number_checks(field.name, field.rule)
    else:
        yield _plain_check(field.name, field.rule)
    if isinstance(field.rule, Whole | Number) and field.rule.absent:
        yield from _absence_checks(field)


def _column(column: Column, more: str = "") -> str:
    return f'"{column.name}" {SQL_TYPES[column.kind]}{"" if column.null else " NOT NULL"}{more}'


def _table(name: str, lines: Iterable[str], conditions: Iterable[str]) -> str:
    body = ",\n    ".join([*lines, *(f"CHECK ({condition})" for condition in conditions)])
    return f'CREATE TABLE "{name}" (\n    {body}\n);\n'


_REFERENCES = {
    "id": ' PRIMARY KEY REFERENCES "entry" ("id")',
    "case_id": ' REFERENCES "cases" ("id")',
    "corrects": ' REFERENCES "entry" ("id")',
    "replaced_by": ' REFERENCES "entry" ("id")',
}


def _entry_table(kind: str) -> Iterator[str]:
    name = table_name(kind)
    lines = [_column(column, _REFERENCES.get(column.name, "")) for column in columns(kind)]
    own = [check for field in fields_of(KINDS[kind]) for check in checks(field)]
    yield _table(name, lines, [*_HEAD_CHECKS, one_of("source", SOURCES), *own])
    yield f'CREATE INDEX "{name}_of_case" ON "{name}" ("case_id", "happened_on", "id");\n'


def _item_table() -> str:
    reference = {"session_id": ' REFERENCES "session" ("id")'}
    lines = [_column(column, reference.get(column.name, "")) for column in item_columns()]
    own = [check for field in fields_of(DoneItem) for check in checks(field)]
    return _table(
        ITEM_TABLE, [*lines, 'PRIMARY KEY ("session_id", "place")'], ['"place" BETWEEN 0 AND 99', *own]
    )


def _case_table() -> Iterator[str]:
    wanted = ("code", "person", "side", "pathway", "clinician", "referrer", "registered_on")
    lines = ['"id" INTEGER NOT NULL PRIMARY KEY', *(f'"{name}" TEXT NOT NULL' for name in wanted)]
    lines += ['"dominance" TEXT', '"age_band" TEXT', 'UNIQUE ("code")']
    yield _table(
        "cases",
        lines,
        [
            'length("code") BETWEEN 1 AND 24',
            'length("person") BETWEEN 1 AND 24',
            one_of("side", SIDES),
            'length("pathway") BETWEEN 1 AND 8',
            one_of("dominance", ("left", "right", "both")),
            one_of("age_band", AGE_BANDS),
            f'"registered_on" {_DAY}',
        ],
    )
    yield 'CREATE INDEX "cases_of_person" ON "cases" ("person");\n'


def _sequence_table() -> Iterator[str]:
    yield "-- One line for every entry of any kind: the one increasing sequence of ids.\n"
    yield "-- Entries of one batch were written together; batch 0 was taken from a file.\n"
    yield _table(
        "entry",
        [
            '"id" INTEGER NOT NULL PRIMARY KEY',
            '"case_id" INTEGER NOT NULL REFERENCES "cases" ("id")',
            '"kind" TEXT NOT NULL',
            '"batch" INTEGER NOT NULL',
            '"recorded_at_utc" BIGINT NOT NULL',
        ],
        [one_of("kind", KINDS), '"batch" BETWEEN 0 AND "id"'],
    )
    yield 'CREATE INDEX "entry_of_case" ON "entry" ("case_id", "id");\n'
    yield 'CREATE INDEX "entry_recorded" ON "entry" ("recorded_at_utc");\n'


def _desk_tables() -> Iterator[str]:
    """What lies on the desk and is no record: forms not yet written, and when somebody last looked."""
    keys = ['"author" TEXT NOT NULL', '"code" TEXT NOT NULL']
    stamp = '"at_utc" BIGINT NOT NULL'
    yield _table("look", [*keys, stamp, 'PRIMARY KEY ("author", "code")'], [])
    form = ['"form" TEXT NOT NULL', stamp, '"fields" TEXT NOT NULL', 'PRIMARY KEY ("author", "code", "form")']
    yield _table("draft", [*keys, *form], [])


def statements() -> Iterator[str]:
    """Every table and index, in an order in which each may refer to those before it."""
    yield "-- What the record types call for now. A released migration is frozen: write what differs.\n"
    yield _table("setting", ['"name" TEXT NOT NULL PRIMARY KEY', '"value" TEXT NOT NULL'], [])
    stamps = ['"version" INTEGER NOT NULL PRIMARY KEY', '"name" TEXT NOT NULL', '"applied_at" TEXT NOT NULL']
    yield _table("migration", stamps, [])
    yield from _desk_tables()
    yield from _case_table()
    yield from _sequence_table()
    for kind in KINDS:
        yield from _entry_table(kind)
    yield 'CREATE INDEX "correction_of_entry" ON "correction" ("corrects");\n'
    yield _item_table()


if __name__ == "__main__":
    print("\n".join(statements()), end="")
