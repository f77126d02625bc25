"""Found by its number: the case opened is the one asked for, however fast the keys come.

Common practice, no source: a patient is identified before anything is done about him.
"""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from textual.events import Key
from textual.pilot import Pilot

from armrise.tui.app.app import BURST, ArmriseApp
from armrise.tui.case.case import CaseScreen
from armrise.tui.case.patient import PatientScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.say import BlankScreen
from armrise.tui.widgets.caselist import CaseList
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_store import burst, newest, painted, press


def on_top(pilot: Pilot[None]) -> tuple[str, str]:
    """The screen in sight, and the case it is about."""
    return type(pilot.app.screen).__name__, getattr(pilot.app.screen, "code", "")


async def comes(pilot: Pilot[None], screen: str, code: str) -> None:
    """Wait for the screen of that case, however busy the machine is."""
    for _ in range(300):
        if on_top(pilot) == (screen, code):
            break
        await pilot.pause(0.01)
    assert on_top(pilot) == (screen, code)


async def test_every_case_is_opened_by_its_number_and_by_a_search_for_it(
    app: ArmriseApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four and five keys. Which case is opened is noted, and only the last opened: that costs the most."""
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        codes, opened = app.screen.query_one(CaseList).codes, list[str]()
        assert len(codes) == 36
        with monkeypatch.context() as noted, app.batch_update():  # nobody looks meanwhile
            noted.setattr(app.screen, "open_case", opened.append)
            for code in codes:
                await pilot.press(*code[-3:], "enter", "slash", *code[-3:], "enter")
        assert opened == [code for code in codes for _ in range(2)]
        await press(pilot, *codes[-1][-3:], "enter")
        assert on_top(pilot) == ("CaseScreen", codes[-1])


@pytest.mark.parametrize("typed", [press, burst], ids=["by hand", "at once"])
async def test_a_case_is_found_from_the_list_from_another_case_and_back(typed: Any, app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        cases = app.screen.query_one(CaseList)
        await typed(pilot, "0", "2", "7", "enter")
        await comes(pilot, "CaseScreen", "BY-027")
        await typed(pilot, "1", "8", "enter")
        await comes(pilot, "CaseScreen", "BY-018")
        assert "BY-018 RIGHT" in painted(pilot)
        await typed(pilot, "slash", "0", "2", "7", "enter")
        await comes(pilot, "CaseScreen", "BY-027")
        await press(pilot, "escape")
        assert (cases.cursor, len(cases.codes)) == ("BY-027", 36)


async def test_the_foot_says_what_is_typed_and_no_other_key_acts_meanwhile(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        cases = app.screen_stack[0].query_one(CaseList)
        await press(pilot, "down", "0", "2")
        assert "go to: 02_" in painted(pilot)
        assert "matches: type on, or move to one" in painted(pilot)
        assert len(cases.codes) > 1
        await press(pilot, "enter", "c", "F", "S", "space", "tab")  # none is meant, and none is acted on
        assert on_top(pilot) == ("BoardScreen", "")
        assert "none opened" in painted(pilot)
        await press(pilot, "7")
        assert cases.codes == ["BY-027"]
        assert "go to: 027_ 1 match: BY-027 RIGHT Enter opens Esc back" in painted(pilot)
        await press(pilot, "backspace", "backspace", "backspace")
        assert (cases.cursor, len(cases.codes)) == ("BY-015", 36)
        await press(pilot, "9", "8", "7")
        assert "No case on the list has the number" in painted(pilot)
        await press(pilot, "enter", "q")  # back, and not out of the program
        assert app.is_running
        assert (cases.cursor, len(cases.codes)) == ("BY-015", 36)
        await press(pilot, "0", "2", "down", "enter")  # moved to on sight
        assert on_top(pilot) == ("CaseScreen", cases.cursor)
        assert cases.cursor[-3:].startswith("02") or cases.cursor.endswith("02")


async def test_on_a_case_nothing_but_the_foot_changes_until_another_is_opened(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "enter", "0", "2", "7")
        assert on_top(pilot) == ("CaseScreen", "BY-007")
        assert "go to: 027_ 1 match: BY-027 RIGHT" in painted(pilot)
        await press(pilot, "c")  # about neither
        assert on_top(pilot) == ("CaseScreen", "BY-007")
        await press(pilot, "escape")
        assert "go to" not in painted(pilot)
        await press(pilot, "9", "8", "7", "enter")
        assert "no case on the list has it" in painted(pilot)
        await press(pilot, "escape", "escape")
        assert on_top(pilot)[0] == "BoardScreen"


async def test_a_number_nobody_has_opens_nothing_and_says_so(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "slash", *"999", "enter", "enter")
        assert on_top(pilot) == ("SayScreen", "")
        assert 'No case matches "999"' in painted(pilot)


async def test_a_search_starts_anew_and_what_it_opens_is_done_with(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        cases = app.screen_stack[0].query_one(CaseList)
        await press(pilot, "slash", *"rc2")
        assert "matches, first BY-007 LEFT Enter to the list Esc back" in painted(pilot)
        await press(pilot, "enter")
        assert 1 < len(cases.codes) < 36
        assert "Enter to the list" not in painted(pilot)
        await burst(pilot, "slash", *"027", "enter", "enter")  # the second comes too late to act
        await comes(pilot, "CaseScreen", "BY-027")
        await press(pilot, "escape")
        assert (cases.cursor, len(cases.codes)) == ("BY-027", 36)
        await burst(pilot, "slash", *"15", "backspace", "backspace", *"018")  # in this order
        await settled(pilot)
        assert "1 match: BY-018 RIGHT Enter opens Esc back" in painted(pilot)


# the blank screen

FINDING = {
    "number": ["0", "2", "7", "enter"],
    "number and on": ["0", "2", "7", "enter", "c", "n", "4", "f2"],
    "waking letter, number": ["x", "0", "2", "7", "enter"],
    "search": ["slash", "0", "2", "7", "enter", "enter"],
}
BLIND = {
    "blank key twice": ["f8", "f8", "x", "enter"],
    "help key twice": ["f1", "f1", "enter", "enter"],
    "entries": ["c", "n", "4", "f2", "enter"],
    "one digit": ["0", "enter", "c"],
}
FOUND_UNDER = {"list": ["x"], "case": ["enter", "x"], "filter": ["slash", "r", "f8"]}
UNDER = {**FOUND_UNDER, "check-in": ["c", "n", "4", "f8"], "patient view": ["t", "x"]}
NOT_FOUND_UNDER = ("check-in", "patient view")
NOT_FINDING = (FINDING["number"], FINDING["search"])


async def blanked(pilot: Pilot[None], under: list[str]) -> tuple[str, list[Any]]:
    """Blank the screen over these keys; what it showed before, and the screens."""
    await settled(pilot)
    for key in under[:-1]:
        await press(pilot, key)
    shown, stack = painted(pilot), list(pilot.app.screen_stack)
    await press(pilot, under[-1])
    assert isinstance(pilot.app.screen, BlankScreen)
    return shown, stack


@pytest.mark.parametrize(
    ("keys", "under"),
    [
        *((keys, FOUND_UNDER["list"]) for keys in FINDING.values()),
        *(
            (FINDING[name], FOUND_UNDER[under])
            for name in ("number", "search")
            for under in ("case", "filter")
        ),
    ],
)
async def test_a_digit_or_slash_at_the_blank_screen_finds_the_case_and_does_nothing_to_it(
    keys: list[str], under: list[str], door: Door
) -> None:
    """Also in one burst: no key of it is lost, and none acts on a case that was not looked at."""
    app = ArmriseApp(Opening(prepare=lambda: door))
    before = newest(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await blanked(pilot, under)
        await burst(pilot, *keys)
        await comes(pilot, "CaseScreen", "BY-027")
    assert newest(door) == before


@pytest.mark.parametrize("under", UNDER)
async def test_any_other_burst_at_the_blank_screen_wakes_it_and_does_nothing_else(
    under: str, door: Door
) -> None:
    """One burst after another, those that may leave digits typed at the end."""
    app = ArmriseApp(Opening(prepare=lambda: door))
    before = newest(door)
    async with app.run_test(size=(80, 24)) as pilot:
        shown, stack = await blanked(pilot, UNDER[under])
        for keys in [*BLIND.values(), *(NOT_FINDING if under in NOT_FOUND_UNDER else ())]:
            if not isinstance(app.screen, BlankScreen):
                await press(pilot, UNDER[under][-1])
            assert isinstance(app.screen, BlankScreen)
            await burst(pilot, *keys)
            assert list(app.screen_stack) == stack
            assert not {"0", "4"}.isdisjoint(keys) or painted(pilot) == shown
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
        before = newest(door)
        await burst(pilot, *keys)
        assert on_top(pilot) in (("BoardScreen", ""), ("BlankScreen", ""), ("CaseScreen", "BY-027"))
        assert newest(door) == before


@pytest.mark.parametrize("digits", ["18", "2"], ids=["number", "view"])
async def test_a_letter_overtaken_by_digits_acts_on_no_other_case(digits: str, door: Door) -> None:
    """Typed on a slow line, "c" and the digits come at once, and the digits are taken first."""
    async with ArmriseApp(Opening(prepare=lambda: door)).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        pilot.app.screen.query_one(CaseList).go_to("BY-012")
        await burst(pilot, "c", *digits)
        screen = pilot.app.screen
        assert not isinstance(screen, CheckInScreen) or screen.standing.code == "BY-012"


async def test_following_keys_act_on_what_is_then_in_sight(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in ("x", "slash", "0", "2", "7", "enter"):
            await press(pilot, key)
            await pilot.pause(2 * BURST)  # as long as a hand takes at least
        assert on_top(pilot) == ("CaseScreen", "BY-027")
        await press(pilot, "c")
        assert isinstance(app.screen, CheckInScreen)
        assert app.screen.standing.code == "BY-027"


@pytest.mark.parametrize("start", [[], ["0", "2", "7", "enter"]], ids=["list", "case"])
async def test_a_mark_scanned_behind_the_key_of_the_search_opens_its_case(
    start: list[str], app: ArmriseApp, door: Door
) -> None:
    """A scanner types the code and Enter, some milliseconds a key. Without the key its letters are keys."""
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        before = newest(door)
        await press(pilot, *start)
        await pilot.pause(2 * BURST)
        await press(pilot, "slash")
        await scan(pilot, "BY-018")
        await comes(pilot, "CaseScreen", "BY-018")
        for code in ("BY-018", "UF-018", "FU-018"):  # undo and step forward begin with these letters
            await pilot.pause(2 * BURST)
            await scan(pilot, code)
        assert newest(door) == before


async def scan(pilot: Pilot[None], code: str) -> None:
    """Type a code and Enter as a scanner does, 5 ms a key."""
    assert pilot.app._driver is not None
    for sign in f"{code}\r":
        event = Key({"-": "minus", "\r": "enter"}.get(sign, sign), sign)
        event.set_sender(pilot.app)
        pilot.app._driver.send_message(event)
        await asyncio.sleep(0.005)
    await settle(pilot)


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
