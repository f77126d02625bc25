"""A copy is put in the place of a store: what is looked at, what is kept, what a kill leaves at each step."""

from __future__ import annotations

import contextlib
import gzip
import os
import shutil
import sqlite3
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.database import sqlite
from armrise.store.database.migrate import SCHEMA
from armrise.store.database.place import Store, StoreError
from armrise.store.exchange.backup import leftovers, make, restore
from armrise.store.exchange.backup.contents import contents
from tests.store import drafts
from tests.store.test_place import posix

NOW = datetime(2026, 7, 14, 18, 30, 5, tzinfo=UTC)
KEPT = "caseload.before-restore-2026-07-14-183005.armrise"
FIXTURES = Path(__file__).parent / "fixtures"


@pytest.fixture(scope="module")
def pair(empty_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store of three visits and a copy of it that has one."""
    folder = tmp_path_factory.mktemp("pair")
    store = Store.open(shutil.copy(empty_store, folder / "caseload.armrise"))
    ledger = drafts.open_case(store)
    ledger.append("T-1", [drafts.draft("visit")])
    made = make.back_up(store, [folder], NOW)
    assert made.good[0].file is not None
    made.good[0].file.rename(folder / "copy.armrise")
    ledger.append("T-1", [drafts.draft("visit"), drafts.draft("visit")])
    return folder


@pytest.fixture
def place(pair: Path, tmp_path: Path) -> Path:
    """The store of such a folder, the test's own."""
    for name in ("caseload.armrise", "copy.armrise"):
        shutil.copy(pair / name, tmp_path / name)
    return tmp_path / "caseload.armrise"


def copy_of(place: Path) -> Path:
    return place.with_name("copy.armrise")


def put_back(place: Path) -> restore.Restored:
    return restore.put_back(restore.plan(copy_of(place), place), NOW)


def visits(path: Path) -> int:
    """How many visits a store holds, once everything that lies beside it is taken into account."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        return connection.execute("SELECT count(*) FROM visit").fetchone()[0]


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


# as it goes


def test_the_copy_takes_the_place_and_the_store_is_kept_beside_it(place: Path) -> None:
    done = put_back(place)
    assert done.kept == (place.with_name(KEPT),)
    assert (visits(place), visits(place.with_name(KEPT)), visits(copy_of(place))) == (1, 3, 1)
    assert names(place.parent) == ["caseload.armrise", KEPT, "copy.armrise"]
    assert {path.stat().st_mode & 0o777 for path in (place, place.with_name(KEPT))} == {0o600}
    assert place.stat().st_nlink == 1
    store = Store.open(place)
    assert len(caseload.case(store, "T-1").visits) == 1
    with store.reading() as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_the_way_back_is_the_same_way(place: Path) -> None:
    (kept,) = put_back(place).kept
    done = restore.put_back(restore.plan(kept, place), NOW)
    assert visits(place) == 3
    assert [visits(path) for path in done.kept] == [1]
    assert done.kept[0].name == KEPT.replace(".armrise", "-2.armrise")


def test_what_would_be_lost_is_counted(place: Path) -> None:
    plan = restore.plan(copy_of(place), place)
    assert plan.copy.held is not None
    assert plan.present.held is not None
    assert plan.later is not None
    assert (plan.later.entries, plan.later.cases) == (2, 1)
    assert plan.later.newest == plan.present.held.newest
    shutil.copy(copy_of(place), place)
    nothing = restore.plan(copy_of(place), place).later
    assert nothing is not None
    assert nothing.entries == 0


def test_where_nothing_lies_the_copy_is_put_there(place: Path) -> None:
    elsewhere = place.with_name("deep") / "new.armrise"
    done = restore.put_back(restore.plan(copy_of(place), elsewhere), NOW)
    assert done.kept == ()
    assert names(elsewhere.parent) == ["new.armrise"]
    assert visits(elsewhere) == 1


def test_an_older_schema_is_put_back_as_it_is_and_upgraded_when_it_is_opened(place: Path) -> None:
    old = copy_of(place)
    old.write_bytes(gzip.decompress((FIXTURES / "schema-2.gz").read_bytes()))
    shutil.copy(old, place)
    put_back(place)
    with contextlib.closing(sqlite3.connect(place)) as connection:
        assert sqlite.schema_version(connection) == 2
    with Store.open(place).reading() as connection:
        assert sqlite.schema_version(connection) == SCHEMA


@posix
def test_a_link_to_the_store_stays_a_link(place: Path) -> None:
    link = place.with_name("link.armrise")
    link.symlink_to(place)
    restore.put_back(restore.plan(copy_of(place), link), NOW)
    assert link.is_symlink()
    assert visits(place) == 1


@posix
def test_a_file_system_without_second_names_keeps_a_copy(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object, **__: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    (kept,) = put_back(place).kept
    assert (visits(place), visits(kept)) == (1, 3)
    assert kept.stat().st_mode & 0o777 == 0o600


# logs that lie there


def with_log(place: Path, end: str = "-wal") -> bytes:
    """Put a log beside the place that belongs to another store of the same shape; returns what is in it."""
    other = place.with_name("other")
    shutil.copy(copy_of(place), other)
    with contextlib.closing(sqlite.connect(other)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("INSERT INTO remembered (name, value) VALUES ('of', 'another')")
        log = other.with_name("other-wal").read_bytes()
    other.unlink()
    assert len(log) > 4000
    place.with_name(place.name + end).write_bytes(log)
    return log


def test_a_log_that_lies_where_no_store_is_is_never_replayed(place: Path) -> None:
    """The store went, its log stayed: opened beside it, the copy would be changed by it."""
    place.unlink()
    log = with_log(place)
    done = put_back(place)
    assert [path.name for path in done.kept] == [f"{KEPT}-wal"]
    assert done.kept[0].read_bytes() == log
    assert visits(place) == 1
    assert Store.open(place).zone == "Europe/London"


@pytest.mark.parametrize("end", sqlite.COMPANIONS)
def test_a_log_beside_a_store_that_cannot_be_read_is_kept_with_it(place: Path, end: str) -> None:
    whole = place.read_bytes()
    place.write_bytes(b"\0" * 4096 + whole[4096:])
    damaged, log = place.read_bytes(), with_log(place, end)
    plan = restore.plan(copy_of(place), place)
    assert plan.present.held is None
    assert plan.later is None
    restore.put_back(plan, NOW)
    assert place.with_name(KEPT).read_bytes() == damaged
    assert place.with_name(KEPT + end).read_bytes() == log
    assert visits(place) == 1
    assert Store.open(place).zone == "Europe/London"


def test_what_was_only_in_the_log_of_the_store_is_kept(place: Path) -> None:
    """A program that was killed leaves its last entries in the log alone."""
    program = sqlite.connect(place)
    program.execute("INSERT INTO draft VALUES ('TK', 'T-1', 'VisitScreen', 1, '{}')")
    logged = {path: path.read_bytes() for path in sqlite.logs_of(place)}
    file = place.read_bytes()
    program.close()
    place.write_bytes(file)
    for path, held in logged.items():
        path.write_bytes(held)
    (kept,) = put_back(place).kept
    with contextlib.closing(sqlite3.connect(kept)) as connection:
        assert connection.execute("SELECT count(*) FROM draft").fetchone() == (1,)
    assert visits(place) == 1
    assert not sqlite.logs_of(kept)


# who else is there


def test_a_store_that_another_program_has_open_is_left_alone(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "BUSY_SECONDS", 0.05)
    store = Store.open(place)
    with store.reading() as connection:
        connection.execute("SELECT count(*) FROM entry").fetchone()
        with pytest.raises(StoreError, match=r"another armrise has .* open: close it, then restore again"):
            put_back(place)
    assert visits(place) == 3
    assert names(place.parent) == ["caseload.armrise", "copy.armrise"]


def test_what_was_recorded_while_the_question_stood_stops_it(place: Path) -> None:
    plan = restore.plan(copy_of(place), place)
    drafts.Unchecked(Store.open(place), "TK", drafts.Clock()).append("T-1", [drafts.draft("visit")])
    with pytest.raises(StoreError, match=r"something was recorded in .* meanwhile"):
        restore.put_back(plan, NOW)
    assert visits(place) == 4
    assert names(place.parent) == ["caseload.armrise", "copy.armrise"]


@posix
def test_whoever_opened_the_store_of_before_writes_nothing_into_it_afterwards(place: Path) -> None:
    """Its file has another name now: an entry written there would be said to be written, and be gone."""
    waiting = sqlite3.connect(place, isolation_level=None)
    put_back(place)
    with pytest.raises(sqlite3.OperationalError) as refused:
        waiting.execute("INSERT INTO draft VALUES ('TK', 'T-1', 'VisitScreen', 1, '{}')")
    assert refused.value.sqlite_errorname == "SQLITE_READONLY_DBMOVED"
    waiting.close()
    assert visits(place) == 1


# refusals


def change(path: Path, sql: str) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(sql)


BAD_COPIES: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (Path.unlink, "there is no copy at"),
    "a folder": (lambda path: (path.unlink(), path.mkdir()), "there is no copy at"),
    "a letter": (
        lambda path: path.write_text("to the surgeon"),
        "cannot be restored (it is no store, or damaged",
    ),
    "cut short": (
        lambda path: path.write_bytes(path.read_bytes()[:-4096]),
        "cannot be restored (it is no store, or damaged: pages of the file are damaged)",
    ),
    "of another program": (
        lambda path: change(path, "PRAGMA application_id = 7"),
        "cannot be restored (it is not a store of armrise): choose another copy",
    ),
    "of a newer armrise": (
        lambda path: change(path, "PRAGMA user_version = 99"),
        "was made by a newer armrise",
    ),
    "with a reference to nothing": (
        lambda path: change(path, "INSERT INTO entry VALUES (99, 7, 'visit', 1, 0)"),
        "cannot be restored (it is damaged: entry 99 refers to a row of cases that is not there)",
    ),
    "fictional": (
        lambda path: fictional(path),
        "a copy of fictional cases is not put in the place of",
    ),
}


def fictional(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for (trigger,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'setting'"
        ).fetchall():
            connection.execute(f'DROP TRIGGER "{trigger}"')
        connection.execute("UPDATE setting SET value = 'yes' WHERE name = 'fictional'")


@pytest.mark.parametrize(("spoil", "said"), BAD_COPIES.values(), ids=BAD_COPIES)
def test_a_copy_that_will_not_do_is_refused_and_nothing_is_changed(
    spoil: Callable[[Path], object], said: str, place: Path
) -> None:
    spoil(copy_of(place))
    before = {path.name: path.read_bytes() for path in place.parent.iterdir() if path.is_file()}
    with pytest.raises(StoreError) as refused:
        restore.plan(copy_of(place), place)
    assert said in str(refused.value)
    assert len(str(refused.value).splitlines()) == 1
    for name, held in before.items():
        assert (place.parent / name).read_bytes() == held


def test_no_other_file_is_taken_for_a_store(place: Path) -> None:
    letter, foreign = place.with_name("letter.txt"), place.with_name("places.sqlite")
    letter.write_text("to the surgeon")
    change(foreign, "CREATE TABLE t (a)")
    for path in (letter, foreign, place.parent):
        with pytest.raises(StoreError, match="is left alone, it is no sound store and not named like one"):
            restore.plan(copy_of(place), path)
    with pytest.raises(StoreError, match="is the store itself"):
        restore.plan(place, place)


def test_a_copy_of_another_store_is_said_to_be_one(place: Path) -> None:
    other = Store.create(place.with_name("other.armrise"), zone="UTC").path
    with contextlib.closing(sqlite3.connect(other)) as connection:
        made = contents(connection)
    assert made.created != ""
    plan = restore.plan(copy_of(place), other)
    assert plan.present.held is not None
    assert (plan.later is None) == (plan.present.held.created != plan.copy.held.created)  # type: ignore[union-attr]


def test_a_full_disk_leaves_the_store_as_it_was(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = place.read_bytes()
    plan = restore.plan(copy_of(place), place)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match=r"\(no space left on device\): allow it, then restore again"):
        restore.put_back(plan, NOW)
    assert place.read_bytes()[100:] == before[100:]
    assert names(place.parent) == ["caseload.armrise", "copy.armrise"]


# killed


OPERATIONS = ("open", "os.link", "os.rename", "os.remove", "os.mkdir", "sqlite3.connect", "shutil.copyfile")
"""What Python tells of before it does it: every operation on a file from here, and each opening by SQLite."""


def killed_at(step: int, place: Path) -> bool:
    """Restore in a process killed before its nth operation on a file; False when it has not so many."""
    child = os.fork()
    if child == 0:
        counted = [0]

        def count(event: str, _: object) -> None:
            if event in OPERATIONS:
                counted[0] += 1
                if counted[0] == step:
                    os._exit(9)

        plan = restore.plan(copy_of(place), place)
        sys.addaudithook(count)
        restore.put_back(plan, NOW)
        os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


def damaged_with_log(place: Path) -> None:
    place.write_bytes(b"\0" * 4096 + place.read_bytes()[4096:])
    with_log(place)


@posix
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
@pytest.mark.parametrize("links", [True, False], ids=["second names", "copies"])
def test_killed_anywhere_a_whole_store_lies_there_and_nothing_is_lost(
    links: bool, pair: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Either three visits lie in the place, or one and the three beside it; then it can be done again."""

    def no_links(*_: object, **__: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "fsync", lambda handle: None)  # a kill, not a power cut
    if not links:
        monkeypatch.setattr(os, "link", no_links)
    step, seen = 0, set[int]()
    while True:
        step += 1
        folder = tmp_path / str(step)
        shutil.copytree(pair, folder)
        place = folder / "caseload.armrise"
        again = killed_at(step, place)
        found = visits(place)
        seen.add(found)
        assert found == 3 or visits(place.with_name(KEPT)) == 3
        leftovers.clear(place, datetime.now(UTC).timestamp() + 7200)
        assert not [name for name in names(folder) if name.endswith(".part")]
        assert place.stat().st_nlink == 1
        if step % 4 == 0 or not again:
            put_back(place)
            assert visits(place) == 1
        if not again:
            break
        shutil.rmtree(folder)
    assert seen == {1, 3}
    assert step > 10


@posix
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_killed_anywhere_no_log_of_a_damaged_store_lies_beside_the_copy(
    pair: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What lay there is there still, under one of its two names, and never a log of it beside the copy."""
    monkeypatch.setattr(os, "fsync", lambda handle: None)
    step, again = 0, True
    while again:
        step += 1
        folder = tmp_path / str(step)
        shutil.copytree(pair, folder)
        place = folder / "caseload.armrise"
        damaged_with_log(place)
        before = {
            path.name.removeprefix(place.name): path.read_bytes() for path in (place, *sqlite.logs_of(place))
        }
        again = killed_at(step, place)
        for end, held in before.items():
            two = [place.with_name(place.name + end), place.with_name(KEPT + end)]
            assert held in [path.read_bytes() for path in two if path.exists()], (step, end)
        if place.read_bytes() != before[""]:
            assert visits(place) == 1
            assert Store.open(place).zone == "Europe/London"
        elif step % 4 == 0:
            put_back(place)
            assert visits(place) == 1
        shutil.rmtree(folder)
    assert step > 10
