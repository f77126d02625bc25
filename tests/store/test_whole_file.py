"""A file put on the disk whole: what is synced and when, what is replaced, what a failure leaves."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from armrise.store.database.place import Store
from armrise.store.files import whole
from tests.store.test_place import posix


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was done to the disk, in order."""
    done: list[str] = []
    opened: dict[int, str] = {}
    real_open, real_fsync = os.open, os.fsync

    def note(what: str, call):
        def noted(*given, **named):
            done.append(what)
            return call(*given, **named)

        return noted

    def open_(path, *given, **named):
        handle = real_open(path, *given, **named)
        opened[handle] = "folder" if Path(path).is_dir() else "file"
        return handle

    def fsync(handle: int) -> None:
        done.append(f"sync {opened[handle]}")
        real_fsync(handle)

    monkeypatch.setattr(os, "open", open_)
    monkeypatch.setattr(os, "fsync", fsync)
    for name in ("replace", "rename", "link"):
        monkeypatch.setattr(os, name, note(name, getattr(os, name)))
    return done


@posix
def test_the_file_is_on_the_disk_before_its_name_and_the_name_before_it_is_done(
    tmp_path: Path, steps: list[str]
) -> None:
    """Else a power cut may leave the name of a file that is empty, or neither of two files."""
    path = tmp_path / "page"
    whole.write_whole(path, "one")
    assert steps == ["sync file", "replace", "sync folder"]
    steps.clear()
    whole.write_whole(tmp_path / "new", "two", over=False)
    assert steps == ["sync file", "link", "sync folder"]


@posix
def test_a_new_store_is_synced_and_one_that_is_thrown_away_waits_for_no_disk(
    tmp_path: Path, steps: list[str]
) -> None:
    Store.create(tmp_path / "kept.armrise", zone="UTC")
    assert steps == ["sync file", "link", "sync folder"]
    steps.clear()
    Store.create(tmp_path / "demo.armrise", zone="UTC", lasting=False)
    assert steps == ["link"]


@posix
def test_what_is_written_is_for_its_owner_alone(tmp_path: Path) -> None:
    path = tmp_path / "page"
    path.write_text("open to all")
    path.chmod(0o666)
    whole.write_whole(path, "line\nline\n")
    assert path.read_bytes() == b"line\nline\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize("links", [True, False], ids=["with second names", "without"])
def test_a_name_that_is_taken_is_not_replaced_unless_asked(
    tmp_path: Path, links: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also on a file system, such as that of a stick, where a file has one name only."""

    def no_links(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    if not links:
        monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "page"
    whole.write_whole(path, "one", over=False)
    with pytest.raises(FileExistsError):
        whole.write_whole(path, "two", over=False)
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    with pytest.raises(FileExistsError):
        whole.write_whole(tmp_path / "nowhere", "two", over=False)
    assert path.read_text() == "one"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["nowhere", "page"]
    assert path.stat().st_nlink == 1


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_failure_leaves_the_file_of_before_and_no_draft(
    failing: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "page"
    path.write_text("before")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, failing, fail)
    with pytest.raises(OSError, match="No space left"):
        whole.write_whole(path, "after")
    assert [p.name for p in tmp_path.iterdir()] == ["page"]
    assert path.read_text() == "before"


def test_a_draft_is_named_as_nothing_else_is(tmp_path: Path) -> None:
    draft = whole.draft_beside(tmp_path / "page")
    assert draft.parent == tmp_path
    assert all(whole.DRAFT.fullmatch(draft.name + end) for end in ("", "-wal", "-shm", "-journal"))
    for name in ("page", ".armrise.part", ".armrise-notes.part", f"{draft.name}.txt", draft.name[1:]):
        assert not whole.DRAFT.fullmatch(name)


def test_a_free_name_has_its_number_before_the_ending(tmp_path: Path) -> None:
    path = tmp_path / "copy.armrise"
    for name in ("copy.armrise", "copy-2.armrise", "copy-3.armrise"):
        free = whole.free_name(path)
        assert free.name == name
        free.touch()


@posix
def test_what_is_added_goes_to_a_private_file_and_through_no_link_or_pipe(tmp_path: Path) -> None:
    log = tmp_path / "logs" / "faults.log"
    whole.add_private(log, "one\n")
    whole.add_private(log, "two\n")
    assert log.read_text() == "one\ntwo\n"
    assert stat.S_IMODE(log.stat().st_mode) == 0o600
    store, pipe = tmp_path / "caseload.armrise", tmp_path / "pipe"
    store.write_bytes(b"SQLite format 3\0")
    log.unlink()
    log.symlink_to(store)
    os.mkfifo(pipe)
    for path in (log, pipe):
        with pytest.raises(OSError):
            whole.add_private(path, "three\n")
    assert store.read_bytes() == b"SQLite format 3\0"
