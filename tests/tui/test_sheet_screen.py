"""A spreadsheet taken by key: columns shown and changed, rows listed, nothing written before F2."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from armrise.store.caseload.read import case
from armrise.store.database.place import Store
from armrise.tui.sheets.choose import ChooseScreen
from armrise.tui.sheets.rows import RowsScreen
from armrise.tui.sheets.screen import SheetScreen, read_file
from armrise.tui.shell.say import SayScreen
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.widgets.rowlist import RowList
from tests.clinic.build import rules
from tests.quiet import settle
from tests.tui.form_store import NOW, TODAY, app_on, painted, press, until

SHEET = """Code,Date,Worst pain,Pain,Surname
BY-018,01/03/2026,3/10,2,Doe
BY-003,01/03/2026,6-7,2,Doe
"""


@pytest.fixture
def door(demonstration: Path, tmp_path: Path) -> StoreDoor:
    """A door into a store of one's own."""
    path = shutil.copy(demonstration, tmp_path / "demo.armrise")
    return StoreDoor(Store.open(Path(path)), rules(), "TK", TODAY, lambda: NOW)


async def test_columns_are_changed_rows_are_listed_and_written_by_f2(door: StoreDoor, tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(SHEET, encoding="utf-8")
    app = app_on(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.screen_stack[0].action_sheet()  # pyright: ignore[reportAttributeAccessIssue]
        await settle(pilot)
        app.screen.dismiss(read_file(str(tmp_path / "list.csv")))
        await until(lambda: isinstance(app.screen, SheetScreen) and app.screen.plan is not None)
        await settle(pilot)
        screen = app.screen
        assert isinstance(screen, SheetScreen)
        assert "which pain" in painted(pilot)
        assert "2 refused" in painted(pilot)
        await press(pilot, "down", "d")
        await until(lambda: screen.plan is not None and screen.plan.counts["refused"] == 1)
        await press(pilot, "down", "down", "down", "enter")
        await until(lambda: isinstance(app.screen, SayScreen))
        await press(pilot, "escape", "up", "enter")
        await until(lambda: isinstance(app.screen, ChooseScreen))
        await press(pilot, *"rest")
        assert app.screen.query_one(RowList).rows == [("rest pain", "rest pain")]
        await press(pilot, "enter")
        await until(lambda: screen.plan is not None and screen.plan.entries == 2)
        await press(pilot, "r")
        await until(lambda: isinstance(app.screen, RowsScreen))
        await settle(pilot)
        told = painted(pilot)
        assert "REFUSED: nothing of these rows is written (1)" in told
        assert '"6-7" holds two values' in " ".join(told.split())
        assert "Doe" not in told
        assert not case(door.store, "BY-018").measures or case(door.store, "BY-018").measures[-1].on < TODAY
        await press(pilot, "f2")
        await until(lambda: len(app.screen_stack) == 1)
        await settle(pilot)
        assert "Written: 2 entries" in painted(pilot)
    newest = [m for m in case(door.store, "BY-018").measures if m.recorded_on == TODAY]
    assert [(m.name, m.value, m.author) for m in newest[-2:]] == [
        ("worst_pain", 3, "TK"),
        ("rest_pain", 2, "TK"),
    ]
