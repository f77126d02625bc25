"""Each form as a picture at 80x24, and what it says where there is no colour."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.clinic.case.standing import Truth, Word
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.decisions.undo import UndoScreen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.forms.visit.contact import ContactScreen
from tests.clinic.build import case
from tests.quiet import settle
from tests.tui.form_fakes import FakeDoor, FormApp, criterion, reason, standing
from tests.tui.form_store import painted

Run = Callable[[Pilot[Any]], Any]
LIMITS = (
    "no active lift until Sat 14 Mar (surgeon's order of Fri 6 Feb)",
    "pain: during at most 4, later at most 4, next morning at most 1 above baseline",
)


def door(word: Word = Word.READY, *, red: bool = False, day: int = 30) -> FakeDoor:
    """A door onto one invented case of RC2 with two exercises and two reasons."""
    made = case("RC2", day=day).session(-3, 3, 2, 2)
    made.programme(-10, "R1", exercise="rotation, side-lying", load=Decimal(1))
    made.programme(-10, "A1", reps=12, exercise="wall slide")
    record = made.record()
    met = [criterion(Truth.MET, t) for t in ("3 good sessions of light resisted work", "red-flag screen")]
    first = criterion(Truth.MET)
    if word is not Word.READY:
        first = criterion(Truth.NOT_MET, observed="84 %")
    reasons = (
        reason("FLA", "flare not settling", "harm if left", 4),
        reason("OVD1", "review overdue", "contact owed", 12),
    )
    if red:
        reasons = (reason("RED", "possible red flag", "today"), *reasons)
    line = "all criteria met" if word is Word.READY else "active flexion 84 %, needs 90"
    now = standing(
        record, "RC2", "Base load", word, reasons=reasons, criteria=(first, *met), line=line, limits=LIMITS
    )
    return FakeDoor(record, now)


def pressing(*keys: str) -> Run:
    """Press keys, once the case has been read."""

    async def run(pilot: Pilot[Any]) -> None:
        await settle(pilot)
        for key in keys:
            await pilot.press(key)
        await settle(pilot)

    return run


def undo() -> UndoScreen:
    """An undo of a session written today."""
    opened = door()
    opened.last = opened.held.sessions[-1:]
    return UndoScreen(opened, opened.given)


def form(of: type[FormScreen], opened: FakeDoor, **more: Any) -> FormScreen:
    """One form on an opened case."""
    return of(opened, opened.given, **more)


PICTURES: dict[str, tuple[Callable[[], FormScreen], tuple[str, ...]]] = {
    "check_in": (lambda: form(CheckInScreen, door()), ("n", "3", "2", "h")),
    "red_flags": (lambda: form(CheckInScreen, door()), ("y", "3", "n", "n")),
    "contact": (lambda: form(ContactScreen, door()), ("s", "y")),
    "in_hand": (lambda: form(InHandScreen, door()), ("r", "i", "n", "g", "enter", "+", "2", "0", "f2")),
    "step_forward": (lambda: form(StepScreen, door()), ()),
    "step_override": (lambda: form(StepScreen, door(Word.NOT_YET, red=True)), ("down", "2", "s", "o", "f2")),
    "step_back": (lambda: form(StepScreen, door(Word.STEP_BACK), direction="back"), ()),
    "undo": (undo, ()),
}


@pytest.mark.parametrize("name", PICTURES)
def test_picture(name: str, snap_compare: Any) -> None:
    make, keys = PICTURES[name]
    assert snap_compare(FormApp(make()), terminal_size=(80, 24), run_before=pressing(*keys))


@pytest.mark.parametrize("name", PICTURES)
async def test_every_form_fits_and_says_that_the_caseload_is_invented(name: str) -> None:
    make, keys = PICTURES[name]
    async with FormApp(make()).run_test(size=(80, 24)) as pilot:
        await pressing(*keys)(pilot)
        shown = painted(pilot)
        assert "FICTIONAL CASELOAD" in shown
        assert "Esc" in shown
        assert "F2" in shown
        assert "RIGHT" in shown or "LEFT" in shown


async def test_without_colour_the_focus_and_a_fault_are_still_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with FormApp(form(CheckInScreen, door())).run_test(size=(80, 24)) as pilot:
        await pressing("n", "h")(pilot)
        shown = painted(pilot)
        assert "> pain during" in shown
        assert '! pain during: "h" is not 0 to 9' in shown


async def test_a_real_caseload_carries_no_demo_banner() -> None:
    opened = door()
    opened.store.fictional = False  # type: ignore[misc]
    async with FormApp(form(CheckInScreen, opened)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "FICTIONAL" not in painted(pilot)


async def test_blanked_while_writing_the_form_closes_when_it_is_seen_again() -> None:
    """Closing under the blank screen would take the blank screen away."""
    from armrise.tui.shell.say import BlankScreen

    opened = door()
    app = FormApp(form(StepScreen, opened))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.push_screen(BlankScreen())
        await settle(pilot)
        app.form.finished("written")
        await settle(pilot)
        assert isinstance(app.screen, BlankScreen)
        await pilot.press("space")
        await settle(pilot)
        assert app.result == "written"


async def test_a_refusal_keeps_what_was_typed() -> None:
    from armrise.store.caseload.refusal import Refused

    opened = door()
    opened.refuse = Refused("C-01, session, during: 11 is not allowed")
    app = FormApp(form(CheckInScreen, opened))
    async with app.run_test(size=(80, 24)) as pilot:
        await pressing("n", "3", "2", "2", "f2")(pilot)
        assert "C-01, session, during: 11 is not allowed" in painted(pilot)
        assert "during / later / next morning 3 / 2 / 2" in painted(pilot)
        assert app.result == "not dismissed"
        assert opened.written == []
        await pressing("f2")(pilot)
    assert len(opened.written) == 1


async def test_a_wrong_clock_is_confirmed_by_writing_again() -> None:
    """Practice note 4.13, case 43: warned, refused until confirmed."""
    from armrise.store.caseload.refusal import Refused

    opened = door()
    opened.refuse = Refused("the clock says 2026-03-01 08:00, before the newest entry was recorded")
    app = FormApp(form(CheckInScreen, opened))
    async with app.run_test(size=(80, 24)) as pilot:
        await pressing("n", "3", "f2")(pilot)
        assert "F2 confirms it and writes" in painted(pilot)
        await pressing("f2")(pilot)
    assert opened.confirmed == [False, True]


async def test_a_second_write_key_writes_once() -> None:
    opened = door()
    async with FormApp(form(CheckInScreen, opened)).run_test(size=(80, 24)) as pilot:
        await pressing("n", "3", "f2", "f2", "f2")(pilot)
    assert len(opened.written) == 1


async def test_orders_of_another_stage_of_the_day_give_its_limits() -> None:
    """Ruling 31: limits of a session are those of the stage on its date."""
    opened = door()
    stepped = case("RC1", day=30).step(-2, "RC2").record()
    opened.held = replace(stepped, programme=opened.held.programme)
    app = FormApp(form(CheckInScreen, opened))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "limit 4" in painted(pilot)
        await pressing("f3", "left", "left")(pilot)
        assert app.form.day.chosen == date(2026, 2, 27)
        assert "limit 3" in painted(pilot)
