"""Ruling 73 of the practice notes with 94 and 95: the period between visits as told in one line."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from armrise.store.clinic.actions.summing_up import asked_proposed, since_proposed
from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.periods import Period, periods
from armrise.store.clinic.standing.decisions import FLARE_GOES_ON, silences
from armrise.store.clinic.standing.explain import explain
from armrise.store.clinic.time.clocks import last_data
from armrise.store.clinic.verdict.spans import by_good_sessions
from armrise.store.rules.criterion import Criterion
from tests.clinic.build import TODAY, Builder, case, live, on, reason, rules, standing_of
from tests.clinic.build_more import (
    MET,
    NOT_MET,
    UNKNOWN,
    criterion,
    live_codes,
    ready_rc1,
    ready_rc2,
    ready_rc4,
    run_state,
    word,
)

CALM = "8/10 4 3 1 w"
"""Good in RC1 (3/3) over ten days."""


def view(made: Builder) -> View:
    return View.of(made.record(), rules(), TODAY)


def judged(made: Builder) -> Period:
    """The newest period told of a case."""
    return periods(view(made))[-1]


def told(line: str, stage: str = "RC1", *, days: int = 10, **more: Any) -> Builder:
    """A case with the period of the last ``days`` days summed up today."""
    return case(stage, day=40, last_visit=days).summary(0, -days, line, **more)


# --- classes --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "klass"),
    [
        (CALM, "good"),
        ("8/10 4 3 3 w", "flare"),
        ("8/10 9 9 3 w", "flare"),  # the first that fits
        (". . . 3", "flare"),
        ("8/10 4 3 2 w", "raised"),
        ("8/10 5 3 1 w", "over"),  # 3 + 1 may be the worst of weeks
        ("8/10 4 5 1 w", "over"),
        ("8/10 4 4 1 w", "good"),
        ("8/10 5 . . .", "over"),  # before incomplete
        (". 4 3 1 w", "incomplete"),
        ("8/. 4 3 1 w", "incomplete"),
        ("8/10 . 3 1 w", "incomplete"),
        ("8/10 4 . 1 w", "incomplete"),
        ("8/10 4 3 . w", "incomplete"),
        ("8/10 4 3 1 .", "incomplete"),
        ("2/3 4 3 1 w", "raised"),
        ("3/3 4 3 1 w", "good"),
        ("4/9 4 3 1 w", "raised"),  # 44 %
        ("4/8 4 3 1 w", "good"),  # 50 %
        ("8/10 4 3 1 w n", "raised"),
        ("8/10 4 3 1 w s", "good"),
        ("0/10 0 0 0 w", "raised"),
    ],
)
def test_73_the_class_of_a_period(line: str, klass: str) -> None:
    """RC1: P 3, Q 3."""
    assert judged(told(line)).klass == klass


@pytest.mark.parametrize(
    ("stage", "dose", "klass"),
    [
        *((stage, "m", "good") for stage in ("RC1", "RC3", "FS2", "OA2")),
        *((stage, "m", "raised") for stage in ("PO3", "AD2", "FX2")),  # not in healing tissue
        *((stage, "w", "good") for stage in ("RC1", "PO3", "AD1", "FX2")),
        *((stage, "p", "good") for stage in ("RC1", "FS1", "OA1")),  # ruling 95
        *((stage, "p", "raised") for stage in ("RC2", "RC3", "PO2", "AD1", "FX2")),
        # The ruling names the three; stages further on that ask for no dose allow load: the safer reading.
        *((stage, "p", "raised") for stage in ("OA2", "RC4", "FS2")),
    ],
)
def test_95_part_of_the_dose_is_good_where_exits_ask_for_none(stage: str, dose: str, klass: str) -> None:
    assert judged(told(f"8/10 1 1 0 {dose}", stage)).klass == klass


def test_73_limits_are_those_of_the_stage_on_its_date() -> None:
    """RC1 allows 3 during, RC2 4: worst 5 was over in RC1, and is so no more in RC2."""
    assert judged(case("RC2", day=2, first=30).summary(-3, -13, "8/10 5 3 1 w")).klass == "over"
    assert judged(case("RC2", day=12, first=30).summary(-2, -12, "8/10 5 3 1 w")).klass == "good"


@pytest.mark.parametrize(
    ("during", "morning", "klass"),
    [(3, 2, "good"), (8, 2, "raised"), (3, 4, "raised"), (3, 3, "good")],
)
def test_73_a_flare_recorded_in_the_period_makes_it_raised(during: int, morning: int, klass: str) -> None:
    """A session, or a morning two above the baseline."""
    made = case("RC1", day=40, last_visit=10).mornings(-30, *[2] * 19)
    assert judged(made.session(-5, during, 2, morning).summary(0, -10, CALM)).klass == klass


def test_73_a_morning_without_a_session_counts_too() -> None:
    made = case("RC1", day=40, last_visit=10).mornings(-30, *[2] * 19).morning(-5, 4)
    assert judged(made.summary(0, -10, CALM)).klass == "raised"
    assert judged(made.summary(0, -10, "8/10 4 3 . w")).klass == "raised"


def test_73_a_morning_raised_after_a_period_does_not_lie_in_it() -> None:
    made = case("RC1", day=40, last_visit=20).mornings(-30, *[2] * 25).summary(-10, -20, CALM).morning(-5, 4)
    assert judged(made).klass == "good"


@pytest.mark.parametrize(("day", "klass"), [(-11, "good"), (-10, "raised"), (0, "raised"), (-1, "raised")])
def test_73_the_days_of_a_period_include_both_ends(day: int, klass: str) -> None:
    made = case("RC1", day=40, last_visit=10).session(day, 8, 2, None).summary(0, -10, CALM)
    assert judged(made).klass == klass


# --- good sessions --------------------------------------------------------------------------------------


def seen(line: str, *, days: int = 14, session: bool = True) -> Builder:
    """RC1 as in the ruling's examples: usual morning 2, a session of yesterday, the weeks summed up today."""
    made = case("RC1", day=40, last_visit=days).visit(-3, usual_morning=2)
    if session:
        made.session(-1, 2, 2, 2)
    return made.summary(0, -days, line)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("11/14 4 3 1 w", MET),  # ruling 73, yes
        ("11/14 5 3 1 w", NOT_MET),  # no: over
        ("6/14 4 3 1 w", NOT_MET),  # no: 43 %
        ("10/14 3 3 3 w s", NOT_MET),  # no: a flare, as told
        ("11/14 4 3 . w", UNKNOWN),  # passed over
    ],
)
def test_73_the_examples_of_the_ruling(line: str, expected: Truth) -> None:
    assert run_state(seen(line)) is expected


def test_73_the_third_example_is_a_flare_until_the_dose_is_answered() -> None:
    made = seen("10/14 3 3 3 w s")
    assert ("FLA", 1, 0) in live(standing_of(made))
    assert "FLA" not in live_codes(made.contact(0, load_cut=True))


def test_73_a_short_period_needs_one_recorded_session_beside_it() -> None:
    """11 days: two as told and one recorded."""
    found = criterion(standing_of(seen("9/11 4 3 1 w", days=11)), "good sessions")
    assert found.observed == "3 good sessions: 1 recorded, 2 as told"
    assert found.state is MET
    alone = criterion(standing_of(seen("9/11 4 3 1 w", days=11, session=False)), "good sessions")
    assert (alone.state, alone.ask) == (UNKNOWN, "1 more good session")


@pytest.mark.parametrize(("days", "expected"), [(12, MET), (11, UNKNOWN)])
def test_95_a_long_good_period_counts_as_three(days: int, expected: Truth) -> None:
    """At least 12 days; the ruling's RC2 of 14 days is below."""
    assert run_state(seen(f"9/{days} 4 3 1 w", days=days, session=False)) is expected


@pytest.mark.parametrize(("days", "expected"), [(14, MET), (11, UNKNOWN)])
def test_95_rc2_by_a_period_of_14_days_and_not_of_11(days: int, expected: Truth) -> None:
    """With light resisted work at its dose in force; ruling 95."""
    made = ready_rc2(day=40, sessions=False, last_visit=days).programme(-40, "R1", per_week=4)
    assert run_state(made.summary(0, -days, "6/8 4 3 1 w")) is expected


def test_95_a_long_period_in_healing_tissue_counts_as_two() -> None:
    """AD1 asks for three good sessions of any class."""
    made = case("AD1", day=40, last_visit=14).summary(0, -14, "11/14 2 2 0 w")
    assert run_state(made) is UNKNOWN
    assert run_state(made.mornings(-10, 2, 2, 2).session(-1, 2, 2, 2)) is MET


@pytest.mark.parametrize(("during", "expected"), [(4, MET), (5, NOT_MET)])
def test_95_no_recorded_session_over_by_more_than_a_point(during: int, expected: Truth) -> None:
    """RC1, P 3: over by one may lie in a long period, over by two makes it count as two, and ends the run."""
    made = case("RC1", day=40, last_visit=14).session(-6, during, 2, None).summary(0, -14, "11/14 4 3 1 w")
    assert run_state(made) is expected


def two(older: int, newer: int, stage: str = "RC1") -> Builder:
    """Two good periods of seven days that end on these days, nothing recorded."""
    made = case(stage, day=80, first=90, last_visit=1)
    return made.summary(older, older - 7, "5/7 2 2 0 w").summary(newer, newer - 7, "5/7 2 2 0 w")


@pytest.mark.parametrize(
    ("older", "newer", "expected"),
    [
        (-8, -1, MET),
        (-7, -1, UNKNOWN),
        (-42, 0, MET),
        (-43, 0, UNKNOWN),
        (-42, -21, MET),
        (-42, -22, UNKNOWN),
    ],
)
def test_73_two_periods_7_to_42_days_apart_count_as_three(older: int, newer: int, expected: Truth) -> None:
    """The newest lies in the 21 days of ruling 75, the older within 42."""
    assert run_state(two(older, newer)) is expected


def test_73_two_periods_in_healing_tissue_count_as_two() -> None:
    assert run_state(two(-14, 0, "AD1")) is UNKNOWN


def test_73_what_is_told_never_counts_as_more_than_three() -> None:
    made = two(-14, 0).summary(-24, -38, "11/14 2 2 0 w")
    found = criterion(standing_of(made), "good sessions").observed
    assert found == "3 good sessions: 0 recorded, 3 as told"


@pytest.mark.parametrize(("line", "expected"), [("8/10 6 3 1 w", NOT_MET), ("8/10 4 3 2 w", NOT_MET)])
def test_73_weeks_are_no_single_slip(line: str, expected: Truth) -> None:
    """Over and raised end the run, though three good sessions lie before and one after."""
    made = case("RC1", day=60, last_visit=1).mornings(-60, *[2] * 59).good(3, last=-15)
    made.session(-1, 2, 2, 2).summary(-2, -12, line)
    assert run_state(made) is expected


@pytest.mark.parametrize(("stage_day", "expected"), [(7, UNKNOWN), (6, UNKNOWN), (8, MET)])
def test_73_seven_days_of_the_period_lie_in_the_stage(stage_day: int, expected: Truth) -> None:
    """Period of D-11 to D-1; in the stage for 7 days from D-8 on."""
    made = case("OA2", day=stage_day, first=40)
    made.mornings(-30, *[2] * 29).session(0, 2, 2, None).session(-1, 2, 2, 2).summary(-1, -11, "8/10 4 3 1 w")
    assert run_state(made) is expected


def test_73_a_flare_told_of_the_stage_before_is_a_flare_still() -> None:
    made = case("OA2", day=3, first=40).summary(-1, -11, "8/10 4 3 3 w")
    assert "FLA" in live_codes(made)
    assert run_state(made) is NOT_MET


@pytest.mark.parametrize(
    ("sessions", "expected"),
    [((-9, -8), MET), ((-9, -8, -7), UNKNOWN)],
)
def test_73_with_three_recorded_sessions_it_adds_nothing_good(
    sessions: tuple[int, ...], expected: Truth
) -> None:
    """Sessions of known class of RC2 in the period, of another class than RC2 asks for."""
    made = ready_rc2(day=40, sessions=False, last_visit=14).programme(-40, "R1", per_week=4)
    for day in sessions:
        made.session(day, 2, 2, 2, A1=(3, 10))
    assert run_state(made.summary(0, -14, "6/8 4 3 1 w")) is expected


@pytest.mark.parametrize("line", ["6/8 4 3 3 w", "6/8 9 3 1 w", "6/8 4 3 2 w"])
def test_73_with_three_recorded_sessions_it_counts_as_harm_still(line: str) -> None:
    made = ready_rc1(day=40, last_visit=14)
    assert run_state(made) is MET
    assert run_state(made.summary(0, -14, line)) is NOT_MET


@pytest.mark.parametrize(
    ("programme", "expected"),
    [
        ({"day": -7}, MET),
        ({"day": -6}, UNKNOWN),
        ({"day": -20, "load_class": "A1"}, UNKNOWN),
        ({"day": -20, "sets": 2}, UNKNOWN),
        ({"day": -20, "reps": 9}, UNKNOWN),
        ({"day": -20, "reps": 12}, MET),
    ],
)
def test_73_a_named_class_and_dose_was_in_force_for_the_last_seven_days(
    programme: dict[str, Any], expected: Truth
) -> None:
    """RC2: light resisted work, 3 x 10."""
    made = ready_rc2(day=40, sessions=False, last_visit=14)
    made.programme(**{"load_class": "R1", **programme})
    assert run_state(made.summary(0, -14, "6/8 4 3 1 w")) is expected


def test_73_an_exercise_changed_in_those_days_was_not_in_force() -> None:
    made = ready_rc2(day=40, sessions=False, last_visit=14).programme(-20, "R1").programme(-3, "R1", 2)
    assert run_state(made.summary(0, -14, "6/8 4 3 1 w")) is UNKNOWN
    stopped = ready_rc2(day=40, sessions=False, last_visit=14).programme(-20, "R1")
    stopped.programme(-3, "R1", stopped="too heavy")
    assert run_state(stopped.summary(0, -14, "6/8 4 3 1 w")) is UNKNOWN


@pytest.mark.parametrize(("worst", "expected"), [(4, MET), (5, NOT_MET)])
def test_73_during_at_most_n_reads_one_more(worst: int, expected: Truth) -> None:
    """RC2: pain during 3 or less; its own limit 4 alone would allow 5."""
    made = ready_rc2(day=40, sessions=False, last_visit=14).programme(-20, "R1")
    assert run_state(made.summary(0, -14, f"6/8 {worst} 3 1 w")) is expected


@pytest.mark.parametrize(("injected", "expected"), [(-57, MET), (-56, UNKNOWN), (-5, UNKNOWN)])
def test_94_a_masked_summary_adds_nothing_good_in_healing_tissue(injected: int, expected: Truth) -> None:
    """An injection masks pain for 42 days: that of D-56 up to D-14, with which the period begins."""
    made = case("AD1", day=70, last_visit=14).medicine(injected, "injection").mornings(-10, 2, 2, 2)
    made.session(-1, 2, 2, 2).summary(0, -14, "11/14 2 2 0 w")
    found = criterion(standing_of(made), "good sessions")
    assert (UNKNOWN if "masked" in found.observed else found.state) is expected
    assert ("2 as told" in found.observed) is (expected is MET)


def test_94_elsewhere_a_masked_summary_counts() -> None:
    made = case("RC1", day=60, last_visit=14).medicine(-5, "injection").summary(0, -14, "11/14 4 3 1 w")
    assert run_state(made) is MET


# --- flare, as told -------------------------------------------------------------------------------------


def flare(settled: str = "", *, day: int = 0, mornings: int = 4) -> Builder:
    """RC2 in which the weeks up to ``day`` were told with a flare."""
    made = case("RC2", day=60, last_visit=60).summary(day, day - 21, f"10/14 3 3 {mornings} w {settled}")
    return made


def severity(made: Builder) -> int:
    return next((r.severity for r in standing_of(made).reasons if r.code == "FLA"), 0)


@pytest.mark.parametrize(("settled", "expected"), [("s", 1), ("n", 2), ("", 2)])
def test_73_a_flare_as_told_is_a_reason(settled: str, expected: int) -> None:
    assert severity(flare(settled)) == expected
    assert severity(flare(settled, mornings=2)) == 0


def test_73_it_is_said_since_when() -> None:
    assert (
        reason(standing_of(flare()), "FLA").sentence
        == "flare, as told: 4 mornings worse than usual since 9 Feb"
    )


def test_73_it_is_no_cause_to_step_back() -> None:
    found = standing_of(flare()).verdict
    assert found.word is Word.NOT_YET
    assert "flare, as told" in found.line


@pytest.mark.parametrize(("mornings", "expected"), [(1, 0), (2, 2), (3, 2)])
def test_73_a_later_summary_with_calm_mornings_ends_it(mornings: int, expected: int) -> None:
    assert severity(flare(day=-10).summary(0, -10, f". . . {mornings}")) == expected


@pytest.mark.parametrize(
    ("pains", "expected"),
    [((2, 2), 0), ((3, 3), 0), ((2, 4), 2), ((2,), 2), ((2, 4, 2), 2), ((2, 4, 2, 2), 0)],
)
def test_73_two_settled_mornings_after_it_end_it(pains: tuple[int, ...], expected: int) -> None:
    """Baseline 2: within a point is settled, two above it is not."""
    made = flare(day=-10).mornings(-35, *[2] * 5).visit(-11, usual_morning=2)
    assert severity(made) == 2
    assert severity(made.mornings(-9, *pains)) == expected


@pytest.mark.parametrize(
    "answer",
    [
        lambda m, d: m.contact(d, load_cut=True),
        lambda m, d: m.visit(d, load_cut=True),
        lambda m, d: m.programme(d, "R1", 2),
        lambda m, d: m.decision(d, "flare"),
        lambda m, d: m.visit(d, decision=True, answers="flare"),
    ],
)
def test_73_settled_and_answered_on_its_day_or_later_it_ends(answer: Any) -> None:
    def made(settled: str) -> Builder:
        return (
            case("RC2", day=60, last_visit=60).programme(-50, "R1").summary(-3, -24, f". . . 4 . {settled}")
        )

    assert severity(made("s")) == 1
    assert severity(answer(made("s"), -3)) == 0
    assert severity(answer(made("n"), -3)) == 2
    assert severity(answer(made(""), -3)) == 2


def test_73_what_was_done_before_it_answers_nothing() -> None:
    made = case("RC2", day=60, last_visit=60).programme(-50, "R1").contact(-4, load_cut=True)
    made.programme(-4, "R1", 2).decision(-4, "flare").summary(-3, -24, ". . . 4 . s")
    assert severity(made) == 1


@pytest.mark.parametrize(
    ("before", "after", "ends"),
    [
        ({"load": 4}, {"load": 2}, True),
        ({"band": 3}, {"band": 2}, True),
        ({"per_week": 7}, {"per_week": 4}, True),
        ({"arc_to": 120}, {"arc_to": 90}, True),
        ({"load": 4}, {"load": 4}, False),
        ({"load": 2}, {"load": 4}, False),
        ({"load": 4}, {"load": 2, "reps": 15}, False),  # less of one and more of another
        ({"per_week": 7}, {"per_week": 4, "load": 2}, False),  # a weight where there was none
        ({"load": 4}, {"stopped": "hurts"}, True),
    ],
)
def test_73_a_lower_dose_that_was_accepted(before: dict[str, Any], after: dict[str, Any], ends: bool) -> None:
    made = flare("s", day=-1).programme(-50, "R1", **before)
    assert (severity(made.programme(0, "R1", **after)) == 0) is ends


@pytest.mark.parametrize(("begun", "expected"), [("R2", 1), ("R1", 1), ("A2", 0)])
def test_73_an_exercise_left_for_one_as_hard_is_no_lower_dose(begun: str, expected: int) -> None:
    """The safer reading: who climbs to the next exercise stops the one before."""
    made = flare("s", day=-1).programme(-50, "R1").programme(0, "R1", stopped="easy")
    assert severity(made.programme(0, begun, exercise="another")) == expected


@pytest.mark.parametrize("how", ["visit", "contact"])
def test_94_settled_it_ends_at_the_next_visit_or_contact(how: str) -> None:
    def then(settled: str, day: int) -> Builder:
        made = flare(settled, day=-5)
        return made.visit(day) if how == "visit" else made.contact(day)

    assert severity(then("s", -5)) == 1  # the one at which it was told
    assert severity(then("s", -4)) == 0
    assert severity(then("n", -4)) == 2
    assert severity(then("", -4)) == 2
    assert severity(flare("s", day=-5).contact(-4, "no answer")) == 1


@pytest.mark.parametrize(("cut", "expected"), [(-14, 0), (-13, 2)])
def test_94_not_settled_it_ends_14_days_after_load_was_cut(cut: int, expected: int) -> None:
    assert severity(flare("n", day=-20).contact(cut, load_cut=True)) == expected
    assert severity(flare("", day=-20).programme(-50, "R1").programme(cut, "R1", 2)) == expected


@pytest.mark.parametrize(("day", "expected"), [(-15, 2), (-5, 0), (-1, 0)])
def test_94_unless_there_is_newer_evidence(day: int, expected: int) -> None:
    """Cut on D-20: a flare recorded in the 14 days after it keeps it, one after them speaks for itself."""
    made = flare("n", day=-22).contact(-20, load_cut=True).session(day, 9, 2, None)
    assert severity(made) == expected
    assert severity(flare("n", day=-22).contact(-20, load_cut=True)) == 0


@pytest.mark.parametrize("days", [28, 29, 60, 90])
def test_94_never_by_age_alone(days: int) -> None:
    made = case("RC2", day=150, last_visit=1).summary(-days, -days - 14, ". . . 4")
    assert severity(made) == 2


def test_73_what_a_decision_does_is_said_before_it_is_written() -> None:
    assert silences(view(flare("s")), "flare", TODAY) == 'ends "flare, as told"'
    assert silences(view(flare("n")), "flare", TODAY) == FLARE_GOES_ON


def test_73_a_flare_as_told_is_no_time_without_flare() -> None:
    """RC4: no flare in 28 days. A flare told of weeks is one; and it needs scored sessions to be known."""
    made = ready_rc4(day=40)
    assert criterion(standing_of(made), "no flare").state is MET
    assert criterion(standing_of(made.summary(-15, -25, ". . . 3")), "no flare").state is NOT_MET


# --- span, silence, words -------------------------------------------------------------------------------


@pytest.mark.parametrize(("days", "expected"), [(14, MET), (8, UNKNOWN)])
def test_95_a_good_period_spans_the_days_of_a_pain_criterion(days: int, expected: Truth) -> None:
    """RC1: night pain told once, today, and the good sessions of ruling 75 met by the period."""
    made = ready_rc1(day=40, sessions=False, night=False, last_visit=days).measure(0, "night_pain", 3)
    made.summary(0, -days, f"{days - 1}/{days} 4 3 1 w")
    assert criterion(standing_of(made), "night pain").state is expected
    assert (word(made) is Word.READY) is (expected is MET)


def test_95_the_period_is_named() -> None:
    made = ready_rc1(day=40, sessions=False, night=False, last_visit=14).measure(0, "night_pain", 3)
    found = criterion(standing_of(made.summary(0, -14, "11/14 4 3 1 w")), "night pain")
    assert found.observed == "3, good for 14 days up to Mon 2 Mar, as told"


@pytest.mark.parametrize(("days", "spans"), [(14, True), (15, False)])
def test_95_the_period_is_at_least_as_long_as_the_span(days: int, spans: bool) -> None:
    made = case("RC1", day=40, last_visit=14).summary(0, -14, "11/14 4 3 1 w")
    wanted = {"text": "", "source": "", "status": "", "measure": "night_pain", "at_most": Decimal(3)}
    asked = Criterion(kind="measure", apart_days=days, observations=2, **wanted)
    assert bool(by_good_sessions(view(made), asked)) is spans


@pytest.mark.parametrize(("day", "expected"), [(-40, MET), (-45, UNKNOWN)])
def test_73_what_asks_for_good_sessions_once_reads_earlier_periods(day: int, expected: Truth) -> None:
    """PO4: light resisted work at some time in the stage. A session on ``day``, told of on D-30."""
    made = case("PO4", day=80, last_visit=1).programme(-80, "R1").mornings(-60, *[2] * 31)
    made.session(day, 2, 2, 2, R1=(3, 10)).summary(-30, -44, "11/14 2 2 0 w")
    assert criterion(standing_of(made), "at some time in this stage").state is expected


def test_95_only_the_days_in_the_stage_span() -> None:
    """FS1 asks for night pain twice, seven days apart: of ten days told seven lie in the stage, or eight."""
    for day, expected in ((6, UNKNOWN), (7, MET)):
        made = case("FS1", day=day, first=40).measure(0, "night_pain", 3)
        made.session(-1, 2, 2, None).mornings(-30, *[2] * 31)
        made.summary(0, -10, "8/10 3 3 1 w")
        assert criterion(standing_of(made), "night pain").state is expected


def test_73_a_summary_is_data() -> None:
    made = case("RC2", day=60, last_visit=30, scored=False).summary(-2, -12, "9/10 3 3 1 w")
    assert last_data(view(made)) == on(-2)


@pytest.mark.parametrize(("home", "asks"), [(False, True), (True, False)])
def test_95_without_a_diary_the_case_asks_for_the_summary(home: bool, asks: bool) -> None:
    made = case("RC1", day=40, last_visit=14)
    if home:
        made.morning(-20, 2)
    found = standing_of(made)
    said = "3 more good sessions: type the summary of the weeks"
    assert (criterion(found, "good sessions").ask == said) is asks
    assert ("type the summary of the weeks" in found.verdict.line) is asks


def test_95_once_it_is_typed_it_is_asked_for_no_more() -> None:
    made = case("RC1", day=40, last_visit=11).summary(0, -11, "9/11 4 3 1 w")
    assert criterion(standing_of(made), "good sessions").ask == "1 more good session"


@pytest.mark.parametrize(("ago", "asks"), [(4, False), (5, True)])
def test_95_weeks_summed_up_just_now_are_not_asked_for_again(ago: int, asks: bool) -> None:
    """A period has five days at least, so that until then nobody could type another."""
    made = case("RC1", day=40, last_visit=20).summary(-ago, -ago - 10, "8/10 4 3 1")
    assert ("type the summary" in criterion(standing_of(made), "good sessions").ask) is asks


def test_73_what_was_not_told_is_asked_for() -> None:
    found = criterion(standing_of(told("8/10 4 3 . w")), "good sessions")
    assert found.ask.startswith("mornings worse of the weeks")


def test_73_the_case_shows_its_periods() -> None:
    shown = explain(told(CALM).record(), rules(), TODAY)["summaries"]
    assert shown == [
        {
            "on": "2026-03-02",
            "since": "2026-02-20",
            "entry": shown[0]["entry"],
            "words": "as told for 20 Feb to 2 Mar: 8 of 10 days, worst during 4, worst later 3, "
            "1 morning worse than usual, whole dose",
            "class": "good",
            "cause": "",
            "missing": [],
        }
    ]


def test_73_the_short_view_shows_the_newest_of_the_stage() -> None:
    made = case("RC1", day=40, last_visit=10).summary(-12, -20, "2/8").summary(0, -10, "8/10 4")
    shown = [line for line in standing_of(made).extra if "as told" in line]
    assert shown == ["as told for 20 Feb to 2 Mar: 8 of 10 days, worst during 4"]
    assert not [x for x in standing_of(case("RC1", day=3, first=40).summary(-5, -15)).extra if "as told" in x]


# --- what is proposed -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("visit", "summed", "since"),
    [(14, None, -14), (14, -7, -7), (5, -7, -5), (40, None, -28), (28, None, -28), (29, None, -28)],
)
def test_73_since_is_the_later_of_last_summary_and_last_visit(
    visit: int, summed: int | None, since: int
) -> None:
    """Never more than 28 days; the visit of the day itself is none."""
    made = case("RC2", day=60, last_visit=visit).visit(0)
    if summed is not None:
        made.summary(summed, summed - 10, CALM)
    assert since_proposed(view(made)) == on(since)


def test_73_at_the_first_visit_there_is_nothing_to_sum_up() -> None:
    assert since_proposed(view(case("RC2", day=0))) is None


@pytest.mark.parametrize(
    ("days", "often", "asked"),
    [
        (14, (7,), 14),
        (14, (21,), 14),
        (14, (4,), 8),
        (10, (3,), 5),  # 30 / 7 = 4.3
        (14, (2, 4), 8),
        (14, (), 14),  # ruling 94: without an item in force the days of the period
        (14, (None,), 14),
        (14, (None, 3), 6),
    ],
)
def test_73_days_asked_follow_from_the_programme(
    days: int, often: tuple[int | None, ...], asked: int
) -> None:
    made = case("RC2", day=60, last_visit=days)
    for number, per_week in enumerate(often):
        made.programme(-50, "R1", exercise=f"exercise {number}", per_week=per_week)
    assert asked_proposed(view(made), on(-days)) == asked
