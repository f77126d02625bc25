"""What an answer covers and what nobody may take off the list by accident.

Each test holds one safer reading of the practice notes; the ruling it rests on is in its docstring.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.standing.stand import stand
from tests.clinic.build import TODAY, Builder, case, codes, reason, rules, standing_of
from tests.clinic.build_more import ready_po3, twos

MASS = "mass, cancer history, weight loss or unrelenting night pain"


def at_one_instant(made: Builder) -> list[str]:
    """The live reasons when every entry of the last week carries one recorded instant."""
    record = made.record()
    instant = datetime(2026, 3, 1, 18, tzinfo=UTC)
    changes = {
        name: tuple(
            replace(e, recorded_at=instant) if (TODAY - e.on).days <= 7 else e for e in getattr(record, name)
        )
        for name in ("sessions", "contacts", "screens", "flag_outcomes")
    }
    return codes(stand(replace(record, **changes), rules(), TODAY))


def po2(day: int = 33) -> Builder:
    """PO2, five weeks after the repair."""
    return case("PO2", day=day - 14, onset=day)


# --- the programme ---------------------------------------------------------------------------------------


def test_striking_an_exercise_out_of_the_programme_leaves_the_breach_open() -> None:
    """Ruling 8 and the rank table: healing limit broken clears by contact AND a corrected plan."""
    struck = (
        po2().programme(-4, "R1", exercise="band row").programme(-2, "R1", exercise="band row", stopped="x")
    )
    found = reason(standing_of(struck), "LIM")
    assert (found.severity, found.days_open) == (3, 4)
    assert "LIM" not in codes(standing_of(struck.contact(-1, plan_corrected=True)))


def test_a_contact_before_the_exercise_was_struck_out_answers_nothing() -> None:
    """The same: while the exercise stands in the programme no contact ends the breach."""
    made = po2().programme(-4, "R1", exercise="band row").contact(-3, plan_corrected=True)
    assert "LIM" in codes(standing_of(made))


def test_no_sets_done_is_no_breach() -> None:
    """What was asked and not done loads nothing."""
    from tests.clinic.build import item

    assert "LIM" not in codes(standing_of(po2().session(-1, 1, 1, None, item("R1", 0, 10))))
    assert "LIM" in codes(standing_of(po2().session(-1, 1, 1, None, item("R1", 1, 10))))


# --- entries of one instant ------------------------------------------------------------------------------


@pytest.mark.parametrize("contact_first", [True, False])
def test_of_entries_recorded_at_one_instant_the_order_of_entry_decides(contact_first: bool) -> None:
    """Rulings 4 and 46: a contact written down before the breach cannot have known of it."""
    made = po2()
    if contact_first:
        made.contact(-2, plan_corrected=True)
    made.session(-2, 1, 1, None, R1=(3, 10))
    if not contact_first:
        made.contact(-2, plan_corrected=True)
    assert ("LIM" in at_one_instant(made)) is contact_first


@pytest.mark.parametrize("outcome_first", [True, False])
def test_an_outcome_written_before_the_flag_closes_nothing(outcome_first: bool) -> None:
    """Ruling 4 for red flags."""
    made = case("RC2", day=30)
    if outcome_first:
        made.flag_outcome(-2, MASS)
    made.screen(-2, MASS, "yes")
    if not outcome_first:
        made.flag_outcome(-2, MASS)
    assert ("RED" in at_one_instant(made)) is outcome_first


# --- in hand ---------------------------------------------------------------------------------------------


def test_the_newest_answer_governs_even_when_it_is_shorter() -> None:
    """Ruling 4: a clinician who shortens an answer means it."""
    made = case("RC2", day=30).screen(-6, MASS, "yes").in_hand(-4, "RED", 3)
    assert reason(standing_of(made), "RED").in_hand
    assert not reason(standing_of(made.in_hand(-2, "RED", -1)), "RED").in_hand


def test_own_open_date_is_the_day_the_new_evidence_spoke() -> None:
    """Rulings 4 and 42: a flare known by its next morning is open since that morning."""
    made = twos(case("RC3", day=40), first=-20, count=8)
    made.session(-12, 3, 2, 7, R2=(3, 10)).session(-10, 3, 2, 7, R2=(3, 10)).contact(-5, load_cut=True)
    made.session(-2, 3, 2, 7, R2=(3, 10))
    found = reason(standing_of(made), "FLA")
    assert not found.in_hand
    assert found.days_open == 1


# --- absence ---------------------------------------------------------------------------------------------


def test_a_declined_item_is_asked_but_no_answer_to_rest_on() -> None:
    """Declined is none of "no" and "not asked": nothing is owed, and READY waits."""
    found = standing_of(ready_po3())
    assert found.verdict.word is Word.READY
    declined = standing_of(ready_po3().screen(-1, "motor or sensory loss", "declined"))
    assert declined.verdict.word is Word.UNKNOWN
    assert "SCR" not in codes(declined)


def test_an_unscored_newest_session_is_not_passed_over() -> None:
    """Practice notes 3.3: pain during of the newest session, not of the newest that happens to be scored."""
    assert standing_of(ready_po3()).verdict.word is Word.READY
    unscored = standing_of(ready_po3().session(0, None, None, None, A2=(3, 10)))
    assert unscored.verdict.word is Word.UNKNOWN
    assert "pain during" in unscored.verdict.line


def test_history_tells_nothing_of_this_episode() -> None:
    """Edge case 10: a fall of an earlier episode, filed as history, is no new injury."""
    made = case("RC2", day=10)
    assert "INJ" in codes(standing_of(case("RC2", day=10).event(-9, "fall")))
    assert "INJ" not in codes(standing_of(made.event(-20, "fall", history=True)))
    inside = case("RC2", day=10).event(-2, "dislocation", history=True)
    assert "INJ" in codes(standing_of(inside)), "one wrong tick hides nothing"


def test_silence_on_hold_says_how_long_it_really_was() -> None:
    """Ruling 32 stops the count, not the calendar."""
    made = case("RC2", day=60, last_visit=60, scored=False).hold(-50, -20)
    found = reason(standing_of(made), "SIL")
    assert found.severity == 30
    assert "60 days (30 days of them on hold)" in found.sentence


# --- surgery, waiting, early steps -----------------------------------------------------------------------


def test_surgery_during_a_conservative_pathway_sets_limits_before_anybody_places_the_case() -> None:
    """Edge case 19 and ruling 8: the tissue does not wait for the record to be tidied."""
    made = case("RC2", day=40).programme(-30, "R1", exercise="band row").onset(-10, "surgery").orders(-10)
    quiet = standing_of(made)
    assert "LIM" not in codes(quiet), "what was prescribed before surgery is stopped by it"
    assert "SURGERY" in quiet.limits[0]
    assert quiet.verdict.word is not Word.READY
    loaded = standing_of(made.session(-2, 1, 1, None, R1=(3, 10)))
    assert reason(loaded, "LIM").severity == 3


def test_a_conservative_step_after_surgery_does_not_lift_its_limits() -> None:
    """The same case stepped on in its old pathway: only a placing after surgery ends these limits."""
    made = case("RC2", day=40).onset(-10, "surgery").orders(-10).step(-5, "RC3", "forward")
    made.session(-2, 1, 1, None, R1=(3, 10))
    found = standing_of(made)
    assert reason(found, "LIM").severity == 3
    assert "SURGERY" in found.limits[0]


def test_a_waiting_case_after_surgery_can_break_a_limit_too() -> None:
    """Ruling 8 reads the date's own stage by the gates, placed or not."""
    made = case("PO1", day=5, onset=5)
    record = made.session(-1, 1, 1, None, R1=(3, 10)).record()
    waiting = stand(replace(record, visits=(), steps=()), rules(), TODAY)
    assert waiting.status == "waiting"
    assert "LIM" in codes(waiting)


@pytest.mark.parametrize(("day", "said"), [(41, True), (42, False)])
def test_a_step_past_the_gate_without_an_override_is_said(day: int, said: bool) -> None:
    """Practice notes 4.10: never silently; the gate of PO3 is day 42 (Thigpen 2016, JSES 25:521)."""
    made = case("PO2", day=60, onset=60).step(day - 60, "PO3", "forward")
    found = " ".join(standing_of(made).cautions)
    assert ("before its healing gate" in found) is said


@pytest.mark.parametrize(("days", "asked"), [(28, True), (29, False)])
def test_a_screen_of_the_other_shoulder_counts_for_a_while(days: int, asked: bool) -> None:
    """Clarification 11.6: the screen belongs to the person; how long it lasts is this project's figure."""
    made = case("RC1", day=0, screened=False).screen_all_no(-days)
    record = replace(made.record(), linked=("C-02",))
    assert ("SCR" not in codes(stand(record, rules(), TODAY))) is asked


def test_orders_without_a_date_do_not_soften_a_surgeons_no() -> None:
    """Ruling 18: met if any is met; an order that gives no date has not come."""
    made = case("PO2", day=46, onset=60).clearance(-1, "surgeon", answer="no")
    found = next(c for c in standing_of(made).verdict.criteria if "surgeon" in c.text)
    assert found.state.value == "not met"


@pytest.mark.parametrize(("override", "said"), [(None, True), ("surgeon asked for it by letter", False)])
def test_a_step_with_a_red_flag_open_and_no_override_is_said(override: str | None, said: bool) -> None:
    """Practice notes 4.10: forward with a possible red flag open is never silent."""
    made = case("RC1", day=20).screen(-5, MASS, "yes").step(-2, "RC2", "forward", override_reason=override)
    assert ("red flag open" in " ".join(standing_of(made).cautions)) is said
