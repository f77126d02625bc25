"""What killed programs left is cleared where it is certainly ours and nobody's any more, and nothing else."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
from datetime import UTC, datetime
from pathlib import Path

import pytest

from armrise.store.database import sqlite
from armrise.store.exchange.backup import leftovers
from armrise.store.files import throwaway
from armrise.store.files.whole import draft_beside
from tests.store.test_place import posix

LATER = datetime.now(UTC).timestamp() + 2 * throwaway.UNTOUCHED_SECONDS


@pytest.fixture
def temporary(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that stands for the temporary one of the machine."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


@pytest.fixture
def place(empty_store: Path, tmp_path: Path, temporary: Path) -> Path:
    """A store with a folder of backups beside it."""
    folder = tmp_path / "data"
    (folder / "backups").mkdir(parents=True)
    return Path(shutil.copy(empty_store, folder / "caseload.armrise"))


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_drafts_are_cleared_beside_the_store_and_among_its_backups(place: Path) -> None:
    for folder in (place.parent, place.parent / "backups"):
        draft = draft_beside(folder / "any")
        for end in ("", *sqlite.COMPANIONS):
            draft.with_name(draft.name + end).write_bytes(b"half of it")
    assert leftovers.clear(place, LATER) == 8
    assert names(place.parent) == ["backups", "caseload.armrise"]
    assert names(place.parent / "backups") == []


def test_what_was_touched_within_the_hour_stays(place: Path) -> None:
    """It may be what another program is writing just now."""
    draft = draft_beside(place)
    draft.touch()
    assert leftovers.clear(place, datetime.now(UTC).timestamp() + 60) == 0
    assert draft.exists()


@posix
def test_what_is_not_certainly_ours_stays(place: Path, tmp_path: Path) -> None:
    folder = place.parent
    (folder / "letter.partial").write_text("half of a download")
    (folder / "notes.armrise.partial").write_text("a letter")
    (folder / "caseload.armrise.new").write_text("")  # not hidden, as ours was
    (folder / ".armrise-notes.part").write_text("a letter")
    outside = tmp_path / "outside"
    outside.write_text("elsewhere")
    draft_beside(place).symlink_to(outside)
    draft_beside(place).mkdir()
    with contextlib.closing(sqlite3.connect(folder / "other.armrise.partial")) as foreign:
        foreign.execute("CREATE TABLE t (a)")
    before = names(folder)
    assert leftovers.clear(place, LATER) == 0
    assert names(folder) == before


def test_drafts_under_the_names_of_earlier_versions_are_cleared(place: Path) -> None:
    for name in (".caseload.armrise.new", "caseload-backup.armrise.partial"):
        shutil.copy(place, place.with_name(name))
    place.with_name("empty.armrise.partial").touch()
    assert leftovers.clear(place, LATER) == 3
    assert names(place.parent) == ["backups", "caseload.armrise"]


@posix
def test_a_second_name_of_the_store_is_cleared_and_a_store_that_was_kept_stays(place: Path) -> None:
    twin = place.with_name("caseload.before-restore-2026-07-14-183005.armrise")
    os.link(place, twin)
    kept = place.with_name("caseload.before-restore-2026-07-15-183005.armrise")
    shutil.copy(place, kept)
    assert leftovers.clear(place, datetime.now(UTC).timestamp()) == 0  # a restore may be going on
    assert leftovers.clear(place, LATER) == 1
    assert names(place.parent) == ["backups", "caseload.armrise", kept.name]


# throwaway folders


def test_a_folder_goes_with_its_program(temporary: Path) -> None:
    with throwaway.throwaway() as folder:
        (folder / "caseload.armrise").write_text("a demo")
        assert folder.stat().st_mode & 0o077 == 0
        assert throwaway.clear_throwaways(LATER) == 0  # somebody has it
        assert names(folder) == ["caseload.armrise", "owner.lock"]
    assert names(temporary) == []


@posix
def test_the_folder_of_a_program_that_was_killed_is_cleared_and_that_of_a_live_one_stays(
    temporary: Path,
) -> None:
    code = """
        import sys, tempfile
        tempfile.tempdir = sys.argv[1]
        from armrise.store.files.throwaway import throwaway
        with throwaway() as folder:
            (folder / "caseload.armrise").write_text("a demo")
            print(folder.name, flush=True)
            sys.stdin.read()
    """
    given = [sys.executable, "-c", textwrap.dedent(code), str(temporary)]
    with subprocess.Popen(given, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdout is not None
        name = program.stdout.readline().strip()
        assert throwaway.clear_throwaways(LATER) == 0
        assert names(temporary) == [name]
        program.kill()
        program.wait()
        assert throwaway.clear_throwaways(0) == 0  # too young: it might be about to be locked
        assert throwaway.clear_throwaways(LATER) == 1
    assert names(temporary) == []


@posix
def test_no_folder_is_cleared_that_no_program_of_ours_made(temporary: Path, tmp_path: Path) -> None:
    (temporary / "armrise-notes").mkdir()
    (temporary / "armrise-letter").write_text("to the surgeon")
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / throwaway.OWNER).touch()
    (temporary / "armrise-link").symlink_to(outside)
    (temporary / "armrise-linked").mkdir()
    (temporary / "armrise-linked" / throwaway.OWNER).symlink_to(outside / throwaway.OWNER)
    (temporary / "other-program").mkdir()
    (temporary / "other-program" / throwaway.OWNER).touch()
    assert throwaway.clear_throwaways(LATER) == 0
    assert len(names(temporary)) == 5


@posix
def test_what_cannot_be_cleared_stays_and_raises_nothing(tmp_path: Path, temporary: Path) -> None:
    assert leftovers.clear(tmp_path / "gone" / "caseload.armrise", LATER) == 0
    assert leftovers.clear(None, LATER) == 0
