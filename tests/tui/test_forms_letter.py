"""Letters and decisions by their keys.

Expected behaviour: sections 2.2, 4.13 (25) and rulings 14, 23, 51, 54, 55 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

from armrise.store.record.kinds.paperwork import Decision, Letter
from armrise.tui.forms.decisions.letter import LetterScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in


def form(door: Door, code: str) -> FormApp:
    return FormApp(LetterScreen(door, door.standing(code)))


def live(door: Door, code: str) -> set[str]:
    return {reason.code for reason in door.standing(code).reasons}


async def test_a_sent_letter_ends_what_was_owed(door: Door) -> None:
    before = newest(door)
    app = form(door, "BY-087")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Owed: discharge letter, since Wed 25 Feb 2026, 5 days" in painted(pilot)
        await press(pilot, "1")
        assert "then gone: letter owed" in painted(pilot)
        await press(pilot, "f2")
        assert app.result == "Written: BY-087 letter about discharge: sent on Mon 2 Mar."
    (stored,) = new_entries(door, "BY-087", before)
    assert isinstance(stored, Letter)
    assert (stored.about, stored.state, stored.on) == ("discharge", "sent", date(2026, 3, 2))
    assert "LTR" not in live(door, "BY-087")


async def test_a_draft_leaves_the_letter_owed(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-087").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "2")
        assert "the verdict and the reasons stay as they are" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-087", before)
    assert isinstance(stored, Letter)
    assert stored.state == "draft"
    assert "LTR" in live(door, "BY-087")


async def test_a_refer_rule_is_answered_by_a_decision_that_names_it(door: Door) -> None:
    """Ruling 14; the rule that waits is chosen already."""
    before = newest(door)
    async with form(door, "BY-081").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4")
        await type_in(pilot, "carry on, the patient's choice".replace("'", ""))
        shown = painted(pilot)
        assert 'answers "plateau' in shown
        assert "for the rest of FS1" in shown
        assert "then NOT YET" in shown
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-081", before)
    assert isinstance(stored, Decision)
    assert (stored.about, stored.note) == ("plateau", "carry on, the patients choice")
    assert door.standing("BY-081").verdict.word.value == "NOT YET"


async def test_a_plan_review_silences_the_long_stay_for_28_days(door: Door) -> None:
    """Practice note 2.2, row 14."""
    async with form(door, "BY-078").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4")
        await type_in(pilot, "plan reviewed")
        shown = painted(pilot)
        assert 'silences "long in stage" for 28 days, until Mon 30 Mar 2026' in shown
        assert "then gone: long in stage" in shown
        await press(pilot, "f2")
    assert "STL" not in live(door, "BY-078")


async def test_review_not_needed_moves_the_next_due_date(door: Door) -> None:
    """Ruling 55: that date plus the interval of 14 days."""
    before = newest(door)
    async with form(door, "BY-060").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4", "b")
        await type_in(pilot, "seen at the ward")
        shown = painted(pilot)
        assert "moves the review due from Tue 24 Feb 2026 to Mon 16 Mar 2026" in shown
        assert "then gone: review overdue" in shown
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-060", before)
    assert isinstance(stored, Decision)
    assert stored.about == "review not needed"
    assert door.standing("BY-060").review.due == date(2026, 3, 16)


async def test_a_matter_that_a_decision_does_not_end_is_said_to_stay(door: Door) -> None:
    """Ruling 51: a red flag needs its outcome."""
    async with form(door, "BY-007").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4", "8")
        await type_in(pilot, "carry on")
        shown = painted(pilot)
        assert "only the outcome of the flag ends it" in shown
        assert "the verdict and the reasons stay as they are" in shown


async def test_a_decision_needs_its_matter_and_a_note(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-060").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4", "f2")
        assert "about: choose 1 to 9, a to k" in painted(pilot)
        await press(pilot, "l")
        assert '"l" is not 1 to 9, a to k' in painted(pilot)
        await press(pilot, "k")
        await type_in(pilot, "ok")
        await press(pilot, "f2")
        assert "note: at least 3 characters, 2 typed" in painted(pilot)
    assert new_entries(door, "BY-060", before) == []


async def test_a_chosen_letter_is_not_lost_by_turning_the_page(door: Door) -> None:
    async with form(door, "BY-087").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "f4")
        assert "is not written yet: F2 writes it" in painted(pilot)
        assert isinstance(pilot.app.screen, LetterScreen)


async def test_leaving_the_decision_comes_back_to_the_letter(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-087").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4", "escape")
        assert isinstance(pilot.app.screen, LetterScreen)
    assert new_entries(door, "BY-087", before) == []
