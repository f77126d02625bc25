"""A demonstration that lies ready is the one that would be made; in doubt it is made."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from armrise.store.database.place import Store
from armrise.store.files.beside import kept_beside
from armrise.tui.shell import opening, played
from tests.golden.demo import TODAY

OF_ITS_MAKING = ("setting", "migration", "link")
"""Tables that say when a store was made."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of caches in which the demonstration of a day lies ready."""
    folder = tmp_path_factory.mktemp("caches")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(played, "caches", lambda: folder)
        played.make_ready(TODAY, lambda: None)
    return folder


@pytest.fixture
def caches(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it."""
    folder = Path(shutil.copytree(made, tmp_path / "caches"))
    monkeypatch.setattr(played, "caches", lambda: folder)
    return folder


def rows(store: Store) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(store.path)) as connection:
        tables = [
            name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return {
            name: connection.execute(f'SELECT rowid, * FROM "{name}" ORDER BY rowid').fetchall()
            for name in tables
            if name not in OF_ITS_MAKING
        }


def test_what_lies_ready_holds_what_is_made_and_its_list_is_shown(caches: Path, tmp_path: Path) -> None:
    (tmp_path / "fresh").mkdir()
    (tmp_path / "ready").mkdir()
    fresh = opening.demonstration(tmp_path / "fresh", TODAY)
    one = played.Played(tmp_path / "ready", TODAY)
    store = one.store()
    assert kept_beside(store.path).exists()
    assert rows(store) == rows(fresh)
    assert not store.lasting
    assert store.path.stat().st_mode & 0o077 == 0

    def door(prepared: Store):
        return opening.Opening(None, True, TODAY, lambda: prepared).door(lambda _: None)

    shown, read = opening.kept(door(store)), opening.read(door(fresh))
    assert shown is not None
    assert shown.standings == read.standings
    assert opening.kept(door(fresh)) is None
    before = sorted(caches.iterdir())
    one.make_ahead(lambda: None)
    assert sorted(caches.iterdir()) == before


def _damaged(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


@pytest.mark.parametrize("what", ["store damaged", "list damaged", "list gone", "other program", "other day"])
def test_in_doubt_the_demonstration_is_made(
    what: str, caches: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[date | None] = []
    monkeypatch.setattr(opening, "demonstration", lambda folder, as_of: asked.append(as_of))
    (store,) = caches.glob("*.armrise")
    day = TODAY + timedelta(days=7) if what == "other day" else TODAY
    if what == "other program":
        monkeypatch.setattr("armrise.store.caseload.mark.program", lambda: "another")
    elif what == "list gone":
        kept_beside(store).unlink()
    elif what != "other day":
        _damaged(store if what == "store damaged" else kept_beside(store))
    played.Played(tmp_path, day).store()
    assert asked == [day]
    assert list(tmp_path.glob("caseload*")) == []


def test_without_a_day_it_is_taken_as_long_as_it_is_the_newest(
    caches: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[date | None] = []
    monkeypatch.setattr(opening, "demonstration", lambda folder, as_of: asked.append(as_of))
    for days, taken in ((6, True), (7, False)):
        monkeypatch.setattr(
            "armrise.store.record.clock.today_in", lambda zone, days=days: TODAY + timedelta(days=days)
        )
        asked.clear()
        folder = tmp_path / str(days)
        folder.mkdir()
        found = played.Played(folder, None).store()
        assert (asked == []) is taken
        assert (found is not None) is taken
