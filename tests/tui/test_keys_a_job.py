"""How many keys the jobs of a day take, driven from the list to what is stored (practice notes 1.3 to 1.6).

The phone call is counted in ``test_forms_contact``, the review and the first visit beside their forms.
"""

from __future__ import annotations

from armrise.store.record.kinds.care import Appointment, SweepDecision
from armrise.store.record.kinds.pain import Session
from armrise.tui.shell.door import Door
from tests.tui.case_store import at_case
from tests.tui.form_store import app_on, new_entries, newest, of_kind, painted, press
from tests.tui.test_sweep import QUEUE, queue

CHECK_IN = ("c", "n", "3", "2", "4", "enter", "a", "enter")
BOOK = ("b", "plus", "4", "f2")
SWEEP = ("W", *("p", "n", "f2") * len(QUEUE))


async def test_a_check_in_a_booking_and_a_sweep_stay_within_their_keys(door: Door) -> None:
    counted = {"check-in": (CHECK_IN, 10), "book": (BOOK, 6), "sweep of 11": (SWEEP, 36)}
    for job, (keys, most) in counted.items():
        print(f"{job}: {len(keys)} keys")
        assert len(keys) <= most, job
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
