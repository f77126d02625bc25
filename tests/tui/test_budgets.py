"""How many keys the daily jobs take, counted where each is done by keys on the whole application.

Practice notes 1.2 to 1.5. Counted elsewhere, beside what they write: the call with its pain
(``test_forms_contact``), a review (``test_review``, ``test_forms_weeks``), a first visit of a patient nobody
registered before (``test_first_visit``).
"""

from __future__ import annotations

from datetime import timedelta

from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.care import Appointment, SweepDecision
from armrise.store.record.kinds.pain import Session
from armrise.tui.shell.door import Door
from armrise.tui.widgets.caselist import CaseList
from tests.tui.conftest import settled
from tests.tui.form_store import TODAY, app_on, new_entries, newest, of_kind, painted
from tests.tui.form_store import press as pressed
from tests.tui.test_sweep import QUEUE
from tests.tui.visit_keys import FIRST_VISIT, haste, keys

FIND = keys("027", "<enter>")
SEARCH = keys("/027", "<enter>")
CHECK_IN = keys("c", "n", "322", "0", "a", "<f2>")
"""Nothing new, the triple, nights woken, every exercise as asked."""
BOOK = keys("b", "+3", "<enter>", "<f2>")
WITH_HOUR = keys("b", "+3", "<enter>", "0920", "<f2>")
SWEEP = keys("W", *["p", "n", "<f2>"] * len(QUEUE), "<escape>")
"""The shortest way through: everybody rung, nobody reached."""
FIRST = [("identity", keys("y", "1")), *FIRST_VISIT[1:]]
"""Code, person, side, age and hand came with the referral: consent, and who referred."""


def waiting(door: Door) -> None:
    """A patient referred nine days ago, with what a registration asks."""
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


async def test_find_check_in_book_and_sweep_take_no_more_keys_than_they_may(door: Door) -> None:
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for way, most in ((FIND, 4), (SEARCH, 5)):
            await pressed(pilot, *way)
            assert getattr(pilot.app.screen, "code", "") == "BY-027"
            assert len(way) <= most
            await pressed(pilot, "q")
        pilot.app.screen.query_one(CaseList).go_to("BY-018")
        await pressed(pilot, *CHECK_IN)
        (session,) = of_kind(new_entries(door, "BY-018", before), Session)
        assert (session.during, session.later, session.morning) == (3, 2, 2)
        pilot.app.screen.query_one(CaseList).go_to("BY-048")
        await pressed(pilot, *BOOK)
        await pressed(pilot, *WITH_HOUR)
        slots = of_kind(new_entries(door, "BY-048", before), Appointment)
        assert [slot.at for slot in slots] == [None, "09:20"]
        await haste(pilot, SWEEP[:-1])
        assert "11 of 11 decided" in painted(pilot)
        await pressed(pilot, "escape")
    for code in QUEUE:
        assert len(of_kind(new_entries(door, code, before), SweepDecision)) == 1, code
    counts = {
        "find": (len(FIND), 5),
        "search": (len(SEARCH), 5),
        "check-in": (len(CHECK_IN), 10),
        "book": (len(BOOK), 6),
        "sweep of 11": (len(SWEEP), 36),
    }
    print(", ".join(f"{job}: {keys} keys of {most}" for job, (keys, most) in counts.items()))
    assert not [job for job, (keys, most) in counts.items() if keys > most]


async def test_the_first_visit_of_who_was_registered_takes_at_most_120_keys(door: Door) -> None:
    """What the registration asked is not asked again; every block is filled."""
    waiting(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pressed(pilot, "A", "enter")
        for block, typed in FIRST:
            assert block.upper() in painted(pilot)
            await haste(pilot, typed)
        assert "BY-200 RIGHT: first visit written, placed in RC2" in painted(pilot)
    count = 2 + sum(key != "look" for _, typed in FIRST for key in typed)
    print(f"first visit: {count} keys of 120")
    assert count <= 120
