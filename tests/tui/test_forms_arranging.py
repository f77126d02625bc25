"""Bookings, holds, referrals, discharges and reopenings by their keys, read back from the store.

Expected behaviour: sections 1.5, 2.2 and 4.13 (13, 16, 17, 23, 25, 26, 27, 40) and rulings 24, 37, 54, 55 and
58 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.record.kinds.care import Appointment, Attendance, Visit
from armrise.store.record.kinds.measured import Score as Total
from armrise.store.record.kinds.paperwork import Decision, Discharge, Letter, Referral, ReferralAnswer, Reopen
from armrise.store.record.kinds.plan import Hold
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.forms.decisions.discharge import DischargeScreen
from armrise.tui.forms.decisions.hold import HoldScreen
from armrise.tui.forms.decisions.refer import ReferScreen
from armrise.tui.forms.decisions.reopen import ReopenScreen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import TODAY, new_entries, newest, painted, press, type_in


def write(door: Door, code: str, kind: str, **values: Any) -> None:
    """An entry of before the form is opened."""
    door.append(code, [door.draft(kind, **values)])


class Typing:
    """One form on one case, driven by keys."""

    def __init__(self, of: type[FormScreen], door: Door, code: str) -> None:
        self.door, self.code = door, code
        self.before = newest(door)
        self.app = FormApp(of(door, door.standing(code)))
        self.pilot: Pilot[Any] | None = None
        self.shown = ""

    async def run(self, *steps: str) -> list[Any]:
        """Keys in angle brackets are pressed, anything else is typed; what was written."""
        async with self.app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            for step in steps:
                if step.startswith("<"):
                    self.shown = painted(pilot)
                    await press(pilot, *step[1:-1].split())
                else:
                    await type_in(pilot, step)
            self.shown = self.shown if self.app.result != "not dismissed" else painted(pilot)
        return new_entries(self.door, self.code, self.before)


# --- booking --------------------------------------------------------------------------------------------


async def test_a_booking_is_stored_and_the_review_stays_overdue(door: Door) -> None:
    form = Typing(BookingScreen, door, "BY-042")
    (stored,) = await form.run("+4", "<f2>")
    assert isinstance(stored, Appointment)
    assert stored.booked_for == TODAY + timedelta(days=4)
    assert "the review stays overdue until the patient is seen" in form.shown
    now = door.standing("BY-042")
    assert now.review.booked == date(2026, 3, 6)
    assert now.review.overdue_days == 31


async def test_a_missed_slot_by_one_key_says_what_follows(door: Door) -> None:
    write(door, "BY-066", "appointment", booked_for=TODAY)
    form = Typing(BookingScreen, door, "BY-066")
    (stored,) = await form.run("<d>", "<f2>")
    assert isinstance(stored, Attendance)
    assert (stored.outcome, stored.booked_for, stored.on) == ("did not attend", TODAY, TODAY)
    assert "Contact within 7 days: by Mon 9 Mar 2026" in form.shown


async def test_a_minor_was_not_brought_and_safeguarding_is_thought_of(door: Door) -> None:
    write(door, "BY-105", "appointment", booked_for=TODAY)
    form = Typing(BookingScreen, door, "BY-105")
    (stored,) = await form.run("<b>", "<f2>")
    assert stored.outcome == "was not brought"
    assert "Safeguarding: think about why" in form.shown
    assert "Protected stage AD1: phone today" in form.shown


async def test_a_slot_ahead_is_cancelled_and_another_booked_in_one_go(door: Door) -> None:
    form = Typing(BookingScreen, door, "BY-054")
    stored = await form.run("+9", "<up>", "<p>", "<f2>")
    assert [type(entry) for entry in stored] == [Attendance, Appointment]
    assert (stored[0].outcome, stored[0].booked_for) == ("cancelled by patient", date(2026, 3, 3))
    assert stored[0].recorded_at == stored[1].recorded_at
    assert door.standing("BY-054").review.booked == date(2026, 3, 11)


async def test_a_late_slot_in_a_protected_stage_takes_a_reason(door: Door) -> None:
    form = Typing(BookingScreen, door, "BY-024")
    assert await form.run("+15", "<f2>") == []
    assert "why so late: Tue 17 Mar 2026 is more than one interval ahead" in form.shown
    assert "17 Mar" in form.shown
    again = Typing(BookingScreen, door, "BY-024")
    (stored,) = await again.run("+15", "<enter>", "no slot sooner", "<f2>")
    assert stored.reason == "no slot sooner"


@pytest.mark.parametrize("typed", ["soon", "yesterday", "3 Mar"])
async def test_a_slot_that_cannot_be_is_refused_and_kept(door: Door, typed: str) -> None:
    """No date, a day before today, a day booked already."""
    form = Typing(BookingScreen, door, "BY-054")
    assert await form.run(typed, "<f2>") == []
    assert "! book for:" in form.shown
    assert typed in form.shown


# --- hold -----------------------------------------------------------------------------------------------


async def test_a_hold_is_stored_and_moves_the_review(door: Door) -> None:
    form = Typing(HoldScreen, door, "BY-042")
    (stored,) = await form.run("<1>", "+14", "<f2>")
    assert isinstance(stored, Hold)
    assert (stored.reason, stored.until) == ("holiday", TODAY + timedelta(days=14))
    assert "review then due Mon 16 Mar 2026; was due Fri 30 Jan 2026" in form.shown
    assert "Not on hold in this episode so far." in form.shown
    now = door.standing("BY-042")
    assert (now.status, now.review.due) == ("on hold", stored.until)
    assert now.review.original_due == date(2026, 1, 30)


@pytest.mark.parametrize(
    ("typed", "stored"), [("+40", True), ("+42", True), ("+43", False), ("today", False), ("", False)]
)
async def test_a_hold_has_a_latest_end(door: Door, typed: str, stored: bool) -> None:
    """Day 40 is a Saturday: the clinic is closed, which is said and forbids nothing."""
    form = Typing(HoldScreen, door, "BY-042")
    steps = [typed] if typed else []
    assert bool(await form.run("<1>", *steps, "<f2>")) is stored
    assert ("in 40 days; closed" in form.shown) is (typed == "+40")
    if not stored:
        assert "! until:" in form.shown


async def test_no_hold_with_a_red_flag_open(door: Door) -> None:
    form = Typing(HoldScreen, door, "BY-007")
    assert await form.run("<1>", "+14", "<f2>") == []
    assert 'No hold while the possible red flag "hot or swollen joint, or unwell"' in form.shown


async def test_a_hold_in_a_protected_stage_names_who_agreed(door: Door) -> None:
    form = Typing(HoldScreen, door, "BY-024")
    assert await form.run("<4>", "+7", "<f2>") == []
    assert "protected stage PO2, name the surgeon or lead" in form.shown
    again = Typing(HoldScreen, door, "BY-024")
    (stored,) = await again.run("<4>", "+7", "<enter>", "consultant A", "<f2>")
    assert stored.named == "consultant A"
    assert any(reason.code == "LOST" for reason in door.standing("BY-024").reasons)


async def test_a_hold_is_ended_early_and_says_for_how_long_it_was(door: Door) -> None:
    form = Typing(HoldScreen, door, "BY-093")
    (stored,) = await form.run("<f4>", "<f2>")
    assert isinstance(stored, Hold)
    assert stored.until == stored.on == TODAY
    assert "On hold this episode already:" in form.shown
    assert "ends today, not on Wed 11 Mar 2026" in form.shown
    assert door.standing("BY-093").status == "active"


# --- refer ----------------------------------------------------------------------------------------------


async def test_a_referral_and_then_its_answer(door: Door) -> None:
    form = Typing(ReferScreen, door, "BY-033")
    (sent,) = await form.run("surgeon", "<enter>", "<3>", "<a>", "<f2>")
    assert isinstance(sent, Referral)
    assert (sent.to, sent.urgency, sent.about, sent.surgeon_told) == ("surgeon", "soon", "stalled", False)
    assert "a referral letter is owed" in form.shown
    again = Typing(ReferScreen, door, "BY-033")
    (came,) = await again.run("<up>", "seen, no surgery", "<f2>")
    assert isinstance(came, ReferralAnswer)
    assert (came.about, came.answer) == ("stalled", "seen, no surgery")


async def test_what_the_verdict_asks_is_chosen_already_and_a_letter_may_go_with_it(door: Door) -> None:
    code = "BY-081"
    rule = door.standing(code).verdict.rule
    assert rule == "plateau"
    form = Typing(ReferScreen, door, code)
    stored = await form.run("surgeon", "<enter>", "<4>", "<enter>", "<left>", "<enter>", "<y>", "<f2>")
    assert [type(entry) for entry in stored] == [Referral, Letter]
    assert stored[0].about == rule
    assert stored[0].on == stored[1].on == TODAY - timedelta(days=1)
    assert not [r for r in door.standing(code).reasons if r.code == "LTR"]


async def test_a_referral_without_urgency_is_not_written(door: Door) -> None:
    form = Typing(ReferScreen, door, "BY-033")
    assert await form.run("surgeon", "<f2>") == []
    assert "! urgency: choose one" in form.shown


# --- discharge ------------------------------------------------------------------------------------------


async def test_a_discharge_with_its_review_answered_in_the_same_form(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-045")
    stored = await form.run(
        "<2>", "goal met by phone", "<enter>", "<2>", "<2>", "n", "<enter>", "<enter>", "<f2>"
    )
    assert [type(entry) for entry in stored] == [Decision, Total, Discharge]
    assert stored[0].about == "review not needed"
    assert str(stored[1].total) == "not measured"
    ended = stored[2]
    assert (ended.outcome, ended.measures, ended.letter) == ("self-managing", "not obtained", True)
    assert "owed: a discharge letter" in form.shown
    assert door.standing("BY-045").status == "closed"


async def test_a_slot_that_nobody_cancelled_is_told_with_a_discharge(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-069")
    assert await form.run("<1>", "<2>", "<f2>")
    assert "(still booked: today 10:40)" in form.shown


async def test_an_unanswered_review_blocks_a_discharge(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-045")
    assert await form.run("<down>", "<1>", "<1>", "30", "<f2>") == []
    assert "! review: it was due Thu 1 Jan and is not answered" in form.shown


async def test_the_last_review_may_have_been_seen(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-045")
    stored = await form.run("<1>", "<left>", "<enter>", "<1>", "<1>", "40", "<f2>")
    assert [type(entry) for entry in stored] == [Visit, Total, Discharge]
    assert stored[0].on == TODAY - timedelta(days=1)
    assert stored[1].total == Decimal(40)


async def test_no_discharge_with_a_red_flag_open(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-007")
    assert await form.run("<1>", "<f2>") == []
    assert "No discharge while the possible red flag" in form.shown


async def test_a_protected_case_is_not_discharged_unreached_and_untold(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-024")
    assert await form.run("<2>", "moved away", "<f2>") == []
    assert "no discharge before contact was tried on 2 days; recorded since the last visit: 1" in form.shown
    write(door, "BY-024", "contact", outcome="no answer")
    again = Typing(DischargeScreen, door, "BY-024")
    steps = ["<2>", "patient's wish", "<enter>", "<5>", "<2>", "n", "<enter>", "<enter>"]
    assert await again.run(*steps, "<f2>") == []
    assert "! referrer told: protected stage PO2" in again.shown
    last = Typing(DischargeScreen, door, "BY-024")
    stored = await last.run(*steps, "<y>", "<f2>")
    assert isinstance(stored[-1], Discharge)
    assert stored[-1].note == "referrer told"


async def test_a_death_closes_at_once_and_suppresses_letters(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-024")
    (stored,) = await form.run("<down>", "<6>", "<f2>")
    assert isinstance(stored, Discharge)
    assert (stored.outcome, stored.letter, stored.measures) == ("died", False, "not obtained")
    assert "prompts stop and letters are suppressed" in form.shown
    assert door.standing("BY-024").reasons == ()


async def test_a_score_out_of_range_is_marked_where_it_was_typed(door: Door) -> None:
    form = Typing(DischargeScreen, door, "BY-078")
    assert await form.run("<1>", "<1>", "101", "<f2>") == []
    assert "SPADI total: 101 is not allowed; 0 to 100" in form.shown


# --- reopening ------------------------------------------------------------------------------------------


async def test_a_case_closed_lately_goes_on_in_its_episode(door: Door) -> None:
    form = Typing(ReopenScreen, door, "BY-087")
    (stored,) = await form.run("<n>", "same pain on lifting", "<f2>")
    assert isinstance(stored, Reopen)
    assert stored.new_mechanism is False
    assert "the same episode after a gap of" in form.shown
    assert "owed again: the red-flag screen, and a baseline" in form.shown
    now = door.standing("BY-087")
    assert now.status == "active"
    assert any(reason.code == "SCR" for reason in now.reasons)


async def test_a_new_mechanism_is_a_new_episode(door: Door) -> None:
    form = Typing(ReopenScreen, door, "BY-087")
    (stored,) = await form.run("<y>", "fall from a ladder", "<f2>")
    assert stored.new_mechanism is True
    assert "a new episode, new mechanism" in form.shown


async def test_a_reopening_needs_an_answer_and_a_reason(door: Door) -> None:
    form = Typing(ReopenScreen, door, "BY-087")
    assert await form.run("<f2>") == []
    assert "! new injury or mechanism: answer y or n." in form.shown


async def test_an_attempt_alone_closes_nothing(door: Door) -> None:
    """Nothing is ever discharged by itself."""
    for _ in range(2):
        write(door, "BY-048", "contact", outcome="no answer")
    assert door.standing("BY-048").status == "active"
