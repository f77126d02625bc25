"""One step that makes the schema of a new store, or brings an older store up to it.

What stands in the file is compared with what is declared: a table that is missing is made, one that differs
is made anew with its rows, since SQLite changes no condition in place. All of it is one transaction with its
stamp, applied whole or not at all. The file's version is kept twice, as SQLite's ``user_version`` (read
before anything else is trusted) and as a line in the table ``migration``.
"""

from __future__ import annotations

from armrise.store.database import sqlite
from armrise.store.database.declared import tables
from armrise.store.database.driver import Connection, Dialect, StoreError
from armrise.store.record.clock import utc_now

SCHEMA = 4
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


def _bring_up(connection: Connection, dialect: Dialect, found: int) -> None:
    there = dialect.definitions(connection)
    for table in tables():
        if table.name not in there:
            connection.execute(table.create())
        elif there[table.name] != table.create():
            dialect.rebuild(connection, table.name, table.create(), table.defaults)
    there = dialect.definitions(connection)  # what was made anew has lost its indexes and guards
    for table in tables():
        for name, statement in table.create_indexes().items():
            if there.get(name) != statement:
                connection.execute(f'DROP INDEX IF EXISTS "{name}"')
                connection.execute(statement)
        if table.guarded:
            dialect.guard(connection, table.name)
    if broken := dialect.broken_reference(connection):
        raise StoreError(f"the table {broken} refers to what is not there: restore a backup")
    stamp = (SCHEMA, f"from schema {found}" if found else "made", utc_now().isoformat(timespec="seconds"))
    connection.execute("INSERT INTO migration (version, name, applied_at) VALUES (?, ?, ?)", stamp)
    dialect.set_schema_version(connection, SCHEMA)
