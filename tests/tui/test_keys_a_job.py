"""How many keys the jobs of a day take, driven from the list to what is stored (practice notes 1.3 to 1.6).

The phone call is counted in ``test_forms_contact``, the review and the first visit of a patient whom nobody
registered before beside their forms.
"""

from __future__ import annotations

from datetime import timedelta

from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.care import Appointment, SweepDecision
from armrise.store.record.kinds.pain import Session
from armrise.tui.shell.door import Door
from tests.tui.case_store import at_case
from tests.tui.conftest import settled
from tests.tui.form_store import TODAY, app_on, new_entries, newest, of_kind, painted, press
from tests.tui.test_sweep import QUEUE, queue
from tests.tui.visit_keys import FIRST_VISIT, haste, keys

FIND = keys("027", "<enter>")
SEARCH = keys("/027", "<enter>")
CHECK_IN = ("c", "n", "3", "2", "4", "enter", "a", "enter")
BOOK = ("b", "plus", "4", "f2")
WITH_HOUR = keys("b", "+5", "<enter>", "0920", "<f2>")
SWEEP = ("W", *("p", "n", "f2") * len(QUEUE))
REGISTERED = [("identity", keys("y", "1")), *FIRST_VISIT[1:]]
"""Code, person, side, age and hand came with the referral: consent, and who referred."""


async def test_a_check_in_a_booking_and_a_sweep_stay_within_their_keys(door: Door) -> None:
    counted = {"check-in": (CHECK_IN, 10), "book": (BOOK, 6), "sweep of 11": (SWEEP, 36)}
    for job, (typed, most) in counted.items():
        print(f"{job}: {len(typed)} keys")
        assert len(typed) <= most, job
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await at_case(pilot, "BY-018", *CHECK_IN)
        (session,) = of_kind(new_entries(door, "BY-018", before), Session)
        assert (session.during, session.later, session.morning) == (3, 2, 4)
        await at_case(pilot, "BY-027", *BOOK)
        assert len(of_kind(new_entries(door, "BY-027", before), Appointment)) == 1
        await press(pilot, SWEEP[0])
        for at in range(1, len(SWEEP), 3):
            await press(pilot, *SWEEP[at : at + 3])
        assert "Zero left: no case is undecided." in painted(pilot)
    assert queue(door) == []
    assert all(len(of_kind(new_entries(door, code, before), SweepDecision)) == 1 for code in QUEUE)


async def test_a_case_is_found_by_its_number_in_five_keys_and_a_slot_takes_its_hour(door: Door) -> None:
    before = newest(door)
    print(f"find: {len(FIND)} keys, by search: {len(SEARCH)}, a slot with its hour: {len(WITH_HOUR)}")
    assert max(len(FIND), len(SEARCH)) <= 5
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for way in (FIND, SEARCH):
            await press(pilot, *way)
            assert getattr(pilot.app.screen, "code", "") == "BY-027"
            await press(pilot, "q")
        await press(pilot, *WITH_HOUR)
    (slot,) = of_kind(new_entries(door, "BY-027", before), Appointment)
    assert slot.at == "09:20"


async def test_the_first_visit_of_who_was_registered_takes_at_most_120_keys(door: Door) -> None:
    """What the registration asked is not asked again; every block is filled."""
    head = CaseHead(
        code="BY-200",
        person="P-200",
        side="RIGHT",
        pathway="RC",
        registered_on=TODAY - timedelta(days=9),
        age_band="50s",
        dominance="right",
    )
    door.begin(head, [door.draft("appointment", booked_for=TODAY)])
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "A", "enter")
        for block, typed in REGISTERED:
            assert block.upper() in painted(pilot)
            await haste(pilot, typed)
        assert "BY-200 RIGHT: first visit written, placed in RC2" in painted(pilot)
    count = 2 + sum(key != "look" for _, typed in REGISTERED for key in typed)
    print(f"first visit of who was registered: {count} keys")
    assert count <= 120
