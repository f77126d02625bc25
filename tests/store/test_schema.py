"""The schema: migrations and table classes agree, versions are kept, what is recorded cannot change."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import StaticPool, create_engine, inspect
from sqlmodel import SQLModel

from armrise.store.database import draft as wanted
from armrise.store.database import migrate as schema
from armrise.store.database import sqlite, tables
from armrise.store.database.bulk import insert_cases, insert_entries
from armrise.store.database.columns import columns, fields_of, table_name
from armrise.store.database.place import Store, StoreError
from armrise.store.record.fields import Choice, Number, Whole, Words
from armrise.store.record.kinds.every import KINDS
from armrise.store.record.kinds.programme import DoneItem
from tests.store import drafts


@pytest.fixture
def empty() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    schema.migrate(connection)
    return connection


def test_migrated_schema_and_table_classes_agree(empty: sqlite3.Connection) -> None:
    """Tables, columns, types, nullability, keys and references: SQL and classes cannot drift."""
    made = inspect(create_engine("sqlite://", creator=lambda: empty, poolclass=StaticPool))
    assert set(made.get_table_names()) == set(SQLModel.metadata.tables)
    assert set(tables.ROWS) == set(KINDS)
    for name, table in SQLModel.metadata.tables.items():
        found = {c["name"]: (str(c["type"]), c["nullable"]) for c in made.get_columns(name)}
        assert found == {c.name: (str(c.type), c.nullable) for c in table.columns}, name
        key = made.get_pk_constraint(name)["constrained_columns"]
        assert key == [c.name for c in table.primary_key], name
        refers = {(f["constrained_columns"][0], f["referred_table"]) for f in made.get_foreign_keys(name)}
        assert refers == {(f.parent.name, f.column.table.name) for f in table.foreign_keys}, name


def test_migrated_schema_is_what_the_record_types_call_for(empty: sqlite3.Connection) -> None:
    """A changed field or closed list needs a migration."""
    fresh = sqlite3.connect(":memory:")
    fresh.executescript("\n".join(wanted.statements()))
    query = "SELECT name, sql FROM sqlite_master WHERE type IN ('table', 'index') AND sql IS NOT NULL"
    assert dict(empty.execute(query)) == dict(fresh.execute(query))


def test_newest_schema_is_pinned() -> None:
    """A new migration is a decision: change this number with it."""
    assert schema.newest() == 2
    assert [step.version for step in schema.MIGRATIONS] == [1, 2]


def test_versions_are_recorded(store: Store) -> None:
    with store.reading() as connection:
        assert sqlite.schema_version(connection) == 2
        assert [row[0] for row in connection.execute("SELECT version FROM migration")] == [1, 2]


def test_migrating_an_older_store_keeps_a_backup(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    drafts.open_case(store)

    def third(connection: sqlite3.Connection) -> None:
        connection.execute('ALTER TABLE "cases" ADD COLUMN "nickname" TEXT')

    steps = (*schema.MIGRATIONS, schema.Migration(3, "nickname", third))
    monkeypatch.setattr(schema, "MIGRATIONS", steps)
    with pytest.raises(StoreError, match="made by an older armrise: open it once for writing"):
        Store.open(store.path, read_only=True)
    again = Store.open(store.path)
    with again.reading() as connection:
        assert sqlite.schema_version(connection) == 3
        assert connection.execute("SELECT code, nickname FROM cases").fetchall() == [("T-1", None)]
    kept = store.path.with_name("caseload.armrise.schema-2.backup")
    assert kept.stat().st_mode & 0o777 == 0o600
    monkeypatch.undo()
    with Store.open(kept).reading() as connection:
        assert connection.execute("SELECT code FROM cases").fetchall() == [("T-1",)]
    with pytest.raises(StoreError, match=r"newer armrise \(schema 3, this one reads 2\): update armrise"):
        Store.open(store.path)


def test_a_failing_migration_leaves_the_old_schema(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(connection: sqlite3.Connection) -> None:
        connection.execute('ALTER TABLE "cases" ADD COLUMN "nickname" TEXT')
        connection.execute("SELECT no_such_column FROM cases")

    with monkeypatch.context() as patched:
        steps = (*schema.MIGRATIONS, schema.Migration(3, "broken", broken))
        patched.setattr(schema, "MIGRATIONS", steps)
        with pytest.raises(StoreError):
            Store.open(store.path)
    with Store.open(store.path).reading() as connection:
        assert sqlite.schema_version(connection) == 2
        assert "nickname" not in {row[1] for row in connection.execute("PRAGMA table_info(cases)")}


def test_the_second_schema_keeps_what_the_first_one_held(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables made anew (entry, visit, finding, score ...) keep their rows, references and guards."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    with monkeypatch.context() as patched:
        patched.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:1])
        schema.migrate(connection)
    head = "0, 0, '2026-03-02', 'TK', 'surgeon', 0"
    connection.execute(
        "INSERT INTO cases (id, code, person, side, pathway, clinician, referrer, registered_on)"
        " VALUES (1, 'T-1', 'P-1', 'LEFT', 'RC', 'TK', '', '2026-01-05')"
    )
    connection.execute("INSERT INTO entry VALUES (1, 1, 'finding', 1, 0), (2, 1, 'score', 1, 0)")
    connection.execute(f"INSERT INTO finding VALUES (1, 1, '2026-03-02', {head}, 'goal met', 'yes', NULL)")
    columns_of_score = "id, case_id, happened_on, recorded_at_utc, recorded_offset_minutes, recorded_on,"
    columns_of_score += " author, source, history, instrument, total, total_decimals"
    connection.execute(
        f"INSERT INTO score ({columns_of_score}) VALUES (2, 1, '2026-03-02', {head}, 'SPADI', 125, 1)"
    )
    assert schema.migrate(connection) == [2]
    assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)
    assert connection.execute("SELECT id, name, answer FROM finding").fetchall() == [(1, "goal met", "yes")]
    assert connection.execute("SELECT total, total_decimals, items FROM score").fetchall() == [(125, 1, "")]
    assert connection.execute("SELECT id, kind FROM entry").fetchall() == [(1, "finding"), (2, "score")]
    for attempt in ("DELETE FROM entry", "UPDATE finding SET answer = 'no'", "DELETE FROM score"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
            connection.execute(attempt)
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        connection.execute("INSERT INTO entry VALUES (3, 99, 'finding', 1, 0)")


GUARDED = ["cases", "entry", "session_item", *(table_name(kind) for kind in KINDS)]


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
    with contextlib.closing(store.connect()) as connection:
        for name in GUARDED:
            before = connection.execute(f'SELECT * FROM "{name}"').fetchall()
            assert before, name
            first = "session_id" if name == "session_item" else "id"
            for attempt in (
                f'UPDATE "{name}" SET "{first}" = "{first}"',
                f'DELETE FROM "{name}"',
                f'INSERT OR REPLACE INTO "{name}" SELECT * FROM "{name}"',
            ):
                with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
                    connection.execute(attempt)
            assert connection.execute(f'SELECT * FROM "{name}"').fetchall() == before


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


def test_the_schema_is_shipped_with_the_package() -> None:
    assert (Path(schema.__file__).parent / "001_first.sql").is_file()
