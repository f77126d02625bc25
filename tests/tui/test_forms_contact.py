"""Contacts and in-hand dates by their keys.

Expected behaviour: sections 1.5, 2.2, 6.3 and rulings 4 and 38 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

import pytest

from armrise.store.record.kinds.care import Contact
from armrise.store.record.kinds.plan import InHand
from armrise.tui.forms.decisions.contact import ContactScreen
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in


async def test_a_contact_with_load_cut_is_stored_and_puts_the_flare_in_hand(door: Door) -> None:
    before = newest(door)
    app = FormApp(ContactScreen(door, door.standing("BY-018")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "y", "n", "n")
        assert "contact on Mon 2 Mar: spoke, load cut" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, Contact)
    assert (stored.outcome, stored.load_cut, stored.plan_corrected) == ("spoke", True, False)
    flare = next(r for r in door.standing("BY-018").reasons if r.code == "FLA")
    assert flare.in_hand_until == date(2026, 3, 9)


async def test_a_contact_with_the_plan_corrected_answers_a_broken_limit(door: Door) -> None:
    async with FormApp(ContactScreen(door, door.standing("BY-003"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "n", "y", "y", "f2")
    assert not [r for r in door.standing("BY-003").reasons if r.code == "LIM"]


async def test_load_cut_needs_somebody_spoken_to(door: Door) -> None:
    before = newest(door)
    app = FormApp(ContactScreen(door, door.standing("BY-018")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "y", "f2")
        assert 'needs somebody spoken to; the outcome is "no answer"' in painted(pilot)
        assert new_entries(door, "BY-018", before) == []
        await press(pilot, "n", "f2")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, Contact)
    assert (stored.outcome, stored.spoken) == ("no answer", False)


async def test_an_outcome_is_needed(door: Door) -> None:
    before = newest(door)
    async with FormApp(ContactScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "outcome: choose 1 to 6" in painted(pilot)
        await press(pilot, "7")
        assert '"7" is not 1 to 6' in painted(pilot)
    assert new_entries(door, "BY-018", before) == []


@pytest.mark.parametrize("note", ["Mary rang", "ring 020 7946 0991"])
async def test_a_note_that_may_identify_is_warned_about_and_written(door: Door, note: str) -> None:
    before = newest(door)
    async with FormApp(ContactScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "n", "n", "n")
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
