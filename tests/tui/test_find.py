"""Found by its number: the case opened is the one asked for, however fast the keys come.

Common practice, no source: a patient is identified before anything is done about him.
"""

from __future__ import annotations

import pytest
from textual.pilot import Pilot

from armrise.tui.app.app import BURST, ArmriseApp
from armrise.tui.case.case import CaseScreen
from armrise.tui.case.patient import PatientScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.say import BlankScreen
from armrise.tui.widgets.caselist import CaseList
from tests.tui.conftest import settled
from tests.tui.form_store import burst, newest, painted, press


def on_top(pilot: Pilot[None]) -> tuple[str, str]:
    """The screen in sight, and the case it is about."""
    return type(pilot.app.screen).__name__, getattr(pilot.app.screen, "code", "")


async def test_every_case_is_opened_by_the_number_of_its_code(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        cases = app.screen_stack[0].query_one(CaseList)
        codes = cases.codes
        assert len(codes) == 36
        for at, code in enumerate(codes):
            typed = press if at % 9 == 0 else burst
            await typed(pilot, "slash", *code[-3:], "enter", "enter")
            assert on_top(pilot) == ("CaseScreen", code)
            await typed(pilot, "escape", "escape")
            assert (cases.cursor, len(cases.codes)) == (code, 36)


async def test_a_number_nobody_has_opens_nothing_and_says_so(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "slash", *"999", "enter", "enter")
        assert on_top(pilot) == ("SayScreen", "")
        assert 'No case matches "999", so none is opened' in painted(pilot)


BLIND = {
    "waking letter, number": ["x", "0", "2", "7", "enter"],
    "search": ["slash", "0", "2", "7", "enter", "enter"],
    "entries": ["c", "n", "4", "f2", "enter"],
    "blank key twice": ["f8", "f8", "x", "enter"],
    "help key twice": ["f1", "f1", "enter", "enter"],
}
UNDER = {
    "list": ["x"],
    "case": ["enter", "x"],
    "check-in": ["c", "n", "4", "f8"],
    "patient view": ["t", "x"],
    "filter": ["slash", "r", "f8"],
}


@pytest.mark.parametrize("under", UNDER.values(), ids=UNDER)
@pytest.mark.parametrize("keys", BLIND.values(), ids=BLIND)
async def test_a_burst_at_the_blank_screen_wakes_it_and_does_nothing_else(
    keys: list[str], under: list[str], door: Door
) -> None:
    app = ArmriseApp(Opening(prepare=lambda: door))
    before = newest(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in under[:-1]:
            await press(pilot, key)
        shown, stack = painted(pilot), list(app.screen_stack)
        await press(pilot, under[-1])
        assert isinstance(app.screen, BlankScreen)
        await burst(pilot, *keys)
        assert list(app.screen_stack) == stack
        assert painted(pilot) == shown
    assert newest(door) == before


async def test_keys_of_the_waking_burst_that_are_read_after_it_are_no_keys(door: Door) -> None:
    """They may be read one by one: the first has uncovered the list before the next is looked at."""
    app = ArmriseApp(Opening(prepare=lambda: door))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "x")
        app.screen.leave()  # type: ignore[attr-defined]
        await burst(pilot, "enter", "c")
        assert on_top(pilot) == ("BoardScreen", "")
        await press(pilot, "enter")
        assert isinstance(app.screen, CaseScreen)


@pytest.mark.parametrize("keys", [["x", "0", "2", "7", "enter"], ["f8", "c", "enter"]], ids=["x", "f8"])
async def test_a_burst_that_blanks_acts_on_no_case_under_the_blank(keys: list[str], door: Door) -> None:
    app = ArmriseApp(Opening(prepare=lambda: door))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await burst(pilot, *keys)
        assert [type(s).__name__ for s in app.screen_stack][1:] in ([], ["BlankScreen"])


async def test_following_keys_act_on_what_is_then_in_sight(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in ("x", "0", "slash", "0", "2", "7", "enter", "enter"):
            await press(pilot, key)
            await pilot.pause(2 * BURST)  # as long as a hand takes at least
        assert on_top(pilot) == ("CaseScreen", "BY-027")
        await press(pilot, "c")
        assert isinstance(app.screen, CheckInScreen)
        assert app.screen.standing.code == "BY-027"


async def test_two_keys_in_a_burst_leave_the_patient_view_and_nothing_beneath_it(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "enter", "t")
        assert isinstance(app.screen, PatientScreen)
        await burst(pilot, "escape", "escape")
        assert on_top(pilot)[0] == "CaseScreen"
        await press(pilot, "t")
        await burst(pilot, "x", "escape")
        assert isinstance(app.screen, BlankScreen)
