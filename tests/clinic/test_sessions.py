"""Session classes, morning baseline, runs and flares (practice notes 4.2 to 4.5), every class boundary.

Classes by pain during and later are those of ruling 77 with 95, which replaces 4.2; runs those of ruling 75,
which replaces 4.3. Usual pain lies under the limit in every case here.
"""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.response import Response
from tests.clinic.build import TODAY, Builder, case, item, on, reason, rules, standing_of
from tests.clinic.build_more import (
    MET,
    NOT_MET,
    UNKNOWN,
    live_codes,
    printed,
    ready_rc2,
    run_state,
    twos,
)

LIMITS = {
    # during, later, rise: practice 3.1 to 3.6 with clarification 11.5
    **{"RC1": (3, 3, 1), "RC2": (4, 4, 1), "RC3": (4, 4, 1), "RC4": (4, 4, 1)},
    **{"FS1": (3, 3, 1), "FS2": (5, 4, 1), "FS3": (5, 4, 1)},
    **{"PO1": (3, 3, 1), "PO2": (3, 3, 1), "PO3": (3, 3, 1), "PO4": (4, 4, 1), "PO5": (5, 4, 1)},
    **{"AD1": (3, 3, 1), "AD2": (4, 4, 1), "AD3": (5, 4, 1), "AD4": (5, 4, 1), "AD5": (5, 4, 1)},
    **{"OA1": (3, 3, 1), "OA2": (5, 4, 1), "OA3": (5, 4, 1)},
    **{"FX1": (4, 4, 1), "FX2": (4, 4, 1), "FX3": (5, 4, 1), "FX4": (5, 4, 1)},
}
PLAIN = ("RC1", "FS1", "OA1", "OA2")
"""Stages of pathways that count from no surgery and no injury."""
HEALING = ("PO1", "PO4", "AD1", "AD3", "FX2", "FX3")

Triple = tuple[int | None, int | None, int | None]


def class_of(triple: Triple, *, stage: str = "RC1", baseline: int | None = 2) -> str:
    """The class of the newer of two alike sessions, over a quiet week."""
    made = case(stage, day=30, last_visit=1)
    if baseline is not None:
        made.mornings(-16, *[baseline] * 5)
        for day in (-11, -9, -7):
            made.session(day, 2, 2, baseline)
    for day in (-4, -2):
        made.session(day, *triple)
    judged = Response.of(View.of(made.record(), rules(), TODAY)).judged_on(on(-2))
    assert judged is not None
    return judged.klass


@pytest.mark.parametrize(("stage", "limits"), LIMITS.items())
def test_limits_of_every_stage(stage: str, limits: tuple[int, int, int]) -> None:
    """Practice 3.1 to 3.6, rows "Limits"."""
    found = rules().pathways[stage[:2]].stage(stage)
    assert found is not None
    assert (found.limits.during.whole, found.limits.later.whole, found.limits.rise.whole) == limits


@pytest.mark.parametrize("stage", [*PLAIN, *HEALING])
@pytest.mark.parametrize(("over", "expected"), [(0, "good"), (1, "over"), (2, "over"), (4, "flare")])
def test_during_over_its_limit(stage: str, over: int, expected: str) -> None:
    """Ruling 77: at the limit good, over it over, four over a flare, in every pathway."""
    assert class_of((LIMITS[stage][0] + over, 2, 2), stage=stage) == expected


@pytest.mark.parametrize(
    ("limit", "during", "expected"),
    [
        (3, 6, "over"),  # ruling 77, Not: P 3, during 6
        (3, 7, "flare"),  # ruling 77, Flare: P 3, no usual, during 7
        (4, 7, "over"),
        (4, 8, "flare"),
        (5, 7, "over"),
        (5, 8, "flare"),  # ruling 77, Flare: P 5, during 8
    ],
)
def test_three_over_is_a_flare_only_at_eight(limit: int, during: int, expected: str) -> None:
    """Ruling 77: during 8 or more, and 2 or more above the limit, is a flare too."""
    stage = {3: "RC1", 4: "RC2", 5: "OA2"}[limit]
    assert class_of((during, 2, 2), stage=stage) == expected


@pytest.mark.parametrize("stage", PLAIN)
@pytest.mark.parametrize(("over", "expected"), [(0, "good"), (1, "over"), (2, "over"), (3, "flare")])
def test_later_over_its_limit(stage: str, over: int, expected: str) -> None:
    """Ruling 95: three over the rest of the day is a flare in RC, FS and OA."""
    assert class_of((2, LIMITS[stage][1] + over, 2), stage=stage) == expected


@pytest.mark.parametrize("stage", HEALING)
@pytest.mark.parametrize(("over", "expected"), [(0, "good"), (1, "over"), (2, "flare")])
def test_later_over_its_limit_where_tissue_heals(stage: str, over: int, expected: str) -> None:
    """Ruling 95: two over is a flare in PO, AD and FX."""
    assert class_of((2, LIMITS[stage][1] + over, 2), stage=stage) == expected


@pytest.mark.parametrize(
    ("baseline", "morning", "expected"),
    [
        # practice 4.2: rise >= 3, or rise >= 2 with morning >= 4, is a flare; rise 2 with morning <= 3 raised
        (2, 1, "good"),
        (2, 2, "good"),
        (2, 3, "good"),
        (2, 4, "flare"),
        (2, 5, "flare"),
        (1, 2, "good"),
        (1, 3, "raised"),
        (1, 4, "flare"),
        (0, 1, "good"),
        (0, 2, "raised"),
        (0, 3, "flare"),  # 4.13 case 2: pain 0 throughout; 0 to 2 raised, 0 to 3 flare
        (5, 6, "good"),
        (5, 7, "flare"),
    ],
)
def test_next_morning_against_the_baseline(baseline: int, morning: int, expected: str) -> None:
    """The rise is judged, not the pain itself."""
    assert class_of((2, 2, morning), baseline=baseline) == expected


@pytest.mark.parametrize(
    ("triple", "expected"),
    [
        ((None, 2, 2), "incomplete"),
        ((2, None, 2), "incomplete"),
        ((2, 2, None), "incomplete"),
        ((None, None, None), "incomplete"),
        # practice 4.2 with ruling 77: a known breach beats a missing score
        ((7, None, None), "flare"),
        ((None, 6, None), "flare"),
        ((None, None, 5), "flare"),
        ((4, None, None), "over"),
        ((None, 4, None), "over"),
    ],
)
def test_a_missing_score_is_incomplete_and_a_known_breach_beats_it(triple: Triple, expected: str) -> None:
    """Absence is never zero and never good."""
    assert class_of(triple) == expected


def test_an_unknown_baseline_makes_a_session_incomplete() -> None:
    """Practice 4.2 and 4.13 case 32: without a baseline no session is good; a breach during still counts."""
    made = case("RC1", day=10).session(-3, 2, 2, 2).session(-1, 2, 2, 2)
    assert run_state(made) is UNKNOWN
    assert class_of((7, 2, None), baseline=None) == "flare"


# --- ceiling ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("baseline", "morning", "expected"),
    [(8, 8, "good"), (8, 9, "flare"), (7, 8, "good"), (9, 9, "flare"), (7, 9, "flare")],
)
def test_ceiling_guard(baseline: int, morning: int, expected: str) -> None:
    """Practice 4.4: from a baseline of 8 a rise cannot show, so a morning of 9 is a flare."""
    assert class_of((2, 2, morning), baseline=baseline) == expected


@pytest.mark.parametrize(("baseline", "said"), [(8, True), (7, False)])
def test_ceiling_is_said(baseline: int, said: bool) -> None:
    """ "Pain near ceiling: scores cannot show worsening"."""
    made = twos(case("RC2", day=20), -8, 6, baseline).session(-2, 3, 2, baseline)
    assert ("near ceiling" in printed(standing_of(made))) is said


# --- baseline --------------------------------------------------------------------------------------------


def baseline_of(*mornings: tuple[int, int], session: int = -1) -> int | None:
    """The baseline that judges a session, from mornings given as (day, pain)."""
    made = case("RC1", day=40)
    for day, pain in mornings:
        made.morning(day, pain)
    return standing_of(made.session(session, 2, 2, None)).pain.baseline


@pytest.mark.parametrize(
    ("pains", "expected"),
    [
        ([3, 1, 2], 2),
        ([1, 1, 3], 1),
        ([1, 2, 3, 4], 2),  # even: the lower middle value
        ([0, 0, 2, 2], 0),
        ([1, 3, 3, 4, 4, 5], 3),
        ([0, 0, 0], 0),  # 0 is data
        ([2, 2], None),
        ([], None),
    ],
)
def test_baseline_is_the_lower_median(pains: list[int], expected: int | None) -> None:
    """Practice 4.4: at least three, median, for an even number the lower middle value."""
    assert baseline_of(*[(-1 - at, pain) for at, pain in enumerate(pains)]) == expected


def test_baseline_takes_the_newest_seven() -> None:
    """Seven of 1 after seven of 5: 1; with only three of the newer, the median of seven is 5."""
    older = [(-14 + at, 5) for at in range(7)]
    assert baseline_of(*older, *[(-7 + at, 1) for at in range(7)]) == 1
    assert baseline_of(*older, *[(-3 + at, 1) for at in range(3)]) == 5
    assert baseline_of(*older, *[(-4 + at, 1) for at in range(4)]) == 1


@pytest.mark.parametrize(("oldest", "expected"), [(-14, 2), (-15, None)])
def test_baseline_reads_fourteen_days(oldest: int, expected: int | None) -> None:
    """Session of -1: mornings of D - 13 (-14) to D (-1)."""
    assert baseline_of((oldest, 2), (-5, 2), (-4, 2)) == expected


def test_baseline_includes_the_morning_of_the_session_and_not_the_next() -> None:
    """D included, D + 1 excluded."""
    assert baseline_of((-4, 2), (-3, 2), (-2, 2), session=-2) == 2
    assert baseline_of((-4, 2), (-3, 2), (-1, 2), session=-2) is None


@pytest.mark.parametrize(("day", "expected"), [(-29, 4), (-30, None)])
def test_usual_morning_pain_stands_in_for_28_days(day: int, expected: int | None) -> None:
    """Practice 4.4: the usual morning pain of the last visit, if 28 days old or less."""
    made = case("RC1", day=40, last_visit=None).visit(day, usual_morning=4)
    assert standing_of(made.session(-1, 2, 2, None)).pain.baseline == expected


def test_three_mornings_come_before_usual_morning_pain() -> None:
    """It is used only where fewer than three mornings exist."""
    made = case("RC1", day=40).visit(-9, usual_morning=6).mornings(-4, 2, 2, 2)
    assert standing_of(made.session(-1, 2, 2, None)).pain.baseline == 2


# --- qualifying ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("done", "asked", "expected"), [(4, 5, MET), (3, 4, NOT_MET), (8, 10, MET), (7, 9, NOT_MET)]
)
def test_complete_is_80_per_cent_of_the_sets(done: int, asked: int, expected: object) -> None:
    """Practice 4.3: 80 % and more of the prescribed sets; 75 and 78 % are short, a slip (ruling 75)."""
    made = twos(case("RC1", day=30)).session(-6, 2, 2, 2).session(-4, 2, 2, 2)
    assert run_state(made.session(-2, 2, 2, 2, item("A1", done, sets_asked=asked))) is expected


def test_sets_above_what_was_asked_do_not_make_up_for_another_exercise() -> None:
    """Two exercises of 5 sets: 10 of one and 0 of the other is half of what was asked."""
    made = twos(case("RC1", day=30)).session(-6, 2, 2, 2).session(-4, 2, 2, 2)
    much = item("A1", 10, sets_asked=5, exercise="table slide")
    none = item("A2", 0, sets_asked=5, exercise="wall slide")
    assert run_state(made.session(-2, 2, 2, 2, much, none)) is NOT_MET


def test_rest_days_do_nothing() -> None:
    """Ruling 75: a gap of up to 14 days neither counts nor breaks."""
    made = twos(case("RC1", day=30), -16, 5)
    for day in (-12, -7, -2):
        made.session(day, 2, 2, 2).morning(day + 2, 2)
    assert run_state(made) is MET


def test_two_sessions_of_a_date_count_once_by_the_worse() -> None:
    """Ruling 75 and 4.13 case 8: three sessions on two dates are two; over the limit once is a slip."""
    made = twos(case("RC1", day=30)).session(-4, 2, 2, 2).session(-2, 2, 2, 2)
    made.session(-2, 2, 2, 2, ordinal=2)
    assert run_state(made) is UNKNOWN
    third = twos(case("RC1", day=30)).good(3, last=-2).session(-2, 4, 2, 2, ordinal=2)
    assert run_state(third) is NOT_MET


# --- sustained flare -------------------------------------------------------------------------------------


def mornings_then(*pains: int | None, baseline: int = 2, day: int = 30) -> Builder:
    """RC2 with a baseline and then one morning a day up to yesterday; None is a day not told."""
    made = case("RC2", day=day).mornings(-20, *[baseline] * 10)
    for back, pain in enumerate(reversed(pains), start=1):
        if pain is not None:
            made.morning(-back, pain)
    return made


@pytest.mark.parametrize(
    ("pains", "expected"),
    [
        ((4, 4, 4), True),
        ((4, 4, 3), False),
        ((4, 4), False),
        ((4, None, 4, 4), False),  # three calendar days running
        ((5, 4, 6), True),
        ((3, 3, 3, 3), False),
    ],
)
def test_three_mornings_running_two_above_baseline(pains: tuple[int | None, ...], expected: bool) -> None:
    """Practice 4.5(c): with or without exercise (Michener 2011 for the two points)."""
    assert ("FLA" in live_codes(mornings_then(*pains))) is expected


def test_a_single_flare_is_a_dose_matter() -> None:
    """Practice 4.5: one flare alone is no reason for the list."""
    made = ready_rc2(sessions=False).session(-4, 3, 2, 2).session(-2, 8, 5, 8)
    assert "FLA" not in live_codes(made)


def test_two_newest_known_sessions_are_flares() -> None:
    """Practice 4.5(a); an incomplete session after or between them hides nothing."""
    made = (
        twos(case("RC2", day=20)).session(-6, 8, 2, None).session(-5, 3, None, None).session(-4, 8, 2, None)
    )
    made.session(-2, 3, None, None).session(-1, None, None, None)
    assert "FLA" in live_codes(made)


def test_flare_good_flare_is_two_of_four() -> None:
    """Practice 4.5(b) and 5.4 (RC3, two flares in the last four sessions within 10 days)."""
    made = twos(case("RC3", day=30)).session(-8, 8, 2, None).session(-6, 3, 2, 2).session(-4, 3, 2, 2)
    assert "FLA" in live_codes(made.session(-2, 8, 2, None))


@pytest.mark.parametrize(("before", "now", "severity"), [(1, 4, 3), (1, 3, None), (0, 7, 7), (4, 1, None)])
def test_night_waking_more_often(before: int, now: int, severity: int | None) -> None:
    """Practice 4.5(e): three more nights a week than the value before."""
    made = case("RC2", day=20).measure(-9, "night_waking", before).measure(-1, "night_waking", now)
    if severity is None:
        assert "FLA" not in live_codes(made)
    else:
        assert reason(standing_of(made), "FLA").severity == severity


def test_night_waking_is_compared_with_the_value_before() -> None:
    """1, 3, 5: each step is two nights."""
    made = case("RC2", day=30).measure(-15, "night_waking", 1).measure(-8, "night_waking", 3)
    assert "FLA" not in live_codes(made.measure(-1, "night_waking", 5))


# --- creep -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("now", "severity"), [(3, None), (4, 2), (5, 3)])
def test_creep_that_a_moving_baseline_hides(now: int, severity: int | None) -> None:
    """Practice 4.4: no morning ever rose by more than one point, and the baseline stands two higher."""
    made = case("RC2", day=40)
    level, day = 2, -40
    while day < 0:
        made.morning(day, level)
        day += 1
        if level < now and (day + 40) % 8 == 0:
            level += 1
    assert ("FLA" in live_codes(made)) is (severity is not None)
    if severity is not None:
        flare = reason(standing_of(made), "FLA")
        assert flare.severity == severity
        assert f"from 2 to {now}" in flare.sentence


def test_creep_needs_two_known_baselines() -> None:
    """One baseline only: nothing to compare with."""
    assert "FLA" not in live_codes(case("RC2", day=30).mornings(-6, 5, 5, 5, 5))
