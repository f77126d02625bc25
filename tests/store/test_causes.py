"""What stands in the way of the database is said in true words, and only damage asks for a backup.

Each is made to happen, where this system lets a test do so: a full disk is a small one of its own, a limit on
the size of files the account's own, a lock another process's. The result codes are those of the SQLite
documentation (sqlite.org/rescode.html).
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.database import causes, sqlite
from armrise.store.database.place import Store, StoreError
from tests.store import drafts
from tests.store.test_place import as_nobody, one_sentence, posix

SMALL = 'mount -t tmpfs -o size=1500k,mode=700 tmpfs "$0" && exec "$@"'
"""A disk of its own, that nobody else sees and that is gone with the process."""
ATTEMPTS = """
    import hashlib, os, sys
    from pathlib import Path
    from armrise.store.caseload import read as caseload
    from armrise.store.database.place import Store, StoreError
    from armrise.store.exchange.out.minutes import write_minutes
    from tests.store import drafts

    def attempt(what):
        try:
            print("done", what())
        except StoreError as refused:
            print(refused)
"""


def said(*command: str | Path, code: str, **more: object) -> list[str]:
    """What a program of its own prints, line by line."""
    program = textwrap.dedent(ATTEMPTS) + textwrap.dedent(code)
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [*map(str, command), sys.executable, "-c", program],
        capture_output=True, text=True, check=False, cwd=root, **more,  # pyright: ignore
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


def own_disks() -> bool:
    """True where a test may have a disk of its own."""
    if os.name != "posix" or os.geteuid() != 0 or shutil.which("unshare") is None:
        return False
    tried = subprocess.run(["unshare", "-m", "mount", "-t", "tmpfs", "tmpfs", "/mnt"], capture_output=True)
    return tried.returncode == 0


own_disk = pytest.mark.skipif(not own_disks(), reason="a disk of its own needs the right to mount one")


@own_disk
def test_a_full_disk_is_said_to_be_full_and_reading_goes_on(tmp_path: Path) -> None:
    lines = said(
        "unshare", "-m", "sh", "-c", SMALL, tmp_path,
        code=f"""
        path = Path({str(tmp_path)!r}) / "s.armrise"
        store = Store.create(path, zone="UTC")
        ledger = drafts.open_case(store)
        with open(path.with_name("filling"), "wb", buffering=0) as filling:
            try:
                while True:
                    filling.write(bytes(4096))
            except OSError:
                pass
        attempt(lambda: ledger.append("T-1", [drafts.draft("visit")]))
        attempt(lambda: caseload.codes(store))
        attempt(lambda: caseload.codes(Store.open(path)))
        attempt(lambda: caseload.codes(Store.open(path, read_only=True)))
        attempt(lambda: Store.create(path.with_name("other"), zone="UTC"))
        attempt(lambda: write_minutes(path.with_name("minutes.txt"), "new" * 4096))
        print(sorted(os.listdir(path.parent)))
        path.with_name("filling").unlink()
        attempt(lambda: ledger.append("T-1", [drafts.draft("visit")]))
        """,
    )  # fmt: skip
    assert lines[0].startswith(f"no room left on the disk of {tmp_path}")
    assert lines[0].endswith("nothing was written, make room; what is recorded can be read")
    assert lines[1:4] == ["done ['T-1']"] * 3
    assert "no room left" in lines[4] or "no space left" in lines[4]
    assert lines[5].endswith("(no space left on device): make room, then write again")
    assert "other" not in lines[6]
    assert "minutes.txt" not in lines[6]
    assert lines[7].startswith("done")


@own_disk
def test_a_disk_that_became_read_only(tmp_path: Path) -> None:
    lines = said(
        "unshare", "-m", "sh", "-c", SMALL, tmp_path,
        code=f"""
        path = Path({str(tmp_path)!r}) / "s.armrise"
        store = Store.create(path, zone="UTC")
        ledger = drafts.open_case(store)
        assert os.system(f"mount -o remount,ro {{path.parent}}") == 0
        attempt(lambda: ledger.append("T-1", [drafts.draft("visit")]))
        attempt(lambda: caseload.codes(Store.open(path, read_only=True)))
        """,
    )  # fmt: skip
    assert lines[0].endswith(
        "is read-only: nothing was written, make it writable, or open the store read-only"
    )
    assert lines[1] == "done ['T-1']"


@posix
def test_a_limit_on_the_size_of_files(tmp_path: Path) -> None:
    lines = said(
        code=f"""
        import resource
        path = Path({str(tmp_path)!r}) / "s.armrise"
        store = Store.create(path, zone="UTC")
        ledger = drafts.open_case(store)
        resource.setrlimit(resource.RLIMIT_FSIZE, (16384, 16384))
        attempt(lambda: ledger.append("T-1", [drafts.draft("visit")]))
        attempt(lambda: caseload.codes(store))
        """
    )
    assert lines[0].endswith(
        "may not grow (a limit on the size of files): nothing was written, raise the limit"
    )
    assert lines[1] == "done ['T-1']"


def full_from_now(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite itself refuses to let the file grow."""
    connect = store.connect

    def connected() -> sqlite3.Connection:
        connection = connect()
        connection.execute("PRAGMA max_page_count = 1")  # no less than the file has
        return connection

    vars(store).pop("engine", None)
    monkeypatch.setattr(store, "connect", connected)


def test_a_file_that_can_grow_no_more_keeps_what_it_has(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = drafts.open_case(store)
    full_from_now(store, monkeypatch)
    with pytest.raises(StoreError, match="no room left on the disk of") as refused:
        ledger.append("T-1", [drafts.draft("visit", note="n" * 200) for _ in range(400)])
    assert one_sentence(str(refused.value))
    assert "backup" not in str(refused.value)
    with store.reading() as connection:
        assert sqlite.damage(connection) == ()


def test_a_file_taken_away_while_it_is_open_is_not_begun_anew(store: Store, tmp_path: Path) -> None:
    ledger = drafts.open_case(store)
    store.path.rename(tmp_path / "elsewhere")
    for attempt in (
        lambda: ledger.append("T-1", [drafts.draft("visit")]),
        lambda: caseload.codes(store),
    ):
        with pytest.raises(StoreError, match="is not there any more: nothing was written, no new file begun"):
            attempt()
    assert not store.path.exists()
    (tmp_path / "elsewhere").rename(store.path)
    assert caseload.codes(store) == ["T-1"]


def test_a_folder_taken_away(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    store = Store.create(folder / "s.armrise", zone="UTC")
    folder.rename(tmp_path / "elsewhere")
    with pytest.raises(StoreError, match=r"the folder .* is not there any more: nothing was written"):
        caseload.codes(store)
    assert not folder.exists()


def test_a_folder_in_the_place_of_the_file(store: Store) -> None:
    store.path.unlink()
    store.path.mkdir()
    with pytest.raises(StoreError) as refused:
        caseload.codes(store)
    assert "backup" not in str(refused.value)


@posix
def test_permissions_lost_while_it_is_open(tmp_path: Path) -> None:
    folder = Path(os.path.realpath(tmp_path)) / "own"
    folder.mkdir(mode=0o777)
    folder.chmod(0o777)
    for above in folder.parents:
        if above.stat().st_uid == os.geteuid() and not above.stat().st_mode & 0o001:
            above.chmod(above.stat().st_mode | 0o011)
    code = """
        import tempfile
        from armrise.store.caseload import read as caseload
        from armrise.store.database.place import (Store, StoreError)
        with tempfile.TemporaryDirectory() as first:  # nobody may not import what is imported late
            Store.create(pathlib.Path(first) / "s.armrise", zone="UTC")
        {become}
        path = pathlib.Path(sys.argv[1])
        store = Store.create(path, zone="UTC")
        def attempt():
            try:
                with store.writing() as connection:
                    connection.execute("INSERT INTO remembered VALUES ('a', 'b')")
                print("let in")
            except StoreError as refused:
                print(refused)
        for file, mode in ((path, 0o000), (path, 0o400), (path.parent, 0o500), (path.parent, 0o000)):
            was = file.stat().st_mode
            try:
                file.chmod(mode)
            except PermissionError:
                os.chmod(file, was)
            attempt()
            file.chmod(was)
    """
    if os.geteuid() == 0:
        os.chown(folder, 65534, 65534)
    unread, unwritten, closed, shut = as_nobody(code, folder / "s.armrise").splitlines()
    assert unread.endswith("may not be read by this account: nothing was written, allow it")
    assert unwritten.endswith(
        "may not be written: nothing was written, allow it, or open the store read-only"
    )
    assert "cannot be written: nothing was written, allow it" in closed
    assert "cannot be entered (permission denied): nothing was written, allow it" in shut


@pytest.mark.parametrize(
    ("code", "message", "words"),
    [
        (
            sqlite3.SQLITE_IOERR_READ,
            "disk I/O error",
            "answers with a fault (disk I/O error): nothing was written",
        ),
        (sqlite3.SQLITE_IOERR_FSYNC, "disk I/O error", "whether the last entry is kept is not certain"),
        (sqlite3.SQLITE_CORRUPT, "database disk image is malformed", "is damaged"),
        (sqlite3.SQLITE_ERROR, "no such table: visit", "is damaged (no such table: visit)"),
        (
            sqlite3.SQLITE_NOMEM,
            "out of memory",
            "could not do it (out of memory): nothing was written, try again",
        ),
    ],
)
def test_what_no_test_can_make_happen(store: Store, code: int, message: str, words: str) -> None:
    error = sqlite3.OperationalError(message)
    error.sqlite_errorcode = code
    told = causes.in_words(store.path, error)
    assert words in told
    assert one_sentence(told)
    assert ("backup" in told) == ("is damaged" in words)


@pytest.mark.parametrize(
    ("code", "message", "words"),
    [
        (sqlite3.SQLITE_IOERR_READ, "disk I/O error", "the disk of {} answers with a fault (disk I/O error)"),
        (sqlite3.SQLITE_NOMEM, "out of memory", "the database could not do it (out of memory): nothing was"),
        (sqlite3.SQLITE_CORRUPT, "malformed", "visit 4 of the store cannot be read (malformed): armrise ver"),
        (0, "Could not decode to UTF-8 column", "visit 4 of the store cannot be read (a text in it is no te"),
    ],
)
def test_the_row_is_named_where_damage_is_proved_and_the_true_cause_elsewhere(
    store: Store, code: int, message: str, words: str
) -> None:
    """A disk that gives no answer while a row is read has not damaged the row: no backup is asked for."""
    error = sqlite3.OperationalError(message)
    error.sqlite_errorcode = code
    error.add_note("visit 4")
    with pytest.raises(StoreError) as refused, store.reading():
        raise error
    assert str(refused.value).startswith(words.format(store.path))


def test_a_text_of_the_file_that_is_no_text_is_damage(store: Store) -> None:
    with pytest.raises(StoreError) as refused, store.reading():
        b"\xff".decode()
    assert "is damaged (a text in it is no text): nothing was written, keep the file" in str(refused.value)
