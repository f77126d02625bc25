"""How PostgreSQL keeps the declared tables.

Text compares by its bytes (``COLLATE "C"``), as in a file: a list is in one order wherever it is kept. A flag
is the number 0 or 1, as in a file too. PostgreSQL keeps no statement as it was written, so each table, index
and guard carries its own as a remark, which is what a later schema is compared with.

A writer who begins by waiting for the lock sees all that was committed before it, as the transaction is READ
COMMITTED; under REPEATABLE READ its snapshot would be older than the wait.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager

from armrise.store.database.declared import Spelling, Table, tables
from armrise.store.database.driver import GUARDED, Connection, StoreError

BUSY_SECONDS = 3.0
UNSEEN: tuple[str, ...] = (
    "the files of the server: whoever runs it looks after them",
    "that the owner of the tables left them as they were made: compare them with armrise server-sql",
)
"""What is not seen over a connection; a remark says how a thing was made, not how it was altered since."""
LOCK = 0x61726D72
"""The advisory lock that every writer takes first: locking a table would need a right to change it."""
LOST_AFTER = "30s"
"""A writer who falls silent in the middle (its machine sleeps) is dropped, and what it wrote with it."""

GUARD_STATE = "AR001"
"""The code of the error that a guard raises."""

POSTGRESQL = Spelling(
    {"whole": "INTEGER", "long": "BIGINT", "text": 'TEXT COLLATE "C"', "flag": "SMALLINT"},
    {"GLOB '[0-2][0-9]:[0-5][0-9]'": "SIMILAR TO '[0-2][0-9]:[0-5][0-9]'"},
)

_GUARD = "armrise_guard"
_FUNCTION = f"""CREATE OR REPLACE FUNCTION "{_GUARD}"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '{GUARDED}' USING ERRCODE = '{GUARD_STATE}';
END
$$"""


def begin(connection: Connection, *, writing: bool) -> None:
    """Begin a transaction: a reader has one snapshot, a writer waits for its turn or is refused."""
    if not writing:
        connection.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        return
    connection.execute(
        "BEGIN ISOLATION LEVEL READ COMMITTED; "
        f"SET LOCAL lock_timeout = {int(BUSY_SECONDS * 1000)}; "
        f"SET LOCAL idle_in_transaction_session_timeout = '{LOST_AFTER}'; "
        f"SELECT pg_advisory_xact_lock({LOCK})"
    )


def is_ours(connection: Connection) -> bool:
    """True when the tables of a store are there."""
    return "migration" in definitions(connection)


def schema_version(connection: Connection) -> int:
    """The newest schema that the store was brought up to; 0 when it is not begun."""
    if connection.execute("SELECT to_regclass('\"migration\"')").fetchone()[0] is None:
        return 0
    return connection.execute('SELECT max("version") FROM "migration"').fetchone()[0] or 0


def set_schema_version(connection: Connection, version: int) -> None:
    """Nothing more: the line in the table of schemas says it."""


def create(table: Table) -> str:
    """The statement that makes a table."""
    return table.create(POSTGRESQL)


_REMARKS = f"""
SELECT c.relname, obj_description(c.oid, 'pg_class') FROM pg_class c
WHERE c.relkind IN ('r', 'i') AND c.relnamespace = to_regnamespace(current_schema())
AND NOT EXISTS (SELECT 1 FROM pg_constraint k WHERE k.conindid = c.oid)
UNION ALL SELECT t.tgname, obj_description(t.oid, 'pg_trigger') FROM pg_trigger t
JOIN pg_class c ON c.oid = t.tgrelid
WHERE NOT t.tgisinternal AND t.tgenabled = 'O' AND c.relnamespace = to_regnamespace(current_schema())
UNION ALL SELECT p.proname, obj_description(p.oid, 'pg_proc') FROM pg_proc p
WHERE p.proname = '{_GUARD}' AND p.pronamespace = to_regnamespace(current_schema())"""


def definitions(connection: Connection) -> dict[str, str]:
    """The remark of each table, index and guard in force by its name; empty for what carries none."""
    return {name: statement or "" for name, statement in connection.execute(_REMARKS)}


def remarked(what: str, statement: str) -> str:
    """The statement that keeps another one as the remark of what it made."""
    quoted = statement.replace("'", "''")
    return f"COMMENT ON {what} IS '{quoted}'"


def put_table(connection: Connection, name: str, statement: str) -> None:
    """Make a table."""
    for one in table_statements(name, statement):
        connection.execute(one)


def table_statements(name: str, statement: str) -> tuple[str, ...]:
    """What makes a table and keeps how it was made."""
    return statement, remarked(f'TABLE "{name}"', statement)


def put_index(connection: Connection, name: str, statement: str) -> None:
    """Make an index, in the place of one of that name."""
    connection.execute(f'DROP INDEX IF EXISTS "{name}"')
    for one in index_statements(name, statement):
        connection.execute(one)


def index_statements(name: str, statement: str) -> tuple[str, ...]:
    """What makes an index and keeps how it was made."""
    return statement, remarked(f'INDEX "{name}"', statement)


def guards(table: str, keys: Iterable[Sequence[str]]) -> dict[str, str]:
    """The trigger that refuses to change or delete what is recorded in a table, and the function it calls.

    Nothing is replaced here but by an UPDATE, so ``keys`` are not looked at.
    """
    name = f"{table}_guard"
    trigger = (
        f'CREATE TRIGGER "{name}" BEFORE UPDATE OR DELETE OR TRUNCATE ON "{table}" '
        f'FOR EACH STATEMENT EXECUTE FUNCTION "{_GUARD}"()'
    )
    return {_GUARD: _FUNCTION, name: trigger}


def put_guard(connection: Connection, table: str, name: str, statement: str) -> None:
    """Make one of :func:`guards`, in the place of one of that name."""
    if name != _GUARD:
        connection.execute(f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"')
    for one in guard_statements(table, name, statement):
        connection.execute(one)


def guard_statements(table: str, name: str, statement: str) -> tuple[str, ...]:
    """What makes a guard and keeps how it was made."""
    what = f'FUNCTION "{name}"()' if name == _GUARD else f'TRIGGER "{name}" ON "{table}"'
    return statement, remarked(what, statement)


def rebuild(connection: Connection, table: str, create: str, defaults: Mapping[str, object]) -> None:
    """Add the columns that a table lacks, ``defaults`` in its rows, and put its conditions anew.

    Raises :class:`StoreError` for a column that is declared no longer: what is recorded stays.
    """
    declared = next(one for one in tables() if one.name == table)
    sql = (
        "SELECT attname FROM pg_attribute WHERE attrelid = to_regclass(?) AND attnum > 0 AND NOT attisdropped"
    )
    there = [name for (name,) in connection.execute(sql, (f'"{table}"',))]
    names = [column.name for column in declared.columns]
    if lost := [name for name in there if name not in names]:
        raise StoreError(f"the table {table} holds {lost[0]}, which is declared no longer: update armrise")
    for column in declared.columns:
        if column.name not in there:
            line, default = declared.line(column, POSTGRESQL), defaults.get(column.name)
            given = "" if default is None else f" DEFAULT {_literal(default)}"
            connection.execute(f'ALTER TABLE "{table}" ADD COLUMN {line}{given}')
            connection.execute(f'ALTER TABLE "{table}" ALTER COLUMN "{column.name}" DROP DEFAULT')
    sql = "SELECT conname FROM pg_constraint WHERE conrelid = to_regclass(?) AND contype = 'c'"
    for (name,) in connection.execute(sql, (f'"{table}"',)).fetchall():
        connection.execute(f'ALTER TABLE "{table}" DROP CONSTRAINT "{name}"')
    for condition in declared.conditions(POSTGRESQL):
        connection.execute(f'ALTER TABLE "{table}" ADD CHECK ({condition})')
    connection.execute(remarked(f'TABLE "{table}"', create))


def _literal(value: object) -> str:
    return str(value) if isinstance(value, int) else "'" + str(value).replace("'", "''") + "'"


def unwatched(connection: Connection) -> AbstractContextManager[None]:
    """References stay watched: no table is made anew here."""
    return contextlib.nullcontext()


def broken_reference(connection: Connection) -> str | None:
    """None: the server lets no row refer to nothing."""
    return None


def damage(connection: Connection) -> tuple[str, ...]:
    """Nothing that is seen from here, see :data:`UNSEEN`."""
    return ()


def fault_name(error: Exception) -> str:
    """The name of an error, as "check violation"; its sentence may quote what is recorded."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(error).__name__).lower()
