"""Faults found when the third round of rules was read against the second: each is a test of what was wrong.

The letters are those of the list of faults; rulings are those of the practice notes.
"""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.standing import Word
from tests.clinic.build import Builder, case, codes, live, reason, standing_of
from tests.clinic.build_more import twos

ROTATION, FLEXION, ABDUCTION = "passive_external_rotation", "passive_flexion", "passive_abduction"

# --- (a) an answer in hand covers what was known when it was given (rulings 4, 46) ----


def rotation_lost() -> Builder:
    """RC2: rotation lost 18 degrees, confirmed a week apart: STF 2 by one plane."""
    made = case("RC2", day=40).measure(-38, ROTATION, 60).measure(-38, FLEXION, 160)
    return made.measure(-25, ROTATION, 42).measure(-18, ROTATION, 42)


def test_a_second_plane_of_range_lost_is_new() -> None:
    """Rotation lost, in hand; then flexion lost on days of its own: one plane was all the evidence."""
    made = rotation_lost().in_hand(-12, "STF", 1)
    assert reason(standing_of(made), "STF").in_hand
    made.measure(-10, FLEXION, 140).measure(-3, FLEXION, 140)
    found = reason(standing_of(made), "STF")
    assert not found.in_hand
    assert found.days_open == 3  # since the second value confirmed it
    assert found.sentence.startswith("passive external rotation")


def test_a_second_plane_to_watch_is_new() -> None:
    made = case("RC2", day=40).measure(-38, ROTATION, 60).measure(-38, ABDUCTION, 150)
    made.measure(-9, ROTATION, 48).in_hand(-6, "WAT", 5)
    assert reason(standing_of(made), "WAT").in_hand
    assert not reason(standing_of(made.measure(-2, ABDUCTION, 138)), "WAT").in_hand


def test_a_second_score_worse_is_new() -> None:
    """Shoulder score worse, in hand; then the function score too."""
    made = case("RC2", day=50, scored=False).score(-49, "SPADI", 30).score(-49, "PSFS", 7)
    made.score(-8, "SPADI", 70).in_hand(-7, "WRS", 5)
    assert reason(standing_of(made), "WRS").in_hand
    found = reason(standing_of(made.score(-2, "PSFS", 2)), "WRS")
    assert not found.in_hand
    assert found.sentence.startswith("SPADI")


def test_a_screen_owed_again_after_an_injury_is_new() -> None:
    """Never screened, in hand; a fall is assessed and the screen is owed again (ruling 25)."""
    made = case("RC2", day=30, screened=False).in_hand(-9, "SCR", 3)
    assert reason(standing_of(made), "SCR").in_hand
    made.event(-6).visit(-4, injury_assessed=True)
    found = reason(standing_of(made), "SCR")
    assert (found.in_hand, found.days_open) == (False, 4)


def test_a_second_letter_owed_is_new() -> None:
    made = case("RC2", day=40).referral(-20, "other").in_hand(-8, "LTR", 5)
    assert reason(standing_of(made), "LTR").in_hand
    made.referral(-3, "image cuff")
    assert not reason(standing_of(made), "LTR").in_hand
    assert reason(standing_of(made), "LTR").evidence == (made.entries[-3].id, made.entries[-1].id)


@pytest.mark.parametrize("code", ["OVD1", "LOST"])
def test_a_review_due_anew_is_new(code: str) -> None:
    """Overdue, in hand; seen, and overdue again by the shorter interval set then."""
    stage, days = ("RC2", 40) if code == "OVD1" else ("PO2", 26)
    made = case(stage, day=days, last_visit=24, interval=14).in_hand(-6, code, 4)
    assert reason(standing_of(made), code).in_hand
    assert not reason(standing_of(made.visit(-5, 3 if code == "OVD1" else 2)), code).in_hand


def test_silence_after_a_message_is_new() -> None:
    """Silent, in hand; one message; then silent again."""
    made = case("RC2", day=60, last_visit=40, interval=10).morning(-43, 2).in_hand(-13, "SIL", 1)
    assert reason(standing_of(made), "SIL").in_hand
    assert not reason(standing_of(made.contact(-11, "message received").contact(-11)), "SIL").in_hand


def test_a_second_stay_long_in_stage_is_new() -> None:
    made = case("RC2", day=90).in_hand(-8, "STL", 5)
    assert reason(standing_of(made), "STL").in_hand
    assert not reason(standing_of(made.step(-6, "RC1").step(-3, "RC2")), "STL").in_hand


def test_creep_that_came_back_is_new() -> None:
    """Crept, in hand; settled; crept to the same height again."""
    made = case("RC2", day=60).mornings(-50, *[1] * 20)
    made.mornings(-30, *[3] * 20).in_hand(-11, "FLA", 3)
    assert reason(standing_of(made), "FLA").in_hand
    made.mornings(-10, *[1] * 5, *[3] * 6)
    assert "FLA" in codes(standing_of(made))
    assert not reason(standing_of(made), "FLA").in_hand


def test_creep_in_hand_stays_so_while_mornings_are_the_same() -> None:
    """What only goes on is no news (ruling 46), or nobody could put it in hand."""
    made = case("RC2", day=60).mornings(-50, *[1] * 20)
    made.mornings(-30, *[3] * 20).in_hand(-11, "FLA", 3).mornings(-10, *[3] * 11)
    assert reason(standing_of(made), "FLA").in_hand
    assert ("FLA", 2) in [(c, s) for c, s, _ in live(standing_of(made))]


# --- (b) each cause of a flare has its own newest evidence and its own horizon (rulings 21, 42) ----


def raised_and_settled() -> Builder:
    """RC3: three raised mornings of three weeks ago, with three settled ones after them."""
    return case("RC3", day=60).mornings(-30, *[2] * 8, 5, 5, 5, 2, 2, 2)


def test_three_raised_mornings_that_settled_do_not_come_back_with_one_flare() -> None:
    """One flare is a matter of dose: no reason, and no advice to step back."""
    made = raised_and_settled().mornings(-6, 2, 2, 2, 2)
    standing = standing_of(made.session(-2, 8, 3, None).morning(-1, 4))
    assert "FLA" not in codes(standing)
    assert standing.verdict.word is not Word.STEP_BACK


def test_what_settled_does_not_come_back_with_one_raised_morning() -> None:
    assert "FLA" not in codes(standing_of(raised_and_settled().mornings(-6, 2, 2, 2, 2, 4)))


def test_three_raised_mornings_still_speak_until_two_are_settled() -> None:
    """A flare, or one more raised morning, between the settled ones moves the evidence day (ruling 42)."""
    made = case("RC3", day=60).mornings(-30, *[2] * 8, 5, 5, 5, 2)
    assert "FLA" in codes(standing_of(made))
    assert "FLA" in codes(standing_of(made.session(-17, 8, 3, None).morning(-16, 3)))
    assert "FLA" not in codes(standing_of(made.morning(-15, 2)))


def test_three_new_raised_mornings_speak_again() -> None:
    made = raised_and_settled().mornings(-6, 2, 2, 2, 5, 5, 5)
    assert "FLA" in codes(standing_of(made))
    assert set(reason(standing_of(made), "FLA").evidence) == {e.id for e in made.entries[-3:]}


def test_flares_that_settled_do_not_come_back_with_raised_mornings() -> None:
    """Two flares settled by two mornings; two raised mornings on rest days are not three."""
    made = twos(case("RC3", day=60), first=-20, count=11).session(-9, 7, 3, 2).session(-8, 3, 2, 2)
    made.session(-7, 7, 3, 2).mornings(-5, 2)
    assert "FLA" not in codes(standing_of(made))
    assert "FLA" not in codes(standing_of(made.mornings(-2, 4, 4)))
    assert "FLA" in codes(standing_of(made.morning(0, 4)))
    assert standing_of(made).verdict.word is Word.STEP_BACK


# --- ruling 92: creep stands 28 days without a baseline -----


@pytest.mark.parametrize(("last", "expected"), [(-39, True), (-40, False)])
def test_92_creep_stands_28_days_when_no_baseline_can_be_worked_out(last: int, expected: bool) -> None:
    """The newest three mornings leave the window of 14 days 11 days after the last of them; then 28 days."""
    made = case("RC2", day=90).mornings(last - 19, *[1] * 6)
    made.mornings(last - 13, *[3] * 14)
    assert ("FLA" in codes(standing_of(made))) is expected


# --- (g) ruling 86: stiffness after surgery -----------------------------------------------------------


def stiff_on_day_90(today: int = 120) -> Builder:
    """PO4 on day ``today`` after surgery: passive flexion 110 on day 90."""
    return case("PO4", day=today - 84, onset=today).measure(90 - today, FLEXION, 110)


def test_stiffness_does_not_come_back_once_the_limit_was_reached() -> None:
    """110 on day 90, 120 on day 100: over, also when 112 is measured on day 110."""
    made = stiff_on_day_90()
    assert "STF" in codes(standing_of(made))
    assert "STF" not in codes(standing_of(made.measure(-20, FLEXION, 120)))
    assert "STF" not in codes(standing_of(made.measure(-10, FLEXION, 112)))


def test_stiffness_stays_at_119() -> None:
    assert "STF" in codes(standing_of(stiff_on_day_90().measure(-20, FLEXION, 119)))


def test_86_stiff_on_day_82_and_on_day_106() -> None:
    """*Yes*: PO, 95/10 on day 82, 98/12 on day 106, today day 106: STF 2, both planes behind it."""
    made = case("PO4", day=22, onset=106)
    made.measure(-24, FLEXION, 95).measure(-24, ROTATION, 10).measure(0, FLEXION, 98).measure(0, ROTATION, 12)
    found = reason(standing_of(made), "STF")
    assert found.severity == 2
    assert "under 120" in found.sentence
    assert set(found.evidence) == {e.id for e in made.entries[-2:]}


def test_86_rotation_of_36_is_not_stiff() -> None:
    """*No*: PO rotation 28 -> 36, other side 76, day 90, flexion 145."""
    made = case("PO4", day=6, onset=90).measure(-12, ROTATION, 28).both(0, ROTATION, 36, 76)
    assert "post-operative stiffness" not in sentences(made.measure(0, FLEXION, 145))


def test_86_a_reading_of_day_4_says_nothing_at_day_84() -> None:
    assert "STF" not in codes(standing_of(case("PO4", day=0, onset=84).measure(-80, FLEXION, 60)))


@pytest.mark.parametrize(("today", "expected"), [(83, False), (84, True)])
def test_86_judged_from_day_84_on(today: int, expected: bool) -> None:
    """A value of day 77 below the limit: on day 83 it is early, on day 84 it is stiff."""
    made = case("PO3", day=40, onset=today).measure(77 - today, FLEXION, 110)
    assert ("STF" in codes(standing_of(made))) is expected


def test_86_every_plane_for_itself() -> None:
    """Flexion reached its limit, rotation did not; the surgeon is told of the newest value (ruling 45)."""
    made = stiff_on_day_90().measure(-25, ROTATION, 20).measure(-20, FLEXION, 125)
    assert "passive external rotation at side 20, under 30 at day 95" in sentences(made)
    made.contact(-24, surgeon_told=True)
    assert "STF" not in codes(standing_of(made))
    assert "STF" in codes(standing_of(made.measure(-3, ROTATION, 22)))


def sentences(made: Builder) -> str:
    """The sentences of the live reasons."""
    return "; ".join(r.sentence for r in standing_of(made).reasons)
