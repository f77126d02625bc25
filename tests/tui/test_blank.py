"""The blank screen above everything: by key, by itself after idle time, and what lies under it stays.

Practice note 6.3: one key blanks, the screen blanks itself when nobody is there.
"""

from __future__ import annotations

import time

import pytest
from textual.pilot import Pilot

from armrise.tui.app.app import ArmriseApp
from armrise.tui.app.help import HelpScreen
from armrise.tui.app.idle import SOON, blank_after
from armrise.tui.shell.door import Door
from armrise.tui.shell.frame import BURST
from armrise.tui.shell.say import BlankScreen
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_store import painted, press

WAYS = {
    "list": [],
    "case": ["enter"],
    "check-in": ["c", "n", "4"],
    "diary": ["r", "minus", "7", "colon"],
    "red-flag list above it": ["c", "y", "3"],
    "first visit": ["n"],
    "sentence": ["w"],
    "menu of acts": ["a"],
    "help above a form": ["c", "f1"],
    "palette": ["ctrl+p"],
    "referrals": ["A"],
    "sweep": ["W"],
    "history": ["h"],
}
ABOUT_SOMEBODY = ("BY-0", "RIGHT", "LEFT", "red flag", "TODAY", "pain")


async def nothing_of_anybody(pilot: Pilot[None]) -> None:
    """The blank screen is all that is painted."""
    assert isinstance(pilot.app.screen, BlankScreen)
    shown = painted(pilot)
    assert "Screen blanked. Any key returns." in shown
    assert "FICTIONAL CASELOAD" in shown
    for words in ABOUT_SOMEBODY:
        assert words not in shown


@pytest.mark.parametrize("keys", WAYS.values(), ids=WAYS)
async def test_f8_hides_what_is_there_so_does_idle_time_and_any_key_gives_it_back(
    keys: list[str], app: ArmriseApp
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in keys:
            await press(pilot, key)
        before, under = painted(pilot), app.screen
        await press(pilot, "f8")
        await nothing_of_anybody(pilot)
        await press(pilot, "f8")  # a key like any other now
        assert app.screen is under
        assert painted(pilot) == before
        assert app.blank_seconds == 60
        app._touched = time.monotonic() - 61
        app._blank_when_idle()
        await settle(pilot)
        await nothing_of_anybody(pilot)
        app._blank_when_idle()  # once is enough
        await press(pilot, "f1")  # help is no way around it
        assert app.screen is under


@pytest.mark.parametrize(
    ("asked", "seconds", "told"),
    [
        ("", 60, ""),
        ("300", 300, ""),
        ("15", 15, ""),
        ("14", 60, "ARMRISE_BLANK_AFTER is '14', allowed is 15 to 900 seconds: the screen blanks after 60."),
        ("901", 60, "allowed is 15 to 900 seconds"),
        ("never", 60, "allowed is 15 to 900 seconds"),
    ],
)
def test_a_workplace_may_ask_for_another_time_within_bounds(
    asked: str, seconds: int, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ARMRISE_BLANK_AFTER", asked)
    found, said = blank_after(60)
    assert found == seconds
    assert told in said if told else said == ""


@pytest.mark.parametrize("keys", [[], ["c", "n", "4"]], ids=["list", "check-in"])
async def test_the_screen_is_dimmed_before_and_a_key_keeps_it_and_acts(
    keys: list[str], app: ArmriseApp
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, *keys) if keys else None
        under = app.screen
        app._touched = time.monotonic() - 57
        app._blank_when_idle()
        app._blank_when_idle()
        await settle(pilot)
        assert app.screen is under
        assert painted(pilot).count(SOON) == 1
        await press(pilot, "question_mark" if not keys else "3")
        assert not under.query("#idle")
        assert not under.has_class("-idle")
        assert under.query_one("#later").value == "3" if keys else isinstance(app.screen, HelpScreen)  # type: ignore[attr-defined]
        await press(pilot, "f8")
        app._touched = time.monotonic() - 57
        app._blank_when_idle()
        await nothing_of_anybody(pilot)
        assert SOON not in painted(pilot)


async def test_what_is_typed_is_kept_under_the_blank_screen(app: ArmriseApp, door: Door) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "c", "n", "4", "f8")
    kept = door.left_unwritten(door.unwritten()[0].code, "CheckInScreen")
    assert kept is not None
    assert kept.fields["during"] == "4"


async def test_x_blanks_the_menu_of_acts_too_and_it_comes_back(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "a")
        await pilot.pause(2 * BURST)  # as long as a hand takes at least
        await press(pilot, "x")
        await nothing_of_anybody(pilot)
        await press(pilot, "space")
        assert "refer" in painted(pilot)
        assert type(app.screen).__name__ == "ActsMenu"
