"""The declared tables as SQLModel classes, with their keys, conditions, references and indexes.

History and marks are asked by them. Nothing that has to be quick imports them, a first entry as little as the
list: importing SQLModel takes half a second.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Index,
    Integer,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
)
from sqlmodel import Field, SQLModel

from armrise.store.database import declared

_TYPES: dict[str, tuple[type[Any], Any]] = {
    "whole": (int, Integer),
    "long": (int, BigInteger),
    "text": (str, Text),
    "flag": (bool, Boolean().with_variant(SmallInteger(), "postgresql")),
}


def _field(table: declared.Table, name: str) -> Any:
    """A column as it is declared."""
    column = next(column for column in table.columns if column.name == name)
    more: dict[str, Any] = {"default": None} if column.null else {}
    if name in table.refers:
        more["foreign_key"] = f"{table.refers[name]}.id"
    return Field(primary_key=name in table.key, nullable=column.null, sa_type=_TYPES[column.kind][1], **more)


def _more(table: declared.Table) -> tuple[Any, ...]:
    """What is declared of the table beside its columns."""
    return (
        *(CheckConstraint(condition) for condition in table.checks),
        *(UniqueConstraint(name) for name in table.unique),
        *(Index(name, *over) for name, over in table.indexes.items()),
    )


class Case(SQLModel, table=True):
    """One shoulder problem of one person, as registered."""

    __tablename__ = "cases"  # pyright: ignore[reportAssignmentType]
    __table_args__ = _more(declared.CASES)

    id: int = _field(declared.CASES, "id")
    code: str = _field(declared.CASES, "code")
    person: str = _field(declared.CASES, "person")
    side: str = _field(declared.CASES, "side")
    pathway: str = _field(declared.CASES, "pathway")
    clinician: str = _field(declared.CASES, "clinician")
    referrer: str = _field(declared.CASES, "referrer")
    registered_on: str = _field(declared.CASES, "registered_on")
    dominance: str | None = _field(declared.CASES, "dominance")
    age_band: str | None = _field(declared.CASES, "age_band")


class EntryLine(SQLModel, table=True):
    """The one sequence of ids over all kinds, and which entries were written together."""

    __tablename__ = "entry"  # pyright: ignore[reportAssignmentType]
    __table_args__ = _more(declared.ENTRY)

    id: int = _field(declared.ENTRY, "id")
    case_id: int = _field(declared.ENTRY, "case_id")
    kind: str = _field(declared.ENTRY, "kind")
    batch: int = _field(declared.ENTRY, "batch")
    recorded_at_utc: int = _field(declared.ENTRY, "recorded_at_utc")


class Mark(SQLModel, table=True):
    """A case that somebody has marked for themselves."""

    author: str = _field(declared.MARK, "author")
    code: str = _field(declared.MARK, "code")


def _class(table: declared.Table) -> None:
    """Make the class of a table out of what is declared."""
    annotations: dict[str, Any] = {}
    namespace: dict[str, Any] = {
        "__tablename__": table.name,
        "__table_args__": _more(table),
        "__module__": __name__,
        "__annotations__": annotations,
    }
    for column in table.columns:
        python_type = _TYPES[column.kind][0]
        annotations[column.name] = python_type | None if column.null else python_type
        namespace[column.name] = _field(table, column.name)
    class_name = "".join(word.capitalize() for word in table.name.split("_")) + "Row"
    type(SQLModel)(class_name, (SQLModel,), namespace, table=True)


for _declared in declared.tables():
    if _declared.name not in SQLModel.metadata.tables:
        _class(_declared)


def table_of(name: str) -> Table:
    """The table of that name, for statements over kinds of entries, which have no class of their own name."""
    return SQLModel.metadata.tables[name]
