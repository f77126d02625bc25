"""The schema: what is declared is what SQLModel knows; versions are kept; what is recorded cannot change."""

from __future__ import annotations

import contextlib
import gzip
import re
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import StaticPool, create_engine
from sqlmodel import SQLModel

from armrise.store.caseload import read as caseload
from armrise.store.caseload.timeline import read_timeline
from armrise.store.database import desk, sqlite
from armrise.store.database import migrate as schema
from armrise.store.database.bulk import insert_cases, insert_entries
from armrise.store.database.columns import Column, columns, fields_of, table_name
from armrise.store.database.declared import Table
from armrise.store.database.place import Store, StoreError
from armrise.store.entries.words import CaseHead
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Absence, Choice, Number, Whole, Words
from armrise.store.record.kinds.programme import DoneItem
from tests.clinic.build import rules
from tests.store import drafts, landed

FIXTURES = Path(__file__).parent / "fixtures"


@pytest.fixture
def empty() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    schema.migrate(connection)
    return connection


# One declaration


def told_by_sqlite(connection: sqlite3.Connection, table: str) -> dict[str, Any]:
    """Columns, keys, references and indexes as SQLite itself reads them, and the conditions as they stand."""

    def ask(pragma: str, of: str) -> list[Any]:
        return connection.execute(f'PRAGMA {pragma}("{of}")').fetchall()

    made = sqlite.definitions(connection)[table]
    conditions = re.findall(r"CHECK \((.*?)\)(?=, ?\n|,\n|\n\)|\)$|\n$)", made + "\n", re.DOTALL)
    return {
        "columns": [row[1:4] for row in ask("table_info", table)],
        "key": {row[1]: row[5] for row in ask("table_info", table)},
        "refers": {(row[3], row[2], row[4]) for row in ask("foreign_key_list", table)},
        "indexes": {
            (row[1] if row[3] == "c" else row[3], row[2], tuple(i[2] for i in ask("index_info", row[1])))
            for row in ask("index_list", table)
        },
        "conditions": sorted(conditions),
    }


def test_the_classes_and_the_statements_make_one_schema(empty: sqlite3.Connection) -> None:
    """A store made by SQLModel and one made by the statements are the same to SQLite."""
    other = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    SQLModel.metadata.create_all(create_engine("sqlite://", creator=lambda: other, poolclass=StaticPool))
    names = {table.name for table in schema.tables()}
    assert set(SQLModel.metadata.tables) == names
    assert {table_name(kind) for kind in KINDS} < names
    for table in schema.tables():
        ours = told_by_sqlite(empty, table.name)
        assert told_by_sqlite(other, table.name) == ours
        assert len(ours["conditions"]) == len(table.checks)
        assert table.checks or not table.guarded


def test_the_newest_schema_is_pinned(empty: sqlite3.Connection, tmp_path: Path) -> None:
    """A changed field or closed list is a new schema: raise the number, and keep a store that it wrote."""
    assert schema.SCHEMA == landed.NEWEST == 6
    kept = sqlite3.connect(kept_store(landed.NEWEST, tmp_path))
    assert sqlite.schema_version(kept) == landed.NEWEST
    assert sqlite.definitions(kept) == sqlite.definitions(empty)


def test_versions_are_recorded(store: Store) -> None:
    with store.reading() as connection:
        assert sqlite.schema_version(connection) == 6
        assert connection.execute("SELECT version, name FROM migration").fetchall() == [(6, "made")]


# Stores that earlier programs wrote


def kept_store(version: int, folder: Path) -> Path:
    path = folder / f"kept-{version}"
    path.write_bytes(gzip.decompress((FIXTURES / f"schema-{version}.gz").read_bytes()))
    return path


def written_now(version: int, folder: Path) -> Store:
    """A new store given what the store of that schema was given."""
    path, zone = folder / f"now-{version}", landed.ZONE
    author = "TK" if version > 1 else ""
    store = Store.create(path, zone=zone, fictional=True, clinic_date=landed.CLINIC_DATE, author=author)
    ledger = drafts.Unchecked(store, "TK", landed.Clock())
    parts = {"head": CaseHead, "kinds": KINDS, "done_item": DoneItem, "absence": Absence}
    landed.fill(ledger, **parts, desk=desk, schema=version)
    return store


def rows(store: Store) -> dict[str, list[Any]]:
    """Every row of every table; of settings and of what is remembered those that name no moment."""
    with store.reading() as connection:
        found = {
            table.name: connection.execute(f'SELECT * FROM "{table.name}" ORDER BY 1, 2').fetchall()
            for table in schema.tables()
            if table.name not in ("migration", "link")
        }
    for name in ("setting", "remembered"):
        found[name] = [row for row in found[name] if row[0] not in ("created", "last backup")]
    return found


@pytest.mark.parametrize("version", range(1, landed.NEWEST + 1))
def test_a_store_of_an_earlier_schema_is_opened_and_reads_as_one_written_now(
    tmp_path: Path, version: int
) -> None:
    store, fresh = Store.open(kept_store(version, tmp_path)), written_now(version, tmp_path)
    with store.reading() as connection, fresh.reading() as other:
        assert sqlite.definitions(connection) == sqlite.definitions(other)
        assert sqlite.schema_version(connection) == sqlite.schema_version(other) == schema.SCHEMA
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert sqlite.broken_reference(connection) is None
    assert rows(store) == rows(fresh)
    assert caseload.codes(store) == ["T-1", "T-2"]
    for code in caseload.codes(store):
        record = caseload.case(store, code)
        assert record == caseload.case(fresh, code)
        today = landed.CLINIC_DATE
        assert read_timeline(store, code, rules(), today) == read_timeline(fresh, code, rules(), today)
    with store.reading() as connection:
        kinds = {kind for (kind,) in connection.execute("SELECT kind FROM entry")}
    known = {kind for kind, _ in landed.given(version)}
    assert kinds == known | {"session", "event", "correction"}
    assert (version >= landed.LATEST_KIND) == (kinds == set(KINDS))
    left = desk.draft_of(store, "TK", "T-1", "review")
    assert left == desk.draft_of(fresh, "TK", "T-1", "review")
    assert (left is not None) == (version > 1)
    assert desk.last_look(store, "TK", "T-1") == (landed.NOW if version > 1 else None)


def test_an_upgrade_keeps_a_backup_that_holds_everything(tmp_path: Path) -> None:
    path = kept_store(1, tmp_path)
    before = sqlite3.connect(path).execute("SELECT * FROM entry").fetchall()
    assert len(before) > 30
    Store.open(path)
    kept = path.with_name(f"{path.name}.schema-1.backup")
    with contextlib.closing(sqlite3.connect(kept)) as connection:
        assert sqlite.schema_version(connection) == 1
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("SELECT * FROM entry").fetchall() == before
    assert kept.stat().st_mode & 0o777 == 0o600


def test_an_upgraded_store_is_guarded_and_its_references_are_watched(tmp_path: Path) -> None:
    store = Store.open(kept_store(1, tmp_path))
    with contextlib.closing(store.connect()) as connection:
        assert connection.execute("SELECT version, name FROM migration").fetchall()[-1] == (
            6,
            "from schema 1",
        )
        for attempt in ("DELETE FROM entry", "UPDATE finding SET answer = 'no'", "DELETE FROM score"):
            with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
                connection.execute(attempt)
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
            connection.execute("INSERT INTO entry VALUES (999, 99, 'finding', 1, 0)")


# The next schema


def another(
    monkeypatch: pytest.MonkeyPatch, name: str, change: Callable[[Table], Table], version: int = 7
) -> None:
    """Declare one table otherwise, as the next schema."""
    changed = tuple(change(table) if table.name == name else table for table in schema.tables())
    assert changed != schema.tables()
    monkeypatch.setattr(schema, "SCHEMA", version)
    monkeypatch.setattr(schema, "tables", lambda: changed)


def nicknamed(table: Table) -> Table:
    return table._replace(
        columns=(*table.columns, Column("nickname", "text")),
        checks=(*table.checks, 'length("nickname") < 9'),
        indexes={**table.indexes, "cases_of_nickname": ("nickname",)},
        defaults={"nickname": "Ann's"},
    )


def test_upgrading_an_older_store_keeps_a_backup(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    drafts.open_case(store)
    another(monkeypatch, "cases", nicknamed)
    with pytest.raises(StoreError, match="made by an older armrise: open it once for writing"):
        Store.open(store.path, read_only=True)
    again = Store.open(store.path)
    with again.reading() as connection:
        assert sqlite.schema_version(connection) == 7
        assert connection.execute("SELECT code, nickname FROM cases").fetchall() == [("T-1", "Ann's")]
        assert "cases_of_nickname" in sqlite.definitions(connection)
    kept = store.path.with_name("caseload.armrise.schema-6.backup")
    assert kept.stat().st_mode & 0o777 == 0o600
    monkeypatch.undo()
    with Store.open(kept).reading() as connection:
        assert connection.execute("SELECT code FROM cases").fetchall() == [("T-1",)]
    with pytest.raises(StoreError, match=r"newer armrise \(schema 7, this one reads 6\): update armrise"):
        Store.open(store.path)


def test_only_what_differs_is_made_anew(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[str] = []
    rebuild = sqlite.rebuild
    monkeypatch.setattr(
        sqlite, "rebuild", lambda c, name, *more: (made.append(name), rebuild(c, name, *more))
    )
    another(monkeypatch, "cases", nicknamed)
    Store.open(store.path)
    assert made == ["cases"]


@pytest.mark.parametrize(
    "change",
    [
        lambda table: table._replace(checks=('"no_such_column" = 1',)),
        lambda table: table._replace(checks=('length("code") = 2',)),  # a row of before breaks it
        lambda table: table._replace(columns=table.columns[:-1], checks=()),  # it would lose a column
        lambda table: table._replace(
            columns=(*table.columns, Column("must", "text"))
        ),  # nothing to put there
    ],
    ids=["no such column", "a row breaks it", "a column lost", "no default"],
)
def test_a_failing_step_leaves_the_old_schema(
    store: Store, monkeypatch: pytest.MonkeyPatch, change: Callable[[Table], Table]
) -> None:
    drafts.open_case(store)
    with store.reading() as connection:
        before = sqlite.definitions(connection)
    with monkeypatch.context() as patched:
        another(patched, "cases", change)
        with pytest.raises(StoreError):
            Store.open(store.path)
    with Store.open(store.path).reading() as connection:
        assert sqlite.schema_version(connection) == 6
        assert sqlite.definitions(connection) == before
        assert connection.execute("SELECT code FROM cases").fetchall() == [("T-1",)]
        assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)


def test_two_that_open_at_once_bring_it_up_once(tmp_path: Path) -> None:
    path, ready = kept_store(1, tmp_path), Barrier(2)

    def bring_up(_: int) -> bool:
        with contextlib.closing(sqlite.connect(path)) as connection:
            ready.wait()
            return schema.migrate(connection)

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(bring_up, range(2))) == [False, True]
    with Store.open(path).reading() as connection:
        versions = [version for (version,) in connection.execute("SELECT version FROM migration")]
    assert versions == [1, 6]


# What is recorded cannot change


GUARDED = [table for table in schema.tables() if table.guarded]


def fill_every_table(store: Store, example: st.DataObject) -> None:
    """One case with one entry of each kind and one exercise."""
    kinds = [kind for kind in KINDS if kind != "session"]
    entries = [drafts.draft("session", id=1, items=(DoneItem(exercise="row", load_class="R1"),))]
    with store.writing() as connection:
        insert_cases(connection, 1, [drafts.head()])
        for number, kind in enumerate(kinds, 2):
            made = example.draw(drafts.records(KINDS[kind]))
            object.__setattr__(made, "id", number)
            entries.append(made)
        insert_entries(connection, 1, entries, batch=1)


@given(example=st.data())
@settings(max_examples=1, suppress_health_check=list(HealthCheck), deadline=None, database=None)
def test_triggers_refuse_update_delete_and_replace_on_every_table(
    tmp_path_factory: pytest.TempPathFactory, example: st.DataObject
) -> None:
    """Practice notes 6: nothing recorded is ever changed."""
    store = Store.create(tmp_path_factory.mktemp("t") / "s", zone="UTC")
    fill_every_table(store, example)
    assert {table.name for table in GUARDED} > {"setting", "migration", "link", "cases", "entry"}
    with (
        contextlib.closing(store.connect()) as ours,
        contextlib.closing(sqlite3.connect(store.path, isolation_level=None)) as foreign,
    ):
        assert foreign.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        for table in GUARDED:
            before = ours.execute(f'SELECT * FROM "{table.name}"').fetchall()
            assert before, table.name
            for connection in (ours, foreign):
                for attempt in rewriting(table):
                    with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
                        connection.execute(attempt)
            assert ours.execute(f'SELECT * FROM "{table.name}"').fetchall() == before


def rewriting(table: Table) -> list[str]:
    """Statements that would lose what is recorded in the table, REPLACE by each of its keys among them."""
    name, first = table.name, table.key[0]
    columns = ", ".join(f'"{column.name}"' for column in table.columns)
    others = ", ".join('"id" + 500' if c.name == "id" else f'"{c.name}"' for c in table.columns)
    return [
        f'UPDATE "{name}" SET "{first}" = "{first}"',
        f'DELETE FROM "{name}"',
        f'INSERT OR REPLACE INTO "{name}" SELECT * FROM "{name}"',
        *(f'REPLACE INTO "{name}" ({columns}) SELECT {others} FROM "{name}"' for _ in table.unique),
    ]


def bad_values() -> list[tuple[str, str, object]]:
    """A kind, a column and a value just outside what its field's rule allows."""
    found: list[tuple[str, str, object]] = []
    for kind, record in KINDS.items():
        for name, rule, _ in fields_of(record):
            match rule:
                case Whole(low, high) if high < 2**31:
                    found += [(kind, name, low - 1), (kind, name, high + 1)]
                case Number(low, high, places):
                    found += [(kind, name, low * 10**places - 1), (kind, name, high * 10**places + 1)]
                    found.append((kind, f"{name}_decimals", places + 1))
                case Choice():
                    found.append((kind, name, "no such word"))
                case Words(longest, _):
                    found += [(kind, name, ""), (kind, name, "x" * (longest + 1))]
                case _:
                    pass
            if getattr(rule, "absent", False):
                found.append((kind, f"{name}_absence", "perhaps"))
        found += [(kind, "source", "hearsay"), (kind, "history", 2), (kind, "happened_on", "2 March 2026")]
    return found


@given(example=st.data())
@settings(max_examples=1, suppress_health_check=list(HealthCheck), deadline=None, database=None)
def test_the_database_itself_refuses_impossible_values(
    tmp_path_factory: pytest.TempPathFactory, example: st.DataObject
) -> None:
    """The second line of defence: table classes do not validate (pain 99 was stored when this was tried)."""
    store = Store.create(tmp_path_factory.mktemp("t") / "s", zone="UTC")
    fill_every_table(store, example)
    attempts = bad_values()
    assert len(attempts) > 250
    with contextlib.closing(store.connect()) as connection:
        for kind, column, value in attempts:
            names = [c.name for c in columns(kind)]
            row = dict(
                zip(names, connection.execute(f'SELECT * FROM "{table_name(kind)}"').fetchone(), strict=True)
            )
            row |= {"id": 999, column: value}
            if f"{column}_decimals" in row:
                row[f"{column}_decimals"] = next(
                    r.places for n, r, _ in fields_of(KINDS[kind]) if n == column and isinstance(r, Number)
                )
            if column.endswith("_decimals"):
                row[column.removesuffix("_decimals")] = 1
            if f"{column}_absence" in row:
                row[f"{column}_absence"] = None
            marks = ", ".join("?" * len(names))
            with pytest.raises(sqlite3.IntegrityError, match="CHECK"):
                connection.execute(f'INSERT INTO "{table_name(kind)}" VALUES ({marks})', list(row.values()))


@pytest.mark.parametrize(("value", "word"), [(None, None), (3, "not asked")])
def test_exactly_one_of_value_and_absence(store: Store, value: int | None, word: str | None) -> None:
    """Practice notes: absence is never zero, and a value that is there has no reason for being away."""
    ledger = drafts.open_case(store)
    (number,) = ledger.append("T-1", [drafts.draft("session")])
    with contextlib.closing(store.connect()) as connection:
        names = ", ".join(f'"{c.name}"' for c in columns("session"))
        picked = names.replace('"during_absence"', "?").replace('"during"', "?").replace('"id"', "99", 1)
        connection.execute("PRAGMA foreign_keys = OFF")
        with pytest.raises(sqlite3.IntegrityError, match="CHECK"):
            connection.execute(
                f'INSERT INTO "session" ({names}) SELECT {picked} FROM "session"', (value, word)
            )
    assert number == 1
