"""Ruling 80: sets rise first, proposals start from what is done, nothing rises while a danger is live."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from armrise.store.clinic.programme.proposal import CHANGE, HOLD, LOAD, REPS, SETS, STOP
from tests.clinic.build import Builder, rules
from tests.clinic.programmes import GOOD, ROTATION, ROW, brief, did, home, prescribe, propose, start, words

BAND = "band external rotation, arm at side"
OWN = "an exercise of the clinic's own"
TO_15 = {"reps_low": 10, "reps_high": 15}


def trained(built: Builder, *doses: str, name: str = BAND, **more: int) -> Builder:
    """Good sessions two days apart, the newest yesterday, each of a dose done."""
    for back, dose in enumerate(reversed(doses)):
        built.session(-1 - 2 * back, *GOOD, did(dose, name, **more))
    return built


def banded(stage: str = "RC3", name: str = BAND, **more: int) -> Builder:
    """2 x 10 on band 1, range 10 to 15; bands 1 to 3 at home."""
    return prescribe(start(stage), -50, "2x10", name, band=1, **TO_15, **more)


def test_80_the_catalogue_starts_two_sets_and_lets_them_rise_to_three() -> None:
    """The three R1 entries: 2 sets, sets_high 3, 10-15, per_week 4; wall slide 2/3."""
    named = {exercise.name: exercise for exercise in rules().exercises}
    for name in (ROTATION, BAND, ROW):
        made = named[name]
        assert (made.sets, made.sets_high, made.reps_low, made.reps_high, made.per_week) == (2, 3, 10, 15, 4)
    assert (named["wall slide"].sets, named["wall slide"].sets_high) == (2, 3)


def test_80_two_good_full_sessions_raise_the_sets() -> None:
    """*Yes*: 2 x 10, range 10-15, two good full -> SETS 3 x 10."""
    found = propose(trained(banded(), "2x10", "2x10", band=1), BAND)
    assert brief(found) == (SETS, "3 x 10, band 1")


def test_80_one_good_full_session_holds() -> None:
    """*No*: one good full -> HOLD "1 of 2"."""
    found = propose(trained(banded(), "2x10", band=1), BAND)
    assert (found.word, found.changes) == (HOLD, False)
    assert "1 of 2" in found.reason


def test_80_sets_rise_also_at_the_top_of_the_range_and_without_one() -> None:
    built = prescribe(start("RC3"), -50, "2x15", BAND, band=1, **TO_15)
    assert brief(propose(trained(built, "2x15", "2x15", band=1), BAND)) == (SETS, "3 x 15, band 1")
    bare = prescribe(start("RC3"), -50, "2x10", BAND, band=1, reps_low=None, reps_high=None)
    assert brief(propose(trained(bare, "2x10", "2x10", band=1), BAND)) == (SETS, "3 x 10, band 1")


@pytest.mark.parametrize(
    ("name", "more", "word"),
    [(BAND, {}, SETS), (BAND, {"sets_high": 2}, REPS), (OWN, {}, REPS), (OWN, {"sets_high": 3}, SETS)],
)
def test_80_the_item_says_how_far_sets_rise_else_the_catalogue_else_they_do_not(
    name: str, more: dict[str, int], word: str
) -> None:
    built = trained(banded(name=name, **more), "2x10", "2x10", name=name, band=1)
    assert propose(built, name).word == word


def test_80_at_the_most_sets_repetitions_rise_and_the_sets_stay() -> None:
    """Then REPS, then LOAD (sets stay)."""
    built = prescribe(start("RC3"), -50, "3x10", BAND, band=1, **TO_15)
    assert brief(propose(trained(built, "3x10", "3x10", band=1), BAND)) == (REPS, "3 x 12, band 1")
    built = prescribe(start("RC3"), -50, "3x15", BAND, band=1, **TO_15)
    assert brief(propose(trained(built, *["3x15"] * 3, band=1), BAND)) == (LOAD, "3 x 10, band 2")


# --- what is done ---------------------------------------------------------------------------------------


def test_80_what_is_done_is_the_present_dose() -> None:
    """*Yes*: prescribed 2 x 10 band 1, done 3 x 15 three times (15 = top): LOAD 3 x 10 band 2."""
    found = propose(trained(banded(), *["3x15"] * 3, band=1), BAND)
    assert brief(found) == (LOAD, "3 x 10, band 2")
    assert found.reason.startswith("done 3 x 15 on band 1, prescribed 2 x 10; ")


def test_80_the_smallest_of_the_three_counts() -> None:
    """*No*: done 3 x 15, 2 x 10, 3 x 15: current stays 2 x 10."""
    found = propose(trained(banded(), "3x15", "2x10", "3x15", band=1), BAND)
    assert brief(found) == (SETS, "3 x 10, band 1")
    found = propose(trained(banded(), "3x15", "3x12", "3x15", band=1), BAND)
    assert brief(found) == (REPS, "3 x 14, band 1")


@pytest.mark.parametrize("load", [{"band": 1}, {"load": 1}])
def test_80_a_whole_dose_told_without_its_load_was_done_as_prescribed(load: dict[str, int]) -> None:
    """Sets and repetitions are told, weight and band are not: the smallest is that prescribed."""
    built = prescribe(start("RC3"), -30, "2x10", BAND, sets_high=3, reps_high=15, **load)
    for day in (-5, -3, -1):
        built.session(day, *GOOD, did("3x12", BAND), dose="whole")
    assert propose(built, BAND).dose_words.startswith("3 x 14")


def test_80_two_sessions_are_no_present_dose() -> None:
    found = propose(trained(banded(), *["3x15"] * 2, band=1), BAND)
    assert brief(found) == (SETS, "3 x 10, band 1")


def test_80_repetitions_above_the_range_start_the_load() -> None:
    """94: done repetitions above the range start line 9."""
    found = propose(trained(banded(), *["3x20"] * 3, band=1), BAND)
    assert brief(found) == (LOAD, "3 x 10, band 2")


def test_80_done_sets_count_no_higher_than_sets_may_rise() -> None:
    found = propose(trained(banded(), *["5x15"] * 3, band=1), BAND)
    assert brief(found) == (LOAD, "3 x 10, band 2")


def test_80_done_before_load_was_taken_away_is_no_present_dose() -> None:
    """Safer reading: only sessions at the present dose count."""
    built = trained(prescribe(start("RC3"), -50, "3x15", BAND, band=2, **TO_15), *["3x15"] * 3, band=2)
    found = propose(prescribe(built, 0, "2x10", BAND, band=1, **TO_15), BAND)
    assert brief(found) == (HOLD, "2 x 10, band 1")


def test_80_a_load_the_patient_raised_stays_seven_days_too() -> None:
    built = prescribe(start("RC3"), -50, "3x15", BAND, band=1, **TO_15)
    found = propose(trained(built, *["3x15"] * 3, band=2), BAND)
    assert found.word == HOLD
    assert "load rose 5 days ago; opens in 2 days" in found.reason
    for day in (-9, -7, -5):
        built = prescribe(start("RC3"), -50, "3x15", BAND, band=1, **TO_15) if day == -9 else built
        built.session(day, *GOOD, did("3x15", BAND, band=2))
    assert brief(propose(built, BAND)) == (LOAD, "3 x 10, band 3")


@pytest.mark.parametrize(("stage", "word"), [("PO3", SETS), ("OA2", CHANGE)])
def test_80_in_a_protected_stage_what_is_prescribed_counts(stage: str, word: str) -> None:
    """Not in protected stages: more than prescribed broke a limit there, answered by a new plan."""
    stick = "stick-assisted external rotation"
    built = prescribe(start(stage), -50, "2x10", stick, "A1", **TO_15)
    for day in (-5, -3, -1):
        built.session(day, 0, 0, 2, did("3x15", stick, "A1", sets_asked=2, reps_asked=10))
    assert propose(built.contact(0, plan_corrected=True), stick).word == word


def test_80_an_ordered_load_caps_what_is_done() -> None:
    built = start("PO4", ordered=False).orders(-150, lifting_limit=2)
    prescribe(built, -50, "3x12 @ 1.5")
    for day in (-13, -11, -9):
        built.session(day, *GOOD, did("3x12 @ 2"))
    found = propose(built)
    assert found.dose is not None
    assert found.dose.load is None or found.dose.load <= 2


# --- nothing rises meanwhile ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("danger", "word", "named"),
    [
        (lambda b: b.screen(0, "motor or sensory loss", "yes"), STOP, "possible red flag"),
        (lambda b: b.event(0, "fall"), STOP, "new injury"),
        (
            lambda b: b.measure(-9, "night_waking", 1).measure(0, "night_waking", 5),
            HOLD,
            "flare not settling",
        ),
        (lambda b: b.contact(0, "message received", note="my fingers are numb"), HOLD, "urgent message"),
        (lambda b: b.finding(0, "weakness after injury"), HOLD, "finding to act on"),
        (lambda b: b.measure(-9, "night_pain", 2).measure(0, "night_pain", 6), HOLD, "worse at visits"),
        (
            lambda b: b.measure(-9, "active_flexion", 160).measure(0, "active_flexion", 120),
            HOLD,
            "losing lift or strength",
        ),
    ],
)
def test_80_a_live_danger_holds_and_is_named(
    danger: Callable[[Builder], Builder], word: str, named: str
) -> None:
    for done in (["2x10"] * 2, ["3x15"] * 3):
        built = trained(banded(), *done, band=1)
        assert propose(built, BAND).word in (SETS, LOAD)
        found = propose(danger(built), BAND)
        assert found.word == word
        assert found.reason.count(named) == 1


def test_80_a_broken_limit_holds_and_is_named() -> None:
    built = trained(banded("PO4"), "2x10", "2x10", band=1)
    assert propose(built, BAND).word == SETS
    built.session(-2, *GOOD, did("3x10", "floor press-up", "W2"))
    found = propose(built, BAND)
    assert found.word == HOLD
    assert "healing limit broken" in found.reason


# --- 92: change exercise ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "word"), [(1, HOLD), (2, HOLD), (3, CHANGE)])
def test_92_change_exercise_at_the_top_after_three_good_full_sessions(count: int, word: str) -> None:
    built = prescribe(start("RC3"), -50, "3x12 @ 4")
    found = propose(trained(built, *["3x12 @ 4"] * count, name=ROTATION))
    assert found.word == word


def test_92_newest_incomplete_after_an_unanswered_raised_session_holds_naming_the_score() -> None:
    built = prescribe(start("OA2"), -50, "3x8 @ 2").session(-3, 6, 3, 2, did("3x8 @ 2"))
    built.session(-1, 3, None, None, did("3x8 @ 2"))
    found = propose(built)
    assert found.word == HOLD
    assert found.missing == "pain later for Sun 1 Mar missing"


def test_92_the_two_sessions_before_are_of_known_class() -> None:
    """5.2, line 3: incompletes between do not push the earlier flare out of sight."""
    built = prescribe(start("OA2"), -50, "3x8 @ 3")
    built.session(-9, 4, 4, 5, did("3x8 @ 3"))
    for day in (-7, -5, -3):
        built.session(day, 3, None, None, did("3x8 @ 3"))
    built.session(-1, 4, 4, 5, did("3x8 @ 3"))
    assert "the session before it flared too: see the verdict" in propose(built).reason


def test_80_one_of_climb_sets_and_load_a_date_the_first_of_the_programme() -> None:
    """Ruling 82: one CLIMB, SETS or LOAD per case and date."""
    built = banded()
    prescribe(built, -50, "3x12 @ 2")
    home(built, 1, 2, 3, bands=(1, 2, 3), day=-1)
    for day in (-5, -3, -1):
        built.session(day, *GOOD, did("2x10", BAND, band=1), did("3x12 @ 2"))
    assert words(built) == {BAND: SETS, ROTATION: HOLD}
    assert propose(built).reason == f"one change at a time: {BAND} first"
    prescribe(built, 0, "3x10", BAND, band=1, **TO_15)
    assert words(built) == {BAND: HOLD, ROTATION: HOLD}
