"""A backup counts when it is whole and holds what the store held; a fault in one place spoils no other."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.database import sqlite, sqlite_copy
from armrise.store.database.place import Store, StoreError
from armrise.store.exchange.backup import make
from armrise.store.exchange.backup.card import MARK, card_of
from armrise.store.exchange.backup.contents import contents
from armrise.store.exchange.backup.remembered import is_due, last_backup, remember_backup
from tests.store import drafts
from tests.store.test_place import posix

NOW = datetime(2026, 7, 14, 17, 30, 5, tzinfo=UTC)
"""In summer: the clinic's clock in London shows an hour more."""
NAME = "caseload-2026-07-14-183005"


@pytest.fixture(scope="module")
def kept(empty_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with one case and some entries, to be copied."""
    path = Path(shutil.copy(empty_store, tmp_path_factory.mktemp("kept") / "caseload.armrise"))
    ledger = drafts.open_case(Store.open(path))
    ledger.append("T-1", [drafts.draft("visit") for _ in range(5)])
    return path


@pytest.fixture
def store(kept: Path, tmp_path: Path) -> Store:
    """That store, of the test's own."""
    return Store.open(shutil.copy(kept, tmp_path / "caseload.armrise"))


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def back_up(store: Store, *folders: Path, now: datetime = NOW) -> make.Made:
    return make.back_up(store, folders or make.folders_for(store), now)


def held_by(path: Path) -> list[tuple[object, ...]]:
    """Every row of every table but what the store remembers of its backups."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        tables = [
            name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return [
            (table, *row)
            for table in sorted(set(tables) - {"setting", "remembered"})
            for row in connection.execute(f'SELECT * FROM "{table}"')
        ]


# one copy


def test_a_backup_is_the_store_under_the_date_of_the_clinics_clock_with_its_card(store: Store) -> None:
    made = back_up(store)
    folder = store.path.parent / "backups"
    assert names(folder) == [f"{NAME}.armrise", f"{NAME}.txt"]
    (copy,) = made.good
    assert copy.file is not None
    assert held_by(copy.file) == held_by(store.path)
    assert caseload.case(Store.open(copy.file), "T-1") == caseload.case(store, "T-1")
    told = card_of(copy.file).read_text(encoding="utf-8")
    assert told.startswith(f"{MARK}file:    {NAME}.armrise\nof:      {store.path}\n")
    assert "taken:   Tue 14 Jul 2026, 18:30 (Europe/London)\n" in told
    assert f"holds:   1 case, {made.held.entries} entries, the newest of Mon 2 Mar 2026, 09:0" in told
    assert last_backup(store) == NOW
    assert make.told(made)[0].startswith("Backup of Tue 14 Jul 2026, 18:30: 1 case, ")
    assert make.in_one_line(made) == f"backed up: 1 case, {made.held.entries} entries"


@posix
def test_copies_cards_and_folder_are_for_their_owner_alone(store: Store) -> None:
    os.umask(0o022)
    back_up(store)
    folder = store.path.parent / "backups"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}


def test_a_copy_is_one_file_that_opens_on_a_medium_that_cannot_be_written(store: Store) -> None:
    (copy,) = back_up(store).good
    assert copy.file is not None
    with contextlib.closing(sqlite3.connect(copy.file)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_two_backups_of_one_second_are_two(store: Store, tmp_path: Path) -> None:
    """In autumn the same hour comes twice, too."""
    for _ in range(2):
        back_up(store, tmp_path)
    assert [name for name in names(tmp_path) if name.endswith("armrise")] == [
        f"{NAME}-2.armrise",
        f"{NAME}.armrise",
        "caseload.armrise",
    ]


def test_what_is_recorded_meanwhile_is_not_in_it_and_spoils_nothing(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copy is of one moment: somebody writes between two of its steps, and it goes on."""
    monkeypatch.setattr(sqlite_copy, "PAGES_A_STEP", 5)
    ledger = drafts.Unchecked(store, author="TK", now=drafts.Clock())
    steps: list[int] = []

    def meanwhile() -> bool:
        steps.append(1)
        if len(steps) == 2:
            ledger.append("T-1", [drafts.draft("visit")])
        return False

    before = held_by(store.path)
    made = make.back_up(store, make.folders_for(store), NOW, meanwhile)
    assert made.good[0].file is not None
    assert len(steps) > 5
    assert held_by(made.good[0].file) == before
    with store.reading() as connection:
        assert contents(connection).entries == made.held.entries + 1
    assert is_due(store, NOW + timedelta(days=1))


def test_a_store_opened_for_reading_is_copied_and_stays_as_it_is(store: Store) -> None:
    made = back_up(Store.open(store.path, read_only=True))
    assert len(made.good) == 1
    assert made.faults == ()
    assert last_backup(store) is None


# what goes wrong


def only_the_store(folder: Path) -> bool:
    return names(folder) in (["caseload.armrise"], ["backups", "caseload.armrise"])


def test_a_fault_in_one_folder_is_said_and_the_other_has_its_copy(store: Store, tmp_path: Path) -> None:
    gone = tmp_path / "stick"
    made = back_up(store, gone, tmp_path / "backups")
    assert made.faults == (f"no backup in {gone}: there is no such folder, make it or put the medium in",)
    assert [copy.folder.name for copy in made.good] == ["backups"]
    assert make.in_one_line(made).endswith(", 1 of 2 copies missing")
    assert last_backup(store) == NOW


def test_a_copy_that_is_not_whole_does_not_count(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite, "damage", lambda connection: ("Page 3: never used",))
    made = back_up(store)
    (fault,) = made.faults
    assert "the copy is damaged: Page 3: never used; it is not kept, check the store" in fault
    assert names(store.path.parent / "backups") == []
    assert last_backup(store) is None


def test_a_copy_that_holds_something_else_does_not_count(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = contents

    def wrong(connection: sqlite3.Connection) -> object:
        held = first(connection)
        return held if connection.in_transaction else held._replace(entries=held.entries - 1)

    monkeypatch.setattr(make, "contents", wrong)
    assert "it does not hold what the store holds" in back_up(store).faults[0]
    assert names(store.path.parent / "backups") == []


def test_a_full_disk_leaves_nothing_half_made(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "no space left on device, allow it or choose another folder" in back_up(store).faults[0]
    assert names(store.path.parent / "backups") == []


@pytest.mark.parametrize("steps", [1, 3, 8], ids=["copying", "looking", "looking further"])
def test_it_is_stopped_at_once_and_leaves_nothing(
    steps: int, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite_copy, "STEPS_A_LOOK", 10)
    monkeypatch.setattr(sqlite_copy, "PAGES_A_STEP", 200)
    asked: list[int] = []

    def stop() -> bool:
        asked.append(1)
        return len(asked) >= steps

    with pytest.raises(sqlite_copy.Stopped):
        make.back_up(store, make.folders_for(store), NOW, stop)
    assert len(asked) <= steps + 2
    assert names(store.path.parent / "backups") == []
    assert last_backup(store) is None


# a second folder


def test_a_second_folder_is_remembered_and_gets_every_copy(store: Store, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    with pytest.raises(StoreError, match=r"there is no folder .*stick: make it, or put the medium in"):
        make.also_to(store, stick)
    stick.mkdir()
    make.also_to(store, stick)
    again = Store.open(store.path)
    assert [copy.folder for copy in back_up(again).good] == [tmp_path / "backups", stick]
    assert make.folders_for(again, stick) == (stick,)  # named once, copied once
    make.also_to(store, None)
    assert make.folders_for(again) == (tmp_path / "backups",)


# thinning


def dated(folder: Path, day: int, copy: Path, name: str = "caseload") -> Path:
    """A copy of that day of June 2026, at noon."""
    path = folder / f"{name}-2026-06-{day:02}-120000.armrise"
    shutil.copy(copy, path)
    card_of(path).write_text(f"{MARK}of that day")
    return path


def test_older_copies_are_thinned_with_their_cards(store: Store, kept: Path, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    for day in (8, 9, 10):  # one week in June, five weeks back
        dated(folder, day, kept)
    card_of(folder / "caseload-2026-06-09-120000.armrise").write_text("notes of my own")
    made = back_up(store)
    assert made.good[0].thinned == 2
    assert names(folder) == [
        "caseload-2026-06-09-120000.txt",  # no card: somebody else's file stays
        "caseload-2026-06-10-120000.armrise",
        "caseload-2026-06-10-120000.txt",
        f"{NAME}.armrise",
        f"{NAME}.txt",
    ]
    assert make.told(made)[1].endswith("(2 older copies taken away)")


FOREIGN: dict[str, Callable[[Path, Path], object]] = {
    "another store of that name": lambda path, other: shutil.copy(other, path),
    "a file that is no store": lambda path, _: path.write_text("a letter"),
    "nothing": lambda path, _: path.write_bytes(b""),
    "a folder": lambda path, _: path.mkdir(),
    "a link": lambda path, other: path.symlink_to(other),
}


@pytest.mark.parametrize("put", FOREIGN.values(), ids=FOREIGN)
def test_nothing_is_thinned_that_is_not_certainly_of_this_store(
    put: Callable[[Path, Path], object], store: Store, kept: Path, tmp_path: Path
) -> None:
    """Nor does it stand for a copy of this store: it may be the newest of its week."""
    folder, other = tmp_path / "backups", tmp_path / "other.armrise"
    folder.mkdir()
    sqlite.empty_file(other)
    with contextlib.closing(sqlite.connect(other)) as connection:
        sqlite.begin_file(connection)
        connection.execute("CREATE TABLE setting (name TEXT, value TEXT)")
        connection.execute("INSERT INTO setting VALUES ('created', 'on another day')")
    ours = dated(folder, 8, kept)
    for day in (7, 9):
        put(folder / f"caseload-2026-06-{day:02}-120000.armrise", other)
    dated(folder, 9, kept, name="practice")  # of another store beside it
    before = names(folder)
    assert back_up(store).good[0].thinned == 0
    assert ours.exists()
    assert set(before) <= set(names(folder))


def test_nothing_is_thinned_where_no_copy_was_made(
    store: Store, kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    for day in (8, 9, 10):
        dated(folder, day, kept)
    before = names(folder)
    monkeypatch.setattr(sqlite, "damage", lambda connection: ("Page 3: never used",))
    assert back_up(store).good == ()
    assert names(folder) == before


# when it is due


def test_it_is_due_when_a_day_old_and_something_was_recorded_since(store: Store) -> None:
    assert is_due(store, NOW)
    back_up(store)
    assert not is_due(store, NOW + timedelta(days=3))  # nothing new
    ledger = drafts.Unchecked(store, author="TK", now=drafts.Clock())
    ledger.append("T-1", [drafts.draft("visit")])
    assert not is_due(store, NOW + timedelta(hours=23, minutes=59))
    assert is_due(store, NOW + timedelta(days=1))
    assert is_due(store, NOW - timedelta(hours=1))  # a clock that was put back: its day may never come


def test_it_is_due_for_no_store_that_is_empty_thrown_away_or_only_read(
    empty_store: Path, store: Store, tmp_path: Path
) -> None:
    assert not is_due(Store.open(shutil.copy(empty_store, tmp_path / "empty.armrise")), NOW)
    assert not is_due(Store.open(store.path, read_only=True), NOW)
    demo = Store.create(tmp_path / "demo.armrise", zone="UTC", lasting=False)
    drafts.open_case(demo)
    assert not is_due(demo, NOW)


def test_a_store_of_before_whose_backup_was_noted_by_its_time_alone_is_backed_up_again(store: Store) -> None:
    remember_backup(store, NOW, -1)
    assert is_due(store, NOW + timedelta(days=1))


def test_of_a_store_that_is_not_sound_the_copy_says_so_and_the_older_ones_stay(
    store: Store, kept: Path, tmp_path: Path
) -> None:
    """Those may be the last that are sound."""
    folder = tmp_path / "backups"
    folder.mkdir()
    older = [dated(folder, day, kept).name for day in (8, 9, 10)]
    with contextlib.closing(sqlite3.connect(store.path)) as connection, connection:
        (guard,) = connection.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'visit_no_update'"
        ).fetchone()
        connection.execute('DROP TRIGGER "visit_no_update"')
        connection.execute("UPDATE visit SET note = 'as it was never typed' WHERE id = 2")
        connection.execute(guard)
    made = back_up(store)
    assert made.good[0].thinned == 0
    assert set(older) <= set(names(folder))
    (fault,) = made.faults
    assert fault.startswith("STORE NOT SOUND, and so the copy of it: action 3 of ")
    assert make.in_one_line(made).startswith("STORE NOT SOUND, backed up as it is: 1 case")
