"""Faults found when the third round of rules was read against the second: each is a test of what was wrong.

The letters are those of the list of faults; rulings are those of the practice notes.
"""

from __future__ import annotations

import pytest

from tests.clinic.build import Builder, case, codes, live, reason, standing_of

ROTATION, FLEXION, ABDUCTION = "passive_external_rotation", "passive_flexion", "passive_abduction"

# --- (a) an answer in hand covers what was known when it was given (rulings 4, 46) -------------------------


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
    made = case("RC2", day=60, last_visit=40, interval=10).in_hand(-13, "SIL", 1)
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
