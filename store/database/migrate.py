"""The schema of the store, one numbered migration after another.

A migration runs in one transaction with its stamp: it is applied whole or not at all. A released migration is
never edited. The file's version is kept twice, as SQLite's ``user_version`` (read before anything else is
trusted) and as a line in the table ``migration``.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from importlib.resources import files
from typing import NamedTuple

from armrise.store.database import sqlite


class Migration(NamedTuple):
    """One step of the schema: its number, a name in words, and what it does to an open transaction."""

    version: int
    name: str
    apply: Callable[[sqlite3.Connection], None]


UNGUARDED = ("setting", "migration", "look", "draft")
"""Tables whose lines may change: they record nothing about a patient."""


def statements_of(name: str) -> list[str]:
    """The statements of an SQL file of this folder."""
    text = (files("armrise.store.database") / name).read_text(encoding="utf-8")
    return [statement for statement in text.split(";\n") if statement.strip()]


def _first(connection: sqlite3.Connection) -> None:
    for statement in statements_of("001_first.sql"):
        connection.execute(statement)
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    sqlite.guard(connection, (name for (name,) in rows if name not in UNGUARDED))


def _working_day(connection: sqlite3.Connection) -> None:
    """Irritability, background, home loads, sweep decisions, referral answers; forms left on the desk."""
    added = {"anything_new": "'not asked'", "items": "''", "self_progress": "0"}
    there = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    for statement in statements_of("002_working_day.sql"):
        table = re.match(r'\s*CREATE TABLE "(\w+)"', statement)
        if table and table[1] in there:
            sqlite.rebuild(connection, table[1], statement, added)
        else:
            connection.execute(statement)
        if table and table[1] not in UNGUARDED:
            sqlite.guard(connection, [table[1]])


MIGRATIONS: tuple[Migration, ...] = (
    Migration(1, "entries, one table a kind", _first),
    Migration(2, "the working day: more kinds, forms left on the desk", _working_day),
)


def newest() -> int:
    """The schema this program writes and the newest it reads."""
    return MIGRATIONS[-1].version


def migrate(connection: sqlite3.Connection) -> list[int]:
    """Bring an open store to :func:`newest`; the versions applied, none when there was nothing to do."""
    applied: list[int] = []
    for step in MIGRATIONS:
        if step.version > sqlite.schema_version(connection) and _apply(connection, step):
            applied.append(step.version)
    return applied


def _apply(connection: sqlite3.Connection, step: Migration) -> bool:
    with sqlite.unwatched(connection):
        return _apply_whole(connection, step)


def _apply_whole(connection: sqlite3.Connection, step: Migration) -> bool:
    connection.execute(sqlite.BEGIN_WRITING)
    try:
        if sqlite.schema_version(connection) >= step.version:  # another process was quicker
            connection.rollback()
            return False
        step.apply(connection)
        broken = sqlite.broken_reference(connection)
        if broken:
            raise sqlite3.IntegrityError(f"{broken} refers to what is not there")
        stamp = (step.version, step.name, datetime.now(UTC).isoformat(timespec="seconds"))
        connection.execute("INSERT INTO migration (version, name, applied_at) VALUES (?, ?, ?)", stamp)
        sqlite.set_schema_version(connection, step.version)
        connection.commit()
    except BaseException:
        connection.rollback()
        raise
    return True
