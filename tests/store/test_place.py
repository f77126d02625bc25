"""The store file: private, whole or absent, refused in one sentence; the clinic date by the clinic's zone."""

from __future__ import annotations

import contextlib
import os
import signal
import sqlite3
import subprocess
import sys
import textwrap
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.caseload.recorded import data_version
from armrise.store.database import sqlite
from armrise.store.database.migrate import SCHEMA
from armrise.store.database.place import Store, StoreError, recalled, remember, remembered
from tests.store import drafts

posix = pytest.mark.skipif(os.name != "posix", reason="file permissions as POSIX knows them")


def one_sentence(message: str) -> bool:
    """What and what next, on one line."""
    return "\n" not in message and ("," in message or ":" in message)


@posix
def test_the_file_and_its_log_are_private(tmp_path: Path) -> None:
    store = Store.create(tmp_path / "deep" / "s.armrise", zone="UTC")
    assert store.path.parent.stat().st_mode & 0o777 == 0o700
    with store.writing() as connection:
        connection.execute("INSERT INTO remembered VALUES ('a', 'b')")
        files = {file.name: file.stat().st_mode & 0o777 for file in store.path.parent.iterdir()}
        assert files == {"s.armrise": 0o600, "s.armrise-wal": 0o600, "s.armrise-shm": 0o600}
    store.path.chmod(0o644)
    Store.open(store.path)
    assert store.path.stat().st_mode & 0o777 == 0o600


def test_every_connection_is_set_for_health_records(store: Store) -> None:
    with store.reading() as connection:
        found = {
            name: connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers", "busy_timeout")
        }
    assert found == {
        "journal_mode": "wal",
        "synchronous": 2,  # FULL
        "foreign_keys": 1,
        "recursive_triggers": 1,
        "busy_timeout": sqlite.BUSY_SECONDS * 1000,
    }


def test_what_cannot_be_opened_is_refused_in_one_sentence(tmp_path: Path, store: Store) -> None:
    other = tmp_path / "other.sqlite"
    sqlite3.connect(other).execute("CREATE TABLE t (a)").connection.close()
    text = tmp_path / "text"
    text.write_text("a letter to the surgeon, nothing like a database\n" * 40)
    hole = tmp_path / "hole"
    whole = store.path.read_bytes()
    hole.write_bytes(whole[: len(whole) // 2])
    empty = tmp_path / "empty"
    empty.touch()
    expected = {
        tmp_path / "missing": "there is no store at .*: create it",
        tmp_path: "is not a file",
        text: "is no readable store .*: give another path, or if this was yours restore a backup",
        hole: "is damaged .*: nothing was written, keep the file as it is and restore a backup",
        other: "is not a store of armrise",
        empty: "is not a store of armrise",
    }
    for path, sentence in expected.items():
        for read_only in (False, True):
            before = path.read_bytes() if path.is_file() else None
            with pytest.raises(StoreError, match=sentence) as refused:
                Store.open(path, read_only=read_only)
            assert one_sentence(str(refused.value))
            assert before is None or path.read_bytes() == before
    assert not (tmp_path / "missing").exists()
    Store.open(store.path)


def test_a_newer_schema_is_refused(store: Store) -> None:
    with store.writing() as connection:
        sqlite.set_schema_version(connection, 7)
    with pytest.raises(
        StoreError, match=rf"newer armrise \(schema 7, this one reads {SCHEMA}\): update armrise"
    ):
        Store.open(store.path)
    with store.writing() as connection:
        sqlite.set_schema_version(connection, SCHEMA)
    Store.open(store.path)


def test_an_existing_file_is_never_made_over(store: Store) -> None:
    before = store.path.read_bytes()
    with pytest.raises(StoreError, match="exists already"):
        Store.create(store.path, zone="UTC")
    assert store.path.read_bytes() == before


def test_an_unknown_zone_leaves_no_file(tmp_path: Path) -> None:
    for zone in ("Europe/Lodnon", "", "../secret", "/etc/passwd"):
        with pytest.raises(StoreError, match="use a name such as Europe/London"):
            Store.create(tmp_path / "s", zone=zone)
    assert list(tmp_path.iterdir()) == []


def test_a_second_writer_is_refused_and_then_let_in(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite, "BUSY_SECONDS", 0.05)
    ledger = drafts.open_case(store)
    with store.writing() as connection:
        connection.execute("INSERT INTO remembered VALUES ('a', 'b')")
        with pytest.raises(
            StoreError, match=r"another armrise, or another program, is writing .*: nothing was written"
        ):
            ledger.append("T-1", [drafts.draft("visit")])
        assert caseload.case(store, "T-1").visits == ()  # reading goes on meanwhile
    ledger.append("T-1", [drafts.draft("visit")])
    assert len(caseload.case(store, "T-1").visits) == 1


def as_nobody(code: str, *arguments: Path) -> str:
    """Run code as an unprivileged user where the tests run as root, whom no permission stops."""
    become = "os.setgid(65534); os.setuid(65534)" if os.geteuid() == 0 else "pass"
    # What is imported when first used may lie where only root reads: it is imported before.
    program = (
        f"import os, sys, pathlib, urllib.parse, pendulum\n{textwrap.dedent(code).format(become=become)}"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@posix
def test_a_read_only_folder(tmp_path: Path) -> None:
    """Writing is refused in one sentence; reading works."""
    folder = Path(os.path.realpath(tmp_path)) / "closed"
    store = Store.create(folder / "s.armrise", zone="UTC")
    drafts.open_case(store)
    store.path.chmod(0o444)
    for closed in (folder, *folder.parents):
        if closed != Path("/") and os.access(closed, os.W_OK) and closed.stat().st_uid == os.geteuid():
            closed.chmod(0o555 if closed == folder else closed.stat().st_mode | 0o055)
        if closed.name.startswith("pytest-of-"):
            break
    code = """
        from armrise.store.database.place import (Store, StoreError)
        from armrise.store.caseload import read as caseload
        {become}
        path = pathlib.Path(sys.argv[1])
        for attempt in (lambda: Store.open(path), lambda: Store.create(path.with_name("new"), zone="UTC")):
            try:
                attempt()
                print("let in")
            except StoreError as refused:
                print(refused)
        print(caseload.codes(Store.open(path, read_only=True)))
    """
    lines = as_nobody(code, store.path).splitlines()
    folder.chmod(0o700)
    assert lines[0].endswith("cannot be written: nothing was written, allow it, or open the store read-only")
    assert "cannot make a store in" in lines[1]
    assert lines[2] == "['T-1']"


def test_a_killed_writer_leaves_the_old_state(store: Store) -> None:
    """kill -9 in the middle of a transaction: what was committed stays, of the rest nothing."""
    drafts.open_case(store).append("T-1", [drafts.draft("visit")])
    code = """
        from armrise.store.database.place import Store
        store = Store.open(pathlib.Path(sys.argv[1]))
        with store.writing() as connection:
            connection.execute("PRAGMA cache_size = 5")
            for number in range(2, 5002):
                connection.execute("INSERT INTO entry VALUES (?, 1, 'visit', 0, 0)", (number,))
            print("in the middle", flush=True)
            sys.stdin.read()
    """
    program = f"import sys, pathlib\n{textwrap.dedent(code)}"
    with subprocess.Popen(
        [sys.executable, "-c", program, str(store.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as writer:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "in the middle\n"
        writer.send_signal(signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
    again = Store.open(store.path)
    with again.reading() as connection:
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (1,)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert len(caseload.case(again, "T-1").visits) == 1


def test_an_error_in_the_middle_leaves_nothing(store: Store) -> None:
    ledger = drafts.open_case(store)
    before = data_version(store)
    with pytest.raises(StoreError, match="refused a value"):
        ledger.append("T-1", [drafts.draft("visit"), drafts.draft("morning", pain=99)])
    assert data_version(store) == before
    assert caseload.case(store, "T-1").visits == ()


@pytest.mark.parametrize(
    ("zone", "instant", "clinic_date"),
    [
        # From memory: London leaves GMT on the last Sunday of March; New York is 5 hours behind in winter.
        ("Europe/London", datetime(2026, 3, 28, 23, 30, tzinfo=UTC), date(2026, 3, 28)),
        ("Europe/London", datetime(2026, 3, 29, 22, 30, tzinfo=UTC), date(2026, 3, 29)),
        ("Europe/London", datetime(2026, 3, 29, 23, 30, tzinfo=UTC), date(2026, 3, 30)),
        ("America/New_York", datetime(2026, 3, 2, 4, 59, tzinfo=UTC), date(2026, 3, 1)),
        ("Pacific/Auckland", datetime(2026, 3, 2, 11, 0, tzinfo=UTC), date(2026, 3, 3)),
    ],
)
def test_the_clinic_date_is_that_of_the_clinics_zone(
    tmp_path: Path, zone: str, instant: datetime, clinic_date: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    store = Store.create(tmp_path / "s", zone=zone)
    assert store.today(instant) == clinic_date


def test_the_clinic_date_may_be_fixed(tmp_path: Path) -> None:
    Store.create(tmp_path / "s", zone="UTC", fictional=True, clinic_date=date(2026, 3, 2))
    store = Store.open(tmp_path / "s")
    assert store.today() == date(2026, 3, 2)
    assert store.fictional


def test_what_is_remembered_stands_together_or_not_at_all(store: Store) -> None:
    """One writer for everything beside the record: it joins the transaction it is given."""
    with store.writing() as connection:
        remember(connection, {"one": "1", "two": "2"})
    with contextlib.suppress(KeyError), store.writing() as connection:
        remember(connection, {"two": "3", "three": "4"})
        raise KeyError
    with store.reading() as connection:
        assert recalled(connection, "one", "two", "three") == {"one": "1", "two": "2"}
    with store.writing() as connection:
        remember(connection, {"two": "5"})
    assert [remembered(store, name) for name in ("one", "two", "three")] == ["1", "5", ""]
    root = Path(__file__).parents[2] / "store"
    writers = [path.name for path in root.rglob("*.py") if "INTO remembered" in path.read_text()]
    assert sorted(writers) == ["migrate.py", "place.py"], "an older schema's settings are taken as rows"


def test_opening_and_reading_import_neither_tables_nor_pendulum(store: Store) -> None:
    """Importing SQLModel costs half a second, which the first rows do not wait for."""
    drafts.open_case(store)
    code = """
        import sys
        from datetime import date
        from pathlib import Path
        from armrise.store.caseload import read, recorded
        from armrise.store.caseload.taking import take
        from armrise.store.database import bulk, desk, place
        from armrise.store.exchange.backup import remembered
        heavy = ("sqlmodel", "sqlalchemy", "pydantic")
        print([name for name in (*heavy, "pendulum") if name in sys.modules])
        store = place.Store.open(Path(sys.argv[1]))
        place.Store.create(store.path.with_name("another"), zone="UTC")
        rows = read.board(store, today=date(2026, 3, 2))
        remembered.last_backup(store), recorded.newest_recorded(store), recorded.data_version(store)
        desk.drafts(store, "TK")
        print(len(rows), [name for name in heavy if name in sys.modules])
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(store.path)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.splitlines() == ["[]", "1 []"]
