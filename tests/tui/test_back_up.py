"""The backup by key: one line about it in the list, and none of what is thrown away or of an earlier list."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.store.database import sqlite
from armrise.store.database.place import Store
from armrise.tui.board.backing_up import THROWN_AWAY
from armrise.tui.shell.say import OF_NOW
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import rules
from tests.quiet import settle
from tests.store import drafts
from tests.tui.conftest import settled
from tests.tui.form_store import NOW, TODAY, app_on, painted


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_b_makes_a_backup_and_the_head_says_so(size: tuple[int, int], tmp_path: Path) -> None:
    path = tmp_path / "caseload.armrise"
    drafts.open_case(Store.create(path, zone="Europe/London")).append("T-1", [drafts.draft("visit")])
    app = app_on(StoreDoor(Store.open(path), rules(), "TK", TODAY, lambda: NOW))
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        assert "NO BACKUP" in painted(pilot)
        await pilot.press("B")
        await pilot.app.workers.wait_for_complete()
        await settle(pilot)
        told = painted(pilot)
        assert "backed up: 1 case, 1 entry" in told
        assert "NO BACKUP" not in told
        assert app.backup_asked is False
        (tmp_path / "backups" / "stray").touch()
        for file in (tmp_path / "backups").iterdir():
            file.unlink()
        (tmp_path / "backups").rmdir()
        (tmp_path / "backups").touch()
        await pilot.press("B")
        await pilot.app.workers.wait_for_complete()
        await settle(pilot)
        assert "no backup in " in pilot.app.screen.words
    assert sqlite.logs_of(path) == []


async def test_b_says_why_where_there_is_nothing_to_back_up(tmp_path: Path) -> None:
    store = Store.create(tmp_path / "demo.armrise", zone="UTC", lasting=False)
    drafts.open_case(store)
    app = app_on(StoreDoor(store, rules(), "TK", TODAY, lambda: NOW))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "BACKUP" not in painted(pilot)
        for said, as_known in ((THROWN_AWAY, ""), (OF_NOW.format(what="A backup"), "an earlier list")):
            app.as_known = as_known
            await pilot.press("B")
            await settle(pilot)
            assert pilot.app.screen.words == said
            await pilot.press("escape")
            await settle(pilot)
    assert not (tmp_path / "backups").exists()
