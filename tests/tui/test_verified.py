"""A store verified beside the list and on its own page; the head says it when something is wrong."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from armrise.store.database.place import Store
from armrise.store.verify.last import last_verified
from armrise.tui.board import reader
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import rules
from tests.quiet import settle
from tests.tui.form_store import NOW, TODAY, app_on, painted, press, until

UNSOUND = "STORE NOT SOUND: armrise verify"


@pytest.fixture
def door(demonstration: Path, tmp_path: Path) -> StoreDoor:
    """A door into a store that lasts, whose file may be forged."""
    path = shutil.copy(demonstration, tmp_path / "demo.armrise")
    return StoreDoor(Store.open(Path(path)), rules(), "TK", TODAY, lambda: NOW)


def forge(door: StoreDoor) -> None:
    """Change what is recorded, past the guards."""
    with contextlib.closing(sqlite3.connect(door.store.path)) as foreign, foreign:
        foreign.execute("DROP TRIGGER visit_no_update")
        foreign.execute("UPDATE visit SET interval = 14 WHERE interval = 21")


def test_the_door_remembers_and_the_header_tells(door: StoreDoor) -> None:
    assert (door.header()["verified"], door.header()["unsound"]) == (None, "")
    assert door.verify().sound
    head = door.header()
    assert head["verified"] is not None
    assert head["unsound"] == ""
    forge(door)
    assert not door.verify().sound
    assert door.header()["unsound"] == UNSOUND
    again = StoreDoor(Store.open(door.store.path), rules(), "TK", TODAY, lambda: NOW)
    assert again.header()["unsound"] == UNSOUND


async def test_the_list_verifies_by_itself_and_says_what_is_wrong(
    door: StoreDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In sight at once while the list stands; the page says which action it is, and finds it sound again."""
    forge(door)
    monkeypatch.setattr(reader, "VERIFY_AFTER", 0.01)
    app = app_on(door)
    async with app.run_test(size=(100, 30)) as pilot:
        await until(lambda: last_verified(door.store) is not None)
        await settle(pilot)
        assert UNSOUND in painted(pilot)
        await press(pilot, "V")
        await until(lambda: "does not follow" in painted(pilot))
        assert "visit_no_update is missing" in painted(pilot)
        await press(pilot, "escape")
        assert UNSOUND in painted(pilot)


async def test_a_store_that_is_thrown_away_is_not_verified_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = Store.create(tmp_path / "s", zone="UTC", fictional=True, lasting=False)
    door = StoreDoor(store, rules(), "TK", TODAY, lambda: NOW)
    monkeypatch.setattr(reader, "VERIFY_AFTER", 0.01)
    async with app_on(door).run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.pause(0.05)
        await settle(pilot)
    assert last_verified(store) is None
