"""One step that makes the schema of a new store, or brings an older store up to it.

What stands in the file is compared with what is declared: a table that is missing is made, one that differs
is made anew with its rows, since SQLite changes no condition in place. All of it is one transaction with its
stamp, applied whole or not at all. The file's version is kept twice, as SQLite's ``user_version`` (read
before anything else is trusted) and as a line in the table ``migration``.

Every opening asks for :data:`SCHEMA`, hardly one for more: what is declared is imported by whoever does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.store.database import sqlite
from armrise.store.database.driver import Connection, Dialect, StoreError
from armrise.store.record.clock import utc_now

if TYPE_CHECKING:
    from armrise.store.database.declared import Table

SCHEMA = 6
"""The schema this program writes and the newest it reads: one more with every change of what is declared, so
that a store is known to be up to date without looking at its tables."""


def migrate(connection: Connection, dialect: Dialect = sqlite) -> bool:
    """Bring an open store to :data:`SCHEMA`; False when it is there already."""
    with dialect.unwatched(connection):
        dialect.begin(connection, writing=True)
        try:
            found = dialect.schema_version(connection)
            if found < SCHEMA:  # else another process was quicker
                _bring_up(connection, dialect, found)
            connection.commit()
        except BaseException:
            connection.rollback()
            raise
    return found < SCHEMA


def tables() -> tuple[Table, ...]:
    """Every table that is declared, each after those it refers to."""
    from armrise.store.database.declared import tables as every

    return every()


def declared(dialect: Dialect) -> dict[str, str]:
    """The statement of every table, index and guard of a store of :data:`SCHEMA`, by its name."""
    made: dict[str, str] = {}
    for table in tables():
        made |= {table.name: dialect.create(table)} | table.create_indexes() | _guards(dialect, table)
    return made


def _guards(dialect: Dialect, table: Table) -> dict[str, str]:
    return dialect.guards(table.name, table.keys()) if table.guarded else {}


def _take_from_settings(connection: Connection, dialect: Dialect) -> None:
    """Up to schema 4 what may change stood among the settings."""
    from armrise.store.database.declared import REMEMBERED, SETTINGS

    dialect.put_table(connection, REMEMBERED.name, dialect.create(REMEMBERED))
    kept = ", ".join("?" * len(SETTINGS))
    moved = f"FROM setting WHERE name NOT IN ({kept})"
    connection.execute(f"INSERT INTO remembered (name, value) SELECT name, value {moved}", SETTINGS)
    connection.execute(f"DELETE {moved}", SETTINGS)


def _bring_up(connection: Connection, dialect: Dialect, found: int) -> None:
    from armrise.store.database import chain

    if 0 < found < 5:
        _take_from_settings(connection, dialect)
    make_tables(connection, dialect)
    if found and chain.head_of(connection) is None:
        chain.begin(connection, chain.BEGUN)
    if broken := dialect.broken_reference(connection):
        raise StoreError(f"the table {broken} refers to what is not there: restore a backup")
    stamp = (SCHEMA, f"from schema {found}" if found else "made", utc_now().isoformat(timespec="seconds"))
    connection.execute("INSERT INTO migration (version, name, applied_at) VALUES (?, ?, ?)", stamp)
    dialect.set_schema_version(connection, SCHEMA)


def make_tables(connection: Connection, dialect: Dialect) -> None:
    """Make what is declared and not there, or there as another schema had it, inside a transaction."""
    there = dialect.definitions(connection)
    for table in tables():
        create = dialect.create(table)
        if table.name not in there:
            dialect.put_table(connection, table.name, create)
        elif there[table.name] != create:
            dialect.rebuild(connection, table.name, create, table.defaults)
    there = dialect.definitions(connection)  # what was made anew has lost its indexes and guards
    for table in tables():
        for name, statement in table.create_indexes().items():
            if there.get(name) != statement:
                dialect.put_index(connection, name, statement)
        for name, statement in _guards(dialect, table).items():
            if there.get(name) != statement:
                dialect.put_guard(connection, table.name, name, statement)
