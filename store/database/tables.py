"""The SQLModel table classes: one for each kind of entry, built from the record types.

They are imported for writing one entry at a time, and by nothing that has to be quick (importing SQLModel
takes half a second). The database is made by the migrations; a test proves that both name the same tables,
columns, types and nullability. Table classes do not validate: an entry is checked before it comes here, and
the CHECK conditions of the database stand behind that.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import BigInteger, Boolean, Integer, Text
from sqlalchemy.sql.type_api import TypeEngine
from sqlmodel import Field, SQLModel

from armrise.store.database import columns as layout
from armrise.store.record.kinds.every import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session

_TYPES: dict[str, tuple[type[Any], type[TypeEngine[Any]]]] = {
    "whole": (int, Integer),
    "long": (int, BigInteger),
    "text": (str, Text),
    "flag": (bool, Boolean),
}


class Case(SQLModel, table=True):
    """One shoulder problem of one person, as registered."""

    __tablename__ = "cases"  # pyright: ignore[reportAssignmentType]

    id: int = Field(primary_key=True)
    code: str = Field(sa_type=Text, unique=True)
    person: str = Field(sa_type=Text, index=True)
    side: str = Field(sa_type=Text)
    pathway: str = Field(sa_type=Text)
    clinician: str = Field(sa_type=Text)
    referrer: str = Field(sa_type=Text)
    registered_on: str = Field(sa_type=Text)
    dominance: str | None = Field(default=None, sa_type=Text)
    age_band: str | None = Field(default=None, sa_type=Text)


class EntryLine(SQLModel, table=True):
    """The one sequence of ids over all kinds, and which entries were written together."""

    __tablename__ = "entry"  # pyright: ignore[reportAssignmentType]

    id: int = Field(primary_key=True)
    case_id: int = Field(foreign_key="cases.id")
    kind: str = Field(sa_type=Text)
    batch: int
    recorded_at_utc: int = Field(sa_type=BigInteger)


class Setting(SQLModel, table=True):
    """One setting of the store."""

    name: str = Field(sa_type=Text, primary_key=True)
    value: str = Field(sa_type=Text)


class Look(SQLModel, table=True):
    """When somebody last looked at a case (microseconds UTC)."""

    author: str = Field(sa_type=Text, primary_key=True)
    code: str = Field(sa_type=Text, primary_key=True)
    at_utc: int = Field(sa_type=BigInteger)


class LeftDraft(SQLModel, table=True):
    """What was typed in a form and is not written yet."""

    __tablename__ = "draft"  # pyright: ignore[reportAssignmentType]

    author: str = Field(sa_type=Text, primary_key=True)
    code: str = Field(sa_type=Text, primary_key=True)
    form: str = Field(sa_type=Text, primary_key=True)
    at_utc: int = Field(sa_type=BigInteger)
    fields: str = Field(sa_type=Text)


class AppliedMigration(SQLModel, table=True):
    """One migration this file has been through."""

    __tablename__ = "migration"  # pyright: ignore[reportAssignmentType]

    version: int = Field(primary_key=True)
    name: str = Field(sa_type=Text)
    applied_at: str = Field(sa_type=Text)


def _table(
    name: str, columns: Iterable[layout.Column], key: tuple[str, ...], refers: dict[str, str]
) -> type[SQLModel]:
    """A table class of these columns, with its primary key and what its columns refer to."""
    annotations: dict[str, Any] = {}
    namespace: dict[str, Any] = {
        "__tablename__": name,
        "__module__": __name__,
        "__annotations__": annotations,
    }
    for column in columns:
        python_type, sql_type = _TYPES[column.kind]
        annotations[column.name] = python_type | None if column.null else python_type
        more: dict[str, Any] = {"default": None} if column.null else {}
        if column.name in refers:
            more["foreign_key"] = refers[column.name]
        namespace[column.name] = Field(primary_key=column.name in key, sa_type=sql_type, **more)
    class_name = "".join(word.capitalize() for word in name.split("_")) + "Row"
    return type(SQLModel)(class_name, (SQLModel,), namespace, table=True)


_REFERS = {"id": "entry.id", "case_id": "cases.id"}
_CORRECTION_REFERS = _REFERS | {"corrects": "entry.id", "replaced_by": "entry.id"}

ROWS: dict[str, type[SQLModel]] = {
    kind: _table(
        layout.table_name(kind),
        layout.columns(kind),
        ("id",),
        _CORRECTION_REFERS if kind == "correction" else _REFERS,
    )
    for kind in KINDS
}
"""The table class of each kind of entry."""

ItemRow = _table(
    layout.ITEM_TABLE, layout.item_columns(), ("session_id", "place"), {"session_id": "session.id"}
)


def rows_of(entry: Entry, case_id: int, batch: int) -> list[SQLModel]:
    """The rows that one entry with an id becomes: its line in the sequence, its own row, its exercises."""
    line = EntryLine(
        id=entry.id,
        case_id=case_id,
        kind=entry.KIND,
        batch=batch,
        recorded_at_utc=layout.micros(entry.recorded_at),
    )
    rows = [line, _row(ROWS[entry.KIND], layout.columns(entry.KIND), layout.row_of(entry, case_id))]
    if isinstance(entry, Session):
        rows += [
            _row(ItemRow, layout.item_columns(), layout.item_row_of(item, entry.id, place))
            for place, item in enumerate(entry.items)
        ]
    return rows


def _row(table: type[SQLModel], columns: tuple[layout.Column, ...], values: tuple[Any, ...]) -> SQLModel:
    return table(**{column.name: value for column, value in zip(columns, values, strict=True)})


__all__ = ["ROWS", "AppliedMigration", "Case", "EntryLine", "ItemRow", "Setting", "rows_of"]
