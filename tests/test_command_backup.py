"""``armrise backup``, ``armrise restore`` and the backup on the way out: what they say, what they leave."""

from __future__ import annotations

import io
import shutil
import sys
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload.recorded import newest_recorded
from armrise.store.database import sqlite_copy
from armrise.store.database.place import Store
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.exchange.backup.remembered import last_backup
from armrise.tui.app import leaving
from armrise.tui.command import main as command
from armrise.tui.shell.intake import existing
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import rules
from tests.store import drafts

NOW = datetime(2026, 7, 14, 17, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("made") / "caseload.armrise"
    drafts.open_case(Store.create(path, zone="Europe/London")).append("T-1", [drafts.draft("visit")])
    return path


@pytest.fixture
def place(made_once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's own store, with one case."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    (tmp_path / "armrise").mkdir()
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copy(made_once, tmp_path / "armrise" / "caseload.armrise"))


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, list[str], list[str]]:
    code = command.run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return code, out.splitlines(), err.splitlines()


def copies(folder: Path) -> list[Path]:
    return sorted(folder.glob("caseload-*.armrise"))


# backup


def test_a_backup_goes_beside_the_store_and_says_where(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "backup")
    (copy,) = copies(place.parent / "backups")
    assert (code, err) == (0, [])
    assert out[0].startswith("Backup of ")
    assert ": 1 case, 1 entry, the newest of Mon 2 Mar 2026, 09:0" in out[0]
    assert out[1:] == [f"  {copy}"]
    assert last_backup(Store.open(place)) is not None


def test_another_folder_for_once_and_one_for_good(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    once, stick = place.parent / "once", place.parent / "stick"
    once.mkdir()
    stick.mkdir()
    assert run(capsys, "backup", "armrise/once", "--also", "armrise/stick")[0] == 0
    assert [len(copies(folder)) for folder in (once, stick)] == [1, 1]
    assert not (place.parent / "backups").exists()
    assert run(capsys, "backup")[0] == 0
    assert [len(copies(folder)) for folder in (once, stick, place.parent / "backups")] == [1, 2, 1]
    shutil.rmtree(stick)
    code, out, err = run(capsys, "backup")
    assert (code, len(out)) == (1, 2)
    assert err == [f"armrise: no backup in {stick}: there is no such folder, make it or put the medium in."]
    assert run(capsys, "backup", "--not-also")[0] == 0
    assert run(capsys, "backup", "--not-also", "--also", once)[0] == 2


def test_what_cannot_be_backed_up_is_one_sentence(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "backup", "nowhere")
    assert (code, out) == (1, [])
    assert err == [
        f"armrise: no backup in {place.parents[1] / 'nowhere'}: there is no such folder, "
        "make it or put the medium in."
    ]
    code, out, err = run(capsys, "backup", "--store", "nowhere.armrise")
    assert (code, out) == (1, [])
    load = "load a caseload file: armrise load FILE"
    assert err == [
        "armrise: there is no store at nowhere.armrise: give the path of another one, "
        f"or {load} --store nowhere.armrise"
    ]
    assert last_backup(Store.open(place)) is None
    place.unlink()
    code, out, err = run(capsys, "backup")
    how = f"open armrise once to create an empty one, or {load}"
    assert (code, out, err) == (1, [], [f"armrise: there is no store at {place}: {how}"])


def test_a_store_is_opened_for_writing_where_that_is_asked_for_and_allowed(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A backup is made of a store that may only be read as well."""
    assert [existing(place, writing=how).read_only for how in (True, False, None)] == [False, True, False]
    monkeypatch.setattr(SqliteFile, "may_write", lambda _: False)
    assert existing(place, writing=None).read_only


# restore


def test_a_copy_whose_words_were_changed_is_told_before_it_is_put_in_place(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found by the soak: every page of it was whole, so that nothing was said."""
    ledger = drafts.Unchecked(Store.open(place), "TK", drafts.Clock(datetime(2026, 3, 2, 10, tzinfo=UTC)))
    ledger.append("T-1", [drafts.draft("visit", note="slept on the left side")])
    run(capsys, "backup")
    (copy,) = copies(place.parent / "backups")
    copy.write_bytes(copy.read_bytes().replace(b"slept on the left", b"slept on the lift"))
    monkeypatch.setattr(sys, "stdin", io.StringIO())  # nobody answers
    code, out, _ = run(capsys, "restore", copy)
    assert code == 130
    assert out[1] == "           1 case, 2 entries, the newest of Mon 2 Mar 2026, 10:00"
    assert out[2].startswith("           NOT SOUND: ")
    assert out[3] == "           It does not say what was written: look for another copy first."
    assert "lift" not in "".join(out)


def test_a_restore_tells_asks_and_says_how_to_go_back(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run(capsys, "backup")
    (copy,) = copies(place.parent / "backups")
    ledger = drafts.Unchecked(Store.open(place), "TK", drafts.Clock(datetime(2026, 3, 2, 10, tzinfo=UTC)))
    ledger.append("T-1", [drafts.draft("visit"), drafts.draft("visit")])
    monkeypatch.setattr(sys, "stdin", io.StringIO())  # nobody answers
    code, out, err = run(capsys, "restore", copy)
    assert (code, err) == (130, ["Stopped."])
    assert out[:6] == [
        f"The copy:  {copy}",
        "           1 case, 1 entry, the newest of Mon 2 Mar 2026, 09:00; every page and row is sound",
        f"The store: {place}",
        "           1 case, 3 entries, the newest of Mon 2 Mar 2026, 10:00",
        "Lost by it: 2 entries of 1 case, recorded from Mon 2 Mar 2026, 10:00 to Mon 2 Mar 2026, 10:00",
        "The present store is kept under another name in its folder; nothing is deleted.",
    ]
    code, out, err = run(capsys, "restore", copy, "--yes")
    (kept,) = place.parent.glob("caseload.before-restore-*.armrise")
    assert (code, err) == (0, [])
    assert out[-3:] == [
        f"Done: {place} holds what the copy holds, looked at page by page once more.",
        f"What lay there is kept: {kept}",
        f"To go back: armrise restore {kept}",
    ]
    assert run(capsys, "restore", kept, "--yes")[0] == 0
    newest = newest_recorded(Store.open(place))
    assert newest is not None
    assert newest.hour == 10


def test_a_restore_of_a_damaged_store_says_what_cannot_be_told(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(capsys, "backup")
    (copy,) = copies(place.parent / "backups")
    place.write_bytes(b"\0" * 4096)
    code, out, _ = run(capsys, "restore", copy, "--store", place, "--yes")
    assert code == 0
    assert out[3] == "           it is no store, or damaged: the file is not a database"
    assert out[4] == "Lost by it: cannot be told, as the present store cannot be read"
    assert out[-1].endswith(f" --store {place}")
    code, out, _ = run(capsys, "restore", copy, "--store", "new.armrise", "--yes")
    assert code == 0
    assert out[3] == "           there is none yet"
    assert out[-1].startswith("Done: ")


@pytest.mark.parametrize("words", [["restore"], ["restore", "gone.armrise", "--force"], ["backup", "a", "b"]])
def test_wrong_usage(words: list[str], place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, *words)[0] == 2


# on the way out


def door(path: Path, now: datetime = NOW, **more: Any) -> StoreDoor:
    store = Store.open(path, **more)
    return StoreDoor(store, rules(), "TK", store.today, lambda: now)


def test_leaving_makes_the_backup_that_is_due_and_says_so(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    leaving.back_up(door(place), asked=False)
    assert capsys.readouterr().err.splitlines() == [
        leaving.BACKING_UP,
        "armrise: backed up: 1 case, 1 entry.",
    ]
    assert len(copies(place.parent / "backups")) == 1
    leaving.back_up(door(place, NOW + timedelta(days=2)), asked=False)  # nothing was recorded since
    assert capsys.readouterr().err == ""
    leaving.back_up(door(place, NOW + timedelta(days=2)), asked=True)
    assert len(copies(place.parent / "backups")) == 2


def test_leaving_backs_up_no_store_that_is_read_only_or_thrown_away(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    demo = tmp_path / "demo.armrise"
    drafts.open_case(Store.create(demo, zone="UTC", lasting=False))
    leaving.back_up(door(demo), asked=False)
    leaving.back_up(door(place, read_only=True), asked=False)
    assert capsys.readouterr().err == ""
    assert not (place.parent / "backups").exists()


def test_ctrl_c_leaves_without_and_leaves_no_half_file(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copy goes on until somebody stops it; the key comes while it does."""
    monkeypatch.setattr(sqlite_copy, "PAGES_A_STEP", 1)
    began = threading.Event()

    def waiting(of: StoreDoor, stop: threading.Event, said: list[str]) -> None:
        def stopped() -> bool:
            began.set()
            return stop.wait(20)

        of.back_up = lambda _: StoreDoor.back_up(of, stopped)  # type: ignore[method-assign]
        copying(of, stop, said)

    def key(_: threading.Thread, timeout: float | None = None) -> None:
        joined(_, timeout)
        if timeout is not None and began.is_set():
            raise KeyboardInterrupt

    copying, joined = leaving._copy, threading.Thread.join
    monkeypatch.setattr(leaving, "_copy", waiting)
    monkeypatch.setattr(threading.Thread, "join", key)
    leaving.back_up(door(place), asked=False)
    assert capsys.readouterr().err.splitlines() == [leaving.BACKING_UP, leaving.STOPPED]
    assert list((place.parent / "backups").iterdir()) == []
    assert last_backup(Store.open(place)) is None


def test_a_fault_on_the_way_out_is_one_sentence(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (place.parent / "backups").write_text("a file where the folder should be")
    leaving.back_up(door(place), asked=False)
    told = capsys.readouterr().err.splitlines()
    assert told[1] == "armrise: not backed up."
    assert told[2].startswith(f"armrise: no backup in {place.parent / 'backups'}: file exists, allow it")
    of = door(place)
    place.unlink()
    leaving.back_up(of, asked=False)  # the screen has said so
    assert capsys.readouterr().err == ""
