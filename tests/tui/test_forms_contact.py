"""Contacts and in-hand dates by their keys.

Expected behaviour: sections 1.5, 2.2, 6.3 and rulings 4 and 38 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

import pytest

from armrise.store.clinic.standing.words import why
from armrise.store.record.kinds.care import Contact
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.plan import InHand
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.case_store import at_case
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import app_on, new_entries, newest, of_kind, painted, press, type_in

NO_PAIN = ("enter",) * 4
"""Past the question whether they exercised, and past the triple."""


async def test_a_contact_with_load_cut_is_stored_and_puts_the_flare_in_hand(door: Door) -> None:
    before = newest(door)
    app = FormApp(ContactScreen(door, door.standing("BY-018")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", *NO_PAIN, "y", "n")
        assert "contact on Mon 2 Mar: spoke, nothing new, load cut" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, Contact)
    assert (stored.outcome, stored.load_cut, stored.plan_corrected) == ("spoke", True, False)
    flare = next(r for r in door.standing("BY-018").reasons if r.code == "FLA")
    assert flare.in_hand_until == date(2026, 3, 9)


async def test_a_contact_with_the_plan_corrected_answers_a_broken_limit(door: Door) -> None:
    async with FormApp(ContactScreen(door, door.standing("BY-003"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "n", "n", "y", "y", "f2")
    assert not [r for r in door.standing("BY-003").reasons if r.code == "LIM"]


async def test_who_was_not_spoken_to_is_asked_for_nothing_agreed_and_no_pain(door: Door) -> None:
    """Load cut and pain typed before the outcome is put right are not asked any more, so not written."""
    before = newest(door)
    app = FormApp(ContactScreen(door, door.standing("BY-018")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "y", "4", "3", "6", "y")
        await press(pilot, *["up"] * 6, "n")
        shown = painted(pilot)
        assert "load cut" not in shown
        assert "exercised?" not in shown
        assert "nobody was spoken to: an attempt or a message, no contact" in shown
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, Contact)
    assert (stored.outcome, stored.spoken, stored.load_cut) == ("no answer", False, False)


async def test_a_call_with_the_triple_takes_nine_keys_and_an_attempt_three(door: Door) -> None:
    """Practice note 1.6: the pain of yesterday's exercises as in the sweep, its limits beside it."""
    before = newest(door)
    call, attempt = ("p", "s", "y", "4", "3", "6", "y", "n", "f2"), ("p", "n", "f2")
    print(f"phone with the triple: {len(call)} keys, an attempt: {len(attempt)}")
    assert (len(call), len(attempt)) == (9, 3)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await at_case(pilot, "BY-018", *attempt)
        assert "; tried 20:00, no answer" in why(door.standing("BY-018"))
        await press(pilot, *call[:2])
        shown = painted(pilot)
        assert "exercised?" in shown
        assert "on Sun 1 Mar" in shown
        assert shown.count("limit 4") == 2
        assert "limit 3 (usual 2 + 1)" in shown
        await press(pilot, *call[2:])
    contacts = of_kind(new_entries(door, "BY-018", before), Contact)
    (session,) = of_kind(new_entries(door, "BY-018", before), Session)
    assert [c.outcome for c in contacts] == ["no answer", "spoke"]
    assert (contacts[1].load_cut, contacts[1].anything_new) == (True, "no")
    assert (session.on, session.during, session.later, session.morning) == (date(2026, 3, 1), 4, 3, 6)
    assert door.standing("BY-018").tried == ""
    flare = next(r for r in door.standing("BY-018").reasons if r.code == "FLA")
    assert flare.in_hand_until == date(2026, 3, 9)  # the pain told in the call is what it answers (ruling 4)


async def test_pain_once_begun_is_asked_whole(door: Door) -> None:
    async with FormApp(ContactScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "y", "4", "f2")
        assert "pain later that day: 0 to 9, x for 10, or d for declined." in painted(pilot)


async def test_an_outcome_is_needed(door: Door) -> None:
    before = newest(door)
    async with FormApp(ContactScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "outcome: choose s, a, n, w, m, r" in painted(pilot)
        await press(pilot, "7")
        assert '"7" is not s, a, n, w, m, r' in painted(pilot)
        await press(pilot, "f2")
        assert "Not written: a field above is marked." in painted(pilot)
        await press(pilot, "n")
        assert "Not written" not in painted(pilot)
    assert new_entries(door, "BY-018", before) == []


@pytest.mark.parametrize("note", ["Mary rang", "ring 020 7946 0991"])
async def test_a_note_that_may_identify_is_warned_about_and_written(door: Door, note: str) -> None:
    before = newest(door)
    async with FormApp(ContactScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", *NO_PAIN, "n", "n", "n", "n")
        await type_in(pilot, note)
        assert "note:" in painted(pilot)
        assert "notes carry no" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, Contact)
    assert stored.note == note


async def test_an_in_hand_date_is_stored_for_the_placing_reason(door: Door) -> None:
    before = newest(door)
    app = FormApp(InHandScreen(door, door.standing("BY-018")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "ring again")
        assert '"flare not settling" in hand from Mon 2 Mar until Thu 5 Mar: ring again' in painted(pilot)
        await press(pilot, "enter", "enter", "enter")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, InHand)
    assert (stored.reason, stored.action, stored.until) == (
        "flare not settling",
        "ring again",
        date(2026, 3, 5),
    )
    assert next(r for r in door.standing("BY-018").reasons if r.code == "FLA").in_hand


@pytest.mark.parametrize(
    ("code", "typed", "stored"),
    [
        ("BY-018", "+14", True),
        ("BY-018", "+15", False),
        ("BY-015", "+7", True),
        ("BY-015", "+8", False),
        ("BY-018", "today", False),
        ("BY-018", "soon", False),
    ],
)
async def test_an_in_hand_date_has_a_latest_day(door: Door, code: str, typed: str, stored: bool) -> None:
    """Ruling 4: at most 14 days ahead, 7 for a reason of today."""
    before = newest(door)
    async with FormApp(InHandScreen(door, door.standing(code))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "ring again")
        await press(pilot, "enter")
        await type_in(pilot, typed)
        await press(pilot, "f2")
        if not stored:
            assert "! until:" in painted(pilot)
            assert typed in painted(pilot)
    assert bool(new_entries(door, code, before)) is stored


async def test_in_hand_needs_an_action(door: Door) -> None:
    before = newest(door)
    async with FormApp(InHandScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "action: say what is being done" in painted(pilot)
    assert new_entries(door, "BY-018", before) == []


async def test_a_case_without_a_reason_has_nothing_to_put_in_hand(door: Door) -> None:
    app = FormApp(InHandScreen(door, door.standing("BY-093")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "There is no live reason to put in hand." in painted(pilot)
    assert app.result == "not dismissed"
