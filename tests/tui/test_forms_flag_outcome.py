"""The outcome of a possible red flag by its keys.

Expected behaviour: sections 2.2, 2.3, 4.13 (25) and rulings 4 and 51 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

import pytest

from armrise.store.clinic.case.standing import Word
from armrise.store.record.kinds.paperwork import Letter, Referral, ReferralAnswer
from armrise.store.record.kinds.plan import InHand
from armrise.store.record.kinds.safety import FlagOutcome
from armrise.store.record.words import PROMPT
from armrise.tui.forms.decisions.flag_outcome import FlagOutcomeScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in

HOT = "hot or swollen joint, or unwell"
MASS = "mass, cancer history, weight loss or unrelenting night pain"
NIGHT = "unrelenting night pain"


def form(door: Door, code: str) -> FormApp:
    return FormApp(FlagOutcomeScreen(door, door.standing(code)))


async def test_an_open_flag_is_shown_with_urgency_since_when_and_by_whom(door: Door) -> None:
    async with form(door, "BY-012").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert f"URGENT: {NIGHT}" in shown
        assert "since Wed 25 Feb, 5 days ago; clinician measured, entered by RS" in shown
        assert "a clean list rules nothing out" in shown


async def test_a_flag_is_cleared_with_its_reason(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        await type_in(pilot, "seen by the doctor, no infection")
        assert "then gone: possible red flag" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-007", before)
    assert isinstance(stored, FlagOutcome)
    assert (stored.item, stored.outcome) == (HOT, "cleared")
    after = door.standing("BY-007")
    assert "RED" not in {r.code for r in after.reasons}
    assert after.verdict.word is Word.NOT_YET


async def test_a_reason_of_two_characters_is_refused(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        await type_in(pilot, "no")
        await press(pilot, "f2")
        assert "reason: at least 3 characters, 2 typed" in painted(pilot)
    assert new_entries(door, "BY-007", before) == []


async def test_an_answered_referral_closes_the_flag_and_keeps_the_answer(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-012").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "2")
        await type_in(pilot, "imaging shows no mass")
        await press(pilot, "f2")
    outcome, answer = new_entries(door, "BY-012", before)
    assert isinstance(outcome, FlagOutcome)
    assert outcome.item == NIGHT
    assert isinstance(answer, ReferralAnswer)
    assert (outcome.outcome, answer.about) == ("referred and answered", "possible red flag")
    assert outcome.reason == answer.answer == "imaging shows no mass"


async def test_a_referral_keeps_the_flag_open_and_in_hand_until_its_date(door: Door) -> None:
    """One action: the referral, its letter and the date; the flag stays in the first tier (2.3)."""
    before = newest(door)
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3")
        await type_in(pilot, "rheumatology")
        await press(pilot, "enter", "1", "enter", "y")
        await type_in(pilot, "Thu")
        await press(pilot, "f2")
    referral, letter, hand = new_entries(door, "BY-007", before)
    assert isinstance(referral, Referral)
    assert isinstance(letter, Letter)
    assert isinstance(hand, InHand)
    assert (referral.to, referral.urgency, referral.about) == (
        "rheumatology",
        "same day",
        "possible red flag",
    )
    assert (letter.about, letter.state) == ("referral", "sent")
    assert (hand.reason, hand.until) == ("possible red flag", date(2026, 3, 5))
    assert referral.recorded_at == letter.recorded_at == hand.recorded_at
    red = next(r for r in door.standing("BY-007").reasons if r.code == "RED")
    assert red.in_hand
    assert door.standing("BY-007").tier == "today"


async def test_without_the_letter_one_is_owed_from_the_next_day(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3")
        await type_in(pilot, "rheumatology")
        await press(pilot, "enter", "1", "left", "left", "f2")
    referral, hand = new_entries(door, "BY-007", before)
    assert isinstance(referral, Referral)
    assert isinstance(hand, InHand)
    assert referral.on == date(2026, 2, 28)
    assert "LTR" in {r.code for r in door.standing("BY-007").reasons}


@pytest.mark.parametrize("typed", ["+8", "today", "soon"])
async def test_a_red_flag_is_in_hand_for_a_week_at_most(door: Door, typed: str) -> None:
    """Ruling 4: seven days in the first tier."""
    before = newest(door)
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3")
        await type_in(pilot, "rheumatology")
        await press(pilot, "enter", "1", "enter", "n")
        await type_in(pilot, typed)
        await press(pilot, "f2")
        assert "! in hand until:" in painted(pilot)
    assert new_entries(door, "BY-007", before) == []


async def test_a_referral_says_to_whom_and_how_urgent(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "f2")
        shown = painted(pilot)
        assert "referred to: say to whom" in shown
        assert "urgency: choose 1 to 4" in shown
    assert new_entries(door, "BY-007", before) == []


async def test_a_flag_of_the_other_side_is_listed_and_closed_for_both(door: Door) -> None:
    """Clarification 6: a red flag of a person shows on both of that person's cases."""
    flag = door.draft("screen", item=HOT, answer="yes", source="patient reported")
    door.append("BY-100", [flag, door.draft("screen", item=MASS, answer="yes")])
    async with form(door, "BY-099").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert HOT in shown
        assert MASS in shown
        await press(pilot, "f2")
        assert "choose 1 to 3" in painted(pilot)
        await press(pilot, "3", "1")
        await type_in(pilot, "examined, nothing found")
        await press(pilot, "f2")
    for code in ("BY-099", "BY-100"):
        assert "RED" not in {r.code for r in door.standing(code).reasons}


async def test_with_nothing_open_the_form_says_so_and_writes_nothing(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-099").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert f"No possible red flag is open for BY-099, nor for BY-100. {PROMPT}" in shown
        await press(pilot, "1", "f2")
        assert "Nothing is open" in painted(pilot)
    assert new_entries(door, "BY-099", before) == []
