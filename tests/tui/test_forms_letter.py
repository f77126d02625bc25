"""Letters and decisions by their keys.

Expected behaviour: sections 2.2, 4.13 (25) and rulings 14, 23, 51, 54, 55 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from armrise.store.record.kinds.paperwork import Decision, Letter
from armrise.tui.forms.decisions.letter import LetterScreen
from armrise.tui.forms.decisions.letter_text import LetterTextScreen
from armrise.tui.forms.decisions.paragraph import share
from armrise.tui.shell.door import Door
from tests.clinic.build import case, standing_of
from tests.quiet import settle
from tests.tui.form_fakes import FakeDoor, FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in, until


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


# --- its text -------------------------------------------------------------------------------------------


def text(door: Door, code: str, about: str = "discharge") -> FormApp:
    return FormApp(LetterTextScreen(door, door.standing(code), about))


async def test_a_text_is_edited_kept_as_a_draft_gone_on_with_and_sent(door: Door) -> None:
    """Eight lines, all in sight at 80 by 24; what was changed stays so until it is sent."""
    before = newest(door)
    app = form(door, "BY-087")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f7")
        shown = painted(pilot)
        assert "Letter about discharge BY-087 LEFT FICTIONAL CASELOAD DRAFT to the GP, made now" in shown
        for said in ("1 BY-087, LEFT shoulder", "2 First visit 31 Oct 2025", "8 Asked of you: nothing."):
            assert said in shown
        await press(pilot, "enter", "ctrl+u", "end", "ctrl+u", *["pagedown"] * 6, "end", "backspace")
        await type_in(pilot, ", thank you")
        assert "text of 7 lines F7 sent, then gone: letter owed" in painted(pilot)
        await press(pilot, "f2")
    assert app.result == ("Written: BY-087 letter about discharge: drafted on Mon 2 Mar, text of 7 lines.")
    (draft,) = new_entries(door, "BY-087", before)
    assert isinstance(draft, Letter)
    assert len(draft.lines) == 7
    assert draft.lines[-1] == "Asked of you: nothing, thank you"
    assert "LTR" in live(door, "BY-087")
    async with text(door, "BY-087").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert "DRAFT to the GP, goes on from that of Mon 2 Mar 2026. Recorded since: nothing." in shown
        assert "First visit" not in shown
        await press(pilot, "f7")
    sent = new_entries(door, "BY-087", before)[-1]
    assert isinstance(sent, Letter)
    assert (sent.state, sent.lines) == ("sent", draft.lines)
    assert "LTR" not in live(door, "BY-087")


async def test_a_letter_said_to_be_sent_has_the_text_of_its_draft_by_the_same_keys(door: Door) -> None:
    before = newest(door)
    door.append("BY-087", [door.draft("letter", about="discharge", state="draft", body="one ¶ two")])
    async with form(door, "BY-087").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        assert "(its text is that of the draft of Mon 2 Mar 2026)" in painted(pilot)
        await press(pilot, "f2")
    sent = new_entries(door, "BY-087", before)[-1]
    assert isinstance(sent, Letter)
    assert (sent.state, sent.lines) == ("sent", ("one", "two"))


async def test_a_name_is_warned_about_esc_loses_nothing_the_page_lies_beside_the_store(door: Door) -> None:
    app = text(door, "BY-012", "referral")
    app.door = door
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f9")
        await until(lambda: "Written to" in painted(pilot))
        written = door.store.folder / "letter-BY-012-referral-2026-03-02.html"
        assert "DRAFT: letter about referral" in written.read_text(encoding="utf-8")
        await press(pilot, "pageup", *["down"] * 3, "end")
        await type_in(pilot, " Brown")
        assert '"Brown" may be a name' in painted(pilot)
        await press(pilot, *["pagedown"] * 8, "escape")
        await pilot.app.workers.wait_for_complete()
    left = door.left_unwritten("BY-012", "LetterTextScreen:referral")
    assert left is not None
    assert any("Brown" in typed for typed in left.fields.values())


async def test_a_danger_that_was_taken_out_is_said_before_the_letter_is_written(door: Door) -> None:
    async with text(door, "BY-012", "referral").run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        assert "NOT IN THE TEXT" not in painted(pilot)
        await press(pilot, *["pagedown"] * 5, "end", *["ctrl+u"] * 2)
        assert 'NOT IN THE TEXT: Possible red flag, no outcome recorded: "unrelenting night pain"' in painted(
            pilot
        )
        await press(pilot, "f3")
        assert "NOT IN THE TEXT" not in painted(pilot)


async def test_no_text_is_drafted_after_a_death() -> None:
    record = case("RC2").discharge(-2, "died").record()
    opened = FakeDoor(record, standing_of(record))
    async with FormApp(LetterScreen(opened, opened.given)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f7")
        assert "! The case is closed by death: no letter is drafted, and none is owed." in painted(pilot)


@pytest.mark.parametrize(
    ("rows", "room", "whole", "shown"),
    [
        ([2, 1, 3, 5, 4, 2, 3, 1], 21, 0, [2, 1, 3, 5, 4, 2, 3, 1]),
        ([2, 1, 3, 5, 4, 2, 3, 1], 19, 0, [2, 1, 3, 5, 3, 2, 2, 1]),
        ([2, 1, 3, 5, 4, 2, 3, 1], 17, 4, [2, 1, 3, 2, 4, 2, 2, 1]),
        ([4, 4], 3, 1, [2, 4]),
        ([1, 1], 9, None, [1, 1]),
    ],
)
def test_the_rows_of_a_window_are_shared(
    rows: list[int], room: int, whole: int | None, shown: list[int]
) -> None:
    """The line typed in stands in full, the others in their order as far as there is room."""
    assert share(rows, room, whole) == shown


def test_picture_of_the_text(door: Door, snap_compare: Any) -> None:
    async def look(pilot: Any) -> None:
        await settle(pilot)
        await press(pilot, "pagedown", "pagedown")

    assert snap_compare(text(door, "BY-087"), terminal_size=(80, 24), run_before=look)
