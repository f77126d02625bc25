"""The demonstration of the clinic's practice notes (section 9) by keys, then the store read again.

The list; why one case stands above another; a broken limit answered by phone; the exercise that a flare is
put down to; range being lost with the error of its rater; a step forward; the sweep to zero; a letter sent.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from textual.pilot import Pilot

from armrise.store.database.place import Store
from armrise.store.record.kinds.care import Contact, SweepDecision
from armrise.store.record.kinds.paperwork import Letter
from armrise.store.record.kinds.plan import InHand, Step
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.widgets.caselist import CaseList
from tests.clinic.build import rules
from tests.tui.case_store import at_case
from tests.tui.conftest import settled
from tests.tui.form_store import NOW, TODAY, new_entries, newest, painted, press, type_in
from tests.tui.test_sweep import QUEUE, STEPS, steps


async def answer_the_broken_limit(pilot: Pilot[Any]) -> None:
    """BY-003: why it is above BY-012, its limit line, a call with the plan corrected, the reason in hand."""
    await at_case(pilot, "BY-003", "w")
    assert "BY-003 is above BY-012" in painted(pilot)
    await press(pilot, "space")
    await press(pilot, "enter")
    shown = painted(pilot)
    assert shown.index("sling on until Wed 11 Mar") < shown.index("healing limit broken")
    await press(pilot, "i")
    await type_in(pilot, "ringing today")
    await press(pilot, "enter", "f2")
    await press(pilot, "p", "s", "n", "n", "y", "n")
    await type_in(pilot, "bands put away")
    await press(pilot, "f2")
    await press(pilot, "escape")


async def accept_the_smaller_doses(pilot: Pilot[Any]) -> None:
    """BY-018: the flare is put down to what was raised last; the proposals are accepted."""
    await at_case(pilot, "BY-018", "d")
    assert "raised last: scaption raise" in painted(pilot)
    await press(pilot, "a")
    await press(pilot, "y")
    await press(pilot, "escape")


async def see_range_being_lost(pilot: Pilot[Any]) -> None:
    """BY-027: the chart of passive external rotation says best, watch and act, and whose error it is."""
    await at_case(pilot, "BY-027", "g", "2")
    shown = painted(pilot)
    assert "Passive external rotation at side" in shown
    assert "a loss counts from 10 degrees (watch) and 15 (act)" in shown
    await press(pilot, "escape")


async def step_forward(pilot: Pilot[Any]) -> None:
    """BY-069: all criteria are met, nothing new is told (ruling 95), and the step says what it will write."""
    await at_case(pilot, "BY-069", "F")
    assert "RC2 Base load -> RC3 Build" in painted(pilot)
    await press(pilot, "n", "y")


async def sweep_to_zero(pilot: Pilot[Any]) -> None:
    """Every overdue, silent and missed case is decided by one key and what that decision needs."""
    await press(pilot, "W")
    for code in QUEUE:
        assert code in painted(pilot)
        await steps(pilot, *STEPS[code])
    assert "11 of 11" in painted(pilot)
    await press(pilot, "escape")


async def send_the_letter(pilot: Pilot[Any]) -> None:
    """BY-087: discharged five days ago, and the referrer has heard nothing."""
    await at_case(pilot, "BY-087", "l")
    assert "Owed: discharge letter" in painted(pilot)
    await press(pilot, "1", "f2")


async def test_the_demonstration_by_keys_and_the_same_in_the_store_afterwards(
    app: ArmriseApp, door: Door
) -> None:
    before = newest(door)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        assert pilot.app.screen_stack[0].query_one(CaseList).cursor == "BY-007"
        for part in (
            answer_the_broken_limit,
            accept_the_smaller_doses,
            see_range_being_lost,
            step_forward,
            sweep_to_zero,
            send_the_letter,
        ):
            await part(pilot)

    again = StoreDoor(Store.open(door.store.path), rules(), "TK", TODAY, lambda: NOW)
    with again.store.reading() as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    in_hand, contact = new_entries(again, "BY-003", before)
    assert isinstance(in_hand, InHand)
    assert (in_hand.reason, in_hand.action) == ("healing limit broken", "ringing today")
    assert isinstance(contact, Contact)
    assert (contact.outcome, contact.plan_corrected) == ("spoke", True)
    (item,) = new_entries(again, "BY-018", before)
    assert isinstance(item, ProgrammeItem)
    assert (item.exercise, item.load, item.reps) == ("scaption raise", Decimal("1.5"), 8)
    told, step = new_entries(again, "BY-069", before)
    assert isinstance(told, Contact)
    assert told.anything_new == "no"
    assert isinstance(step, Step)
    assert (step.stage, step.direction, step.verdict) == ("RC3", "forward", "READY")
    (letter,) = new_entries(again, "BY-087", before)
    assert isinstance(letter, Letter)
    assert (letter.about, letter.state, letter.on) == ("discharge", "sent", TODAY)
    for code in QUEUE:
        decided = [e for e in new_entries(again, code, before) if isinstance(e, SweepDecision)]
        assert len(decided) == 1, code
        assert decided[0].until > TODAY or decided[0].decision == "discharge"
        assert decided[0].until <= TODAY + timedelta(days=366)
    order = [standing.code for standing in again.standings()]
    assert order[:3] == ["BY-007", "BY-015", "BY-012"]
    assert "BY-087" not in [s.code for s in again.standings() if s.reasons]
