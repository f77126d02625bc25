"""The files armrise writes out never take the place of a record, or of anything else they did not make."""

from __future__ import annotations

import os
import re
import stat
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import NamedTuple

import pytest

from armrise.store.database import sqlite_copy
from armrise.store.database.place import Store, StoreError
from armrise.store.exchange.out import handover, minutes
from armrise.store.exchange.out.private_file import write_private
from armrise.store.exchange.paper.tree import mark_of
from armrise.store.files import whole as whole_file
from armrise.tui.command import main as command
from tests.store import drafts
from tests.store.test_place import as_nobody, one_sentence, posix


class Kind(NamedTuple):
    """A kind of file: how it is written, and a text of that kind as its writer leaves it."""

    write: Callable[[Path, str], None]
    given: str
    left: str


AUDIT = mark_of("audit")
"""How every page of an audit begins."""


def write_audit(path: Path, text: str, force: bool | None = None) -> None:
    write_private(path, text, "audit", AUDIT, force)


KINDS = {
    "audit": Kind(write_audit, AUDIT + "<p>new", AUDIT + "<p>new"),
    "handover": Kind(handover.write_handover, "new\n", handover.MARK + "new\n"),
    "minutes": Kind(minutes.write_minutes, "new\n", minutes.MARK + "new\n"),
}
each_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


def everything(folder: Path) -> dict[str, bytes | str]:
    """Every name of the folder: what the file holds, or where the link leads."""
    return {
        path.name: os.readlink(path) if path.is_symlink() else path.read_bytes()
        for path in folder.iterdir()
        if not path.is_dir()
    }


def refusal(kind: Kind, path: Path) -> str:
    """The sentence of a refusal that changed nothing beside the file."""
    folder = Path(os.path.abspath(path)).parent
    before = everything(folder)
    with pytest.raises(StoreError) as caught:
        kind.write(path, kind.given)
    assert everything(folder) == before
    assert one_sentence(str(caught.value))
    assert str(path) in str(caught.value)
    return str(caught.value)


# the store


SPELLINGS: dict[str, Callable[[Path], Path]] = {
    "as it is": lambda path: path,
    "round about": lambda path: path.parent / ".." / path.parent.name / path.name,
    "a symbolic link": lambda path: linked(path, Path.symlink_to),
    "a link to a link": lambda path: linked(linked(path, Path.symlink_to), Path.symlink_to),
    "a hard link": lambda path: linked(path, Path.hardlink_to),
    "its log": lambda path: path.with_name(path.name + "-wal"),
    "its index of the log": lambda path: path.with_name(path.name + "-shm"),
    "its journal": lambda path: path.with_name(path.name + "-journal"),
    "its log in capitals": lambda path: path.with_name(path.name + "-WAL"),
    "a link to its log": lambda path: linked(path.with_name(path.name + "-wal"), Path.symlink_to),
    "a copy": lambda path: copied(path),
}


def linked(path: Path, link: Callable[[Path, Path], None]) -> Path:
    page = path.with_name(f"{len(list(path.parent.iterdir()))}.html")
    link(page, path)
    return page


def copied(path: Path) -> Path:
    target = path.with_name("copy.html")
    with Store.open(path).reading() as connection:
        sqlite_copy.copy_to(connection, target)
    return target


@posix
def whole(store: Store) -> bool:
    """What SQLite's own thorough check says of the file."""
    with store.reading() as connection:
        return connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.parametrize("in_use", [False, True], ids=["closed", "in use"])
@pytest.mark.parametrize("spelling", SPELLINGS.values(), ids=SPELLINGS)
@each_kind
def test_no_file_takes_the_place_of_a_store_or_of_its_logs(
    kind: Kind, spelling: Callable[[Path], Path], in_use: bool, store: Store
) -> None:
    drafts.open_case(store)
    path = spelling(store.path)
    if in_use:
        with store.reading() as connection:
            connection.execute("SELECT count(*) FROM setting").fetchone()
            refusal(kind, path)
    else:
        refusal(kind, path)
    assert whole(store)


@each_kind
def test_a_relative_path_to_the_store_is_refused(
    kind: Kind, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(store.path.parent)
    said = refusal(kind, Path(store.path.name))
    assert said.endswith("(that is the place of a store): give another name, then write again")


@each_kind
def test_the_path_of_the_store_in_other_letters_leaves_it_as_it_was(kind: Kind, store: Store) -> None:
    """Where a file system takes both for one name, this is the store; elsewhere it is a file of its own."""
    path = store.path.with_name(store.path.name.upper())
    before = store.path.read_bytes()
    if path.exists():
        refusal(kind, path)
    else:
        kind.write(path, kind.given)
    assert store.path.read_bytes() == before


@each_kind
def test_a_store_with_the_name_of_a_draft_stays(kind: Kind, store: Store) -> None:
    hidden = store.path.rename(store.path.with_name(".page.html.new"))
    before = hidden.read_bytes()
    kind.write(hidden.with_name("page.html"), kind.given)
    assert hidden.read_bytes() == before


# anything else


@each_kind
@pytest.mark.parametrize(
    "held", [b"", b"a letter\n", b"\xff\xfe\x00", b"<!doctype html>\n<p>another page", b" " * 70_000]
)
def test_a_file_of_another_kind_is_kept(kind: Kind, held: bytes, tmp_path: Path) -> None:
    path = tmp_path / "kept"
    path.write_bytes(held)
    said = refusal(kind, path)
    assert said.endswith("lies there): move it away or give another name, then write again")


def test_one_kind_does_not_replace_the_other(tmp_path: Path) -> None:
    audit, notes = KINDS["audit"], KINDS["minutes"]
    audit.write(tmp_path / "audit", audit.given)
    notes.write(tmp_path / "notes", notes.given)
    refusal(audit, tmp_path / "notes")
    refusal(notes, tmp_path / "audit")


@posix
@each_kind
def test_what_is_no_file_is_kept(kind: Kind, tmp_path: Path) -> None:
    folder, nowhere, pipe = (tmp_path / name for name in ("folder", "nowhere", "pipe"))
    folder.mkdir()
    nowhere.symlink_to(tmp_path / "on a stick that is not in")
    os.mkfifo(pipe)
    with pytest.raises(StoreError, match=re.escape("(a folder lies there): give the name of a file")):
        kind.write(folder, kind.given)
    for path, why in ((nowhere, "a link lies there"), (pipe, "what lies there is no file")):
        with pytest.raises(StoreError, match=why):
            kind.write(path, kind.given)
    assert folder.is_dir()
    assert nowhere.is_symlink()
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@each_kind
def test_a_place_where_nothing_can_be_written_is_one_sentence(kind: Kind, tmp_path: Path) -> None:
    missing = "(no such file or directory): make the folder, then write again"
    with pytest.raises(StoreError, match=re.escape(missing)):
        kind.write(tmp_path / "gone" / "page.html", kind.given)
    with pytest.raises(StoreError, match=r"\(file name too long\): allow it, then write again"):
        kind.write(tmp_path / ("long" * 100), kind.given)
    assert list(tmp_path.iterdir()) == []


@posix
@pytest.mark.parametrize("name", KINDS)
def test_a_read_only_folder_is_one_sentence(name: str) -> None:
    code = f"""
        import tests.store.test_private_file as here
        kind = here.KINDS[{name!r}]
        {{become}}
        try:
            kind.write(pathlib.Path(sys.argv[1]), kind.given)
        except here.StoreError as refused:
            print(refused)
    """
    with tempfile.TemporaryDirectory() as closed:
        os.chmod(closed, 0o555)
        path = Path(closed) / "page.html"
        said = as_nobody(code, path)
        assert said == f"cannot write the {name} to {path} (permission denied): allow it, then write again"
        assert list(Path(closed).iterdir()) == []


# their own


@each_kind
def test_a_file_of_the_same_kind_is_replaced_whole_and_private(kind: Kind, tmp_path: Path) -> None:
    path = tmp_path / "page"
    kind.write(path, kind.given + "older, and longer than what follows it")
    path.chmod(0o644)
    kind.write(path, kind.given)
    assert path.read_text(encoding="utf-8") == kind.left
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [p.name for p in tmp_path.iterdir()] == ["page"]


@each_kind
def test_a_write_that_fails_keeps_the_file_of_before(
    kind: Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "page"
    kind.write(path, kind.given)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "(no space left on device)" in refusal(kind, path)


@posix
@each_kind
def test_a_link_is_neither_followed_nor_replaced(kind: Kind, tmp_path: Path) -> None:
    """What it leads to may be another's; even a file of the same kind is written to by its own name alone."""
    page, link = tmp_path / "page", tmp_path / "link"
    kind.write(page, kind.given)
    link.symlink_to(page)
    assert "(a link lies there)" in refusal(kind, link)


@each_kind
def test_a_file_that_came_meanwhile_is_kept(
    kind: Kind, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the look and the writing somebody else puts a file there: a rename would replace it."""
    path = tmp_path / "page"
    synced = whole_file.sync

    def meanwhile(draft: Path) -> None:
        synced(draft)
        path.write_text("a letter")

    monkeypatch.setattr(whole_file, "sync", meanwhile)
    with pytest.raises(StoreError, match="a file was put there just now"):
        kind.write(path, kind.given)
    assert path.read_text() == "a letter"
    assert [p.name for p in tmp_path.iterdir()] == ["page"]


# forced


def test_force_replaces_another_file_and_says_so_where_it_may_be_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text("<p>another page")
    with pytest.raises(StoreError, match=r"or give another name, or put it in its place with --force, then"):
        write_audit(path, "new", force=False)
    assert path.read_text() == "<p>another page"
    write_audit(path, "new", force=True)
    assert path.read_text() == "new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize("spelling", SPELLINGS.values(), ids=SPELLINGS)
def test_not_even_force_replaces_a_store_or_its_logs(spelling: Callable[[Path], Path], store: Store) -> None:
    drafts.open_case(store)
    path = spelling(store.path)
    refusal(KINDS["audit"]._replace(write=partial(write_audit, force=True)), path)
    assert whole(store)


@pytest.mark.parametrize("name", ["mine.armrise", "MINE.ARMRISE", "mine.armrise-wal"])
def test_not_even_force_replaces_what_is_named_like_a_store(name: str, tmp_path: Path) -> None:
    """A store whose beginning is damaged, or cannot be read, still has its name."""
    (tmp_path / "mine.armrise").write_bytes(b"\0" * 100)
    path = tmp_path / name
    path.write_bytes(b"\0" * 100)
    with pytest.raises(StoreError, match="that is the place of a store"):
        write_audit(path, "new", force=True)


@posix
def test_not_even_force_writes_to_what_is_no_file(tmp_path: Path) -> None:
    pipe, link = tmp_path / "pipe", tmp_path / "link"
    os.mkfifo(pipe)
    link.symlink_to(tmp_path / "elsewhere")
    for path in (pipe, link, tmp_path):
        with pytest.raises(StoreError, match="cannot write the audit"):
            write_audit(path, "new", force=True)
    assert not (tmp_path / "elsewhere").exists()


# the command


@pytest.fixture
def loaded(tmp_path: Path) -> Path:
    path = tmp_path / "caseload.armrise"
    store = Store.create(path, zone="Europe/London")
    drafts.open_case(store)
    return path


def test_the_command_keeps_the_store_and_every_file_but_its_own_page(
    loaded: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("to the surgeon")
    before = loaded.read_bytes()
    for target in (loaded, loaded.with_name(f"{loaded.name}-wal"), letter, tmp_path):
        assert command.run(["audit", "--store", str(loaded), "--html", str(target)]) == 1
        said = capsys.readouterr()
        assert said.out == ""
        assert said.err.startswith(f"armrise: cannot write the audit to {target} (")
        assert len(said.err.splitlines()) == 1
    assert letter.read_text() == "to the surgeon"
    assert whole(Store.open(loaded))
    assert command.run(["audit", "--store", str(loaded), "--html", str(letter), "--force"]) == 0
    assert letter.read_text("utf-8").startswith(AUDIT)
    page = tmp_path / "audit.html"
    for _ in range(2):
        assert command.run(["audit", "--store", str(loaded), "--html", str(page)]) == 0
    assert page.read_text("utf-8").startswith(AUDIT)
    assert loaded.read_bytes() == before
