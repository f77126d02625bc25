"""The day copied for the record kept elsewhere, by keys: of the right case, shown, gone when left."""

from __future__ import annotations

from typing import Any

from textual.screen import ModalScreen

from armrise.tui.app.screens import SCREENS
from armrise.tui.board.board import BoardScreen
from armrise.tui.case.opened import CriterionScreen, ForRecordScreen
from armrise.tui.case.patient import PatientScreen
from armrise.tui.widgets.caselist import CaseList
from tests.tui.case_store import at_case, press
from tests.tui.form_store import painted


async def test_y_copies_the_case_in_view_and_leaves_nothing_on_the_screen(app):
    async with app.run_test(size=(80, 24)) as pilot:
        await at_case(pilot, "BY-018", "y")
        assert isinstance(app.screen, ForRecordScreen)
        first, *rest = app.clipboard.split("\n")
        assert first == "FICTIONAL CASELOAD"
        assert rest[0].startswith("BY-018 RIGHT, RC3 Build, day 31 of usual 42, Mon 2 Mar 2026: nothing")
        told = painted(pilot)
        assert "Copied, where this terminal allows it; else select these lines." in told
        assert "Last pain: during 5, later 4, next morning 6, 2 days ago." in told
        await press(pilot, "escape")
        assert isinstance(app.screen, BoardScreen)
        assert "Last pain" not in painted(pilot)
        await press(pilot, "enter", "y")
        assert "BY-018 RIGHT, RC3 Build" in painted(pilot)


async def test_lines_of_an_earlier_instant_say_so_and_its_mark_stays_in_sight(app):
    async with app.run_test(size=(80, 24)) as pilot:
        await at_case(pilot, "BY-003", "less_than_sign", "y")
        mark = app.as_known
        assert mark.startswith("AS KNOWN")
        assert app.clipboard.split("\n")[1] == mark
        assert painted(pilot).count(mark) == 2
        await press(pilot, "escape", "enter", "enter")
        assert isinstance(app.screen, CriterionScreen)
        assert mark in painted(pilot)


async def test_the_patients_screen_copies_nothing(app):
    async with app.run_test(size=(80, 24)) as pilot:
        await at_case(pilot, "BY-018", "t", "y")
        assert isinstance(app.screen, PatientScreen)
        assert app.clipboard == ""


async def test_after_a_call_the_copy_is_of_the_case_that_was_called(app, door, monkeypatch):
    """Also where the cursor stands on another case by then; a key later it is of the case in view."""

    class Form(ModalScreen[str]):
        def __init__(self, _: Any, standing: Any) -> None:
            super().__init__()

        def on_mount(self) -> None:
            door.append("BY-018", [door.draft("contact", outcome="spoke")])
            self.dismiss("Written: BY-018 contact: spoke.")

    monkeypatch.setattr(f"{SCREENS['ContactScreen']}.ContactScreen", Form)
    monkeypatch.setattr(f"{SCREENS['BookingScreen']}.BookingScreen", Form)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_case(pilot, "BY-018", "p")
        assert "Written: BY-018 contact: spoke. U undo y copy for the record" in painted(pilot)
        app.screen.query_one(CaseList).go_to("BY-027")
        await press(pilot, "y")
        assert app.clipboard.split("\n")[1].startswith("BY-018 RIGHT")
        assert "Decided: contact: spoke." in app.clipboard
        await press(pilot, "escape", "y")
        assert app.clipboard.split("\n")[1].startswith("BY-027 RIGHT")
        await press(pilot, "escape", "b")
        assert "U undo" in painted(pilot)
        assert "copy for the record" not in painted(pilot)
