"""The tables of a store, declared once, with their keys, conditions, references and indexes.

From here come both the statements that make a store and the SQLModel classes that write to it. The statements
are written out in plain text because the demonstration makes a store before its first rows are painted, and
importing SQLModel takes longer than all the rest; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from armrise.store.database.columns import (
    ITEM_TABLE,
    Column,
    columns,
    fields_of,
    item_columns,
    table_name,
)
from armrise.store.database.conditions import DAY, checks, one_of
from armrise.store.database.rows import defaults_of
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.head import AGE_BANDS, CODE_LONGEST, HANDS, SIDES, SOURCES
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.light import NamedTuple

SQL_TYPES = {"whole": "INTEGER", "long": "BIGINT", "text": "TEXT", "flag": "BOOLEAN"}


class Spelling(NamedTuple):
    """How one kind of database writes what is declared: its types, and conditions it has other words for."""

    types: Mapping[str, str]
    conditions: Mapping[str, str] = {}


SQLITE = Spelling(SQL_TYPES)


class Table(NamedTuple):
    """One table: what stands in it, and what the database refuses in it."""

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    checks: tuple[str, ...] = ()
    refers: Mapping[str, str] = {}
    """The table whose id a column names."""
    unique: tuple[str, ...] = ()
    indexes: Mapping[str, tuple[str, ...]] = {}
    defaults: Mapping[str, Any] = {}
    """What rows written before a column was declared hold in it, where that is not NULL."""
    guarded: bool = True
    """What is recorded in it is never changed or deleted."""

    def create(self, spelling: Spelling = SQLITE) -> str:
        """The statement that makes the table, as SQLite keeps it or in another spelling."""
        lines = [self.line(column, spelling) for column in self.columns]
        if len(self.key) > 1:
            lines.append(f"PRIMARY KEY ({_quoted(self.key)})")
        lines += [f'UNIQUE ("{name}")' for name in self.unique]
        body = ",\n    ".join([*lines, *(f"CHECK ({condition})" for condition in self.conditions(spelling))])
        return f'CREATE TABLE "{self.name}" (\n    {body}\n)'

    def conditions(self, spelling: Spelling = SQLITE) -> tuple[str, ...]:
        """What must hold of every row."""
        found = self.checks
        for words, others in spelling.conditions.items():
            found = tuple(condition.replace(words, others) for condition in found)
        return found

    def line(self, column: Column, spelling: Spelling = SQLITE) -> str:
        """How a column is declared, with its key and its reference."""
        parts = [f'"{column.name}"', spelling.types[column.kind], *(() if column.null else ("NOT NULL",))]
        if self.key == (column.name,):
            parts.append("PRIMARY KEY")
        if column.name in self.refers:
            parts.append(f'REFERENCES "{self.refers[column.name]}" ("id")')
        return " ".join(parts)

    def keys(self) -> tuple[tuple[str, ...], ...]:
        """The columns that, taken together, stand for one row."""
        return (self.key, *((name,) for name in self.unique))

    def create_indexes(self) -> dict[str, str]:
        """The statements that make its indexes, by their names."""
        return {
            name: f'CREATE INDEX "{name}" ON "{self.name}" ({_quoted(over)})'
            for name, over in self.indexes.items()
        }


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def _texts(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, "text") for name in names)


SETTINGS = ("zone", "fictional", "created", "clinic date", "author", "lasting")
"""What is settled when a store is made, and never again: the days of every entry are counted by it."""

SETTING = Table("setting", _texts("name", "value"), ("name",), (one_of("name", SETTINGS),))

MIGRATION = Table(
    "migration",
    (Column("version", "whole"), *_texts("name", "applied_at")),
    ("version",),
    ('"version" >= 1',),
)
"""The schemas this file has been brought up to."""

REMEMBERED = Table("remembered", _texts("name", "value"), ("name",), guarded=False)
"""On the desk, and no record: what may change, as the day of the last backup and the clinic's views."""

LINK_ABOUT = ("made", "begun", "action", "file")
"""What a link covers: a store just made, what was there when the chain was begun, one action, or what of a
caseload file was new."""

LINK = Table(
    "link",
    (
        Column("number", "whole"),
        Column("at_utc", "long"),
        *_texts("about"),
        Column("cases", "whole"),
        Column("entries", "whole"),
        *_texts("hash"),
    ),
    ("number",),
    ('"number" >= 1', one_of("about", LINK_ABOUT), 'length("hash") = 64'),
    indexes={"link_about": ("about",)},
)
"""The chain: every action ends with a link over what it wrote and over the link before it.

A link over a file says when it came: the entries and cases up to it, and over those of the link before. The
file that filled an empty store is the record itself, moved: it was known as it was recorded. What came later
was known here from then on.
"""

LOOK = Table("look", (*_texts("author", "code"), Column("at_utc", "long")), ("author", "code"), guarded=False)
"""On the desk, and no record: when somebody last looked at a case."""

MARK = Table("mark", _texts("author", "code"), ("author", "code"), guarded=False)
"""On the desk, and no record: the cases somebody has marked for themselves."""

DRAFT = Table(
    "draft",
    (*_texts("author", "code", "form"), Column("at_utc", "long"), *_texts("fields")),
    ("author", "code", "form"),
    guarded=False,
)
"""On the desk, and no record: forms not written yet."""

CASES = Table(
    "cases",
    (
        Column("id", "whole"),
        *_texts("code", "person", "side", "pathway", "clinician", "referrer", "registered_on"),
        Column("dominance", "text", null=True),
        Column("age_band", "text", null=True),
    ),
    ("id",),
    (
        f'length("code") BETWEEN 1 AND {CODE_LONGEST}',
        'length("person") BETWEEN 1 AND 24',
        one_of("side", SIDES),
        'length("pathway") BETWEEN 1 AND 8',
        one_of("dominance", HANDS),
        one_of("age_band", AGE_BANDS),
        f'"registered_on" {DAY}',
    ),
    unique=("code",),
    indexes={"cases_of_person": ("person",)},
)

ENTRY = Table(
    "entry",
    (
        Column("id", "whole"),
        Column("case_id", "whole"),
        Column("kind", "text"),
        Column("batch", "whole"),
        Column("recorded_at_utc", "long"),
    ),
    ("id",),
    (one_of("kind", KINDS), '"batch" BETWEEN 0 AND "id"'),
    {"case_id": "cases"},
    indexes={
        "entry_of_case": ("case_id", "id"),
        "entry_of_case_recorded": ("case_id", "recorded_at_utc"),
        "entry_recorded": ("recorded_at_utc",),
    },
)
"""One line for every entry of any kind: the one increasing sequence of ids.

Entries of one batch were written together; batch 0 came in a file that knows no actions.
"""

_HEAD_CHECKS = (
    f'"happened_on" {DAY}',
    '"recorded_offset_minutes" BETWEEN -900 AND 900',
    f'"recorded_on" {DAY}',
    'length("author") <= 60',
    '"history" IN (0, 1)',
    one_of("source", SOURCES),
)


def _own_checks(record: type[Any]) -> tuple[str, ...]:
    return tuple(check for field in fields_of(record) for check in checks(field))


def _kind_table(kind: str) -> Table:
    """The table of one kind of entry."""
    name = table_name(kind)
    refers = {"id": "entry", "case_id": "cases"}
    indexes: dict[str, tuple[str, ...]] = {f"{name}_of_case": ("case_id", "happened_on", "id")}
    if kind == "correction":
        refers |= {"corrects": "entry", "replaced_by": "entry"}
        indexes["correction_of_entry"] = ("corrects",)
    return Table(
        name,
        columns(kind),
        ("id",),
        (*_HEAD_CHECKS, *_own_checks(KINDS[kind])),
        refers,
        indexes=indexes,
        defaults=defaults_of(KINDS[kind]),
    )


@cache
def tables() -> tuple[Table, ...]:
    """Every table, each after those it refers to."""
    items = Table(
        ITEM_TABLE,
        item_columns(),
        ("session_id", "place"),
        ('"place" BETWEEN 0 AND 99', *_own_checks(DoneItem)),
        {"session_id": "session"},
        defaults=defaults_of(DoneItem),
    )
    kinds = (_kind_table(kind) for kind in KINDS)
    return (REMEMBERED, SETTING, MIGRATION, LINK, LOOK, MARK, DRAFT, CASES, ENTRY, *kinds, items)
