"""A disk that fills up while somebody types: the form keeps it, the list is read, F2 writes when it can."""

from __future__ import annotations

import sqlite3
from functools import partial

import pytest

from armrise.store.database import sqlite
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, painted, press


class Full(sqlite3.Connection):
    """Says at the end of every transaction what SQLite says on a full disk."""

    def commit(self) -> None:
        error = sqlite3.OperationalError("database or disk is full")
        error.sqlite_errorcode = sqlite3.SQLITE_FULL
        raise error


async def test_a_full_disk_leaves_what_was_typed_and_the_list(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = newest(door)
    app = FormApp(CheckInScreen(door, door.standing("BY-084")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2")
        with monkeypatch.context() as patched:
            patched.setattr(sqlite.sqlite3, "connect", partial(sqlite3.connect, factory=Full))
            await press(pilot, "f2")
            await settle(pilot)
            told = " ".join(painted(pilot).split())
            assert "no room left on the disk of" in told
            assert "nothing was written" in told
            assert "during / later / next morning 3 / 2 / 2" in told
            assert new_entries(door, "BY-084", before) == []
            assert len(door.standings()) > 30
        await press(pilot, "f2")
    assert len(new_entries(door, "BY-084", before)) == 1
