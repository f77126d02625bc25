"""Ruling 77 of the practice notes, with 91, 94 and 95: usual pain, the class "over", creep, waking, and OVR.

The boundaries without usual pain stand in ``test_sessions.py``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from armrise.store.clinic.case.standing import Reason
from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.told import DURING, LATER
from armrise.store.clinic.standing.decisions import silences
from tests.clinic.build import TODAY, Builder, case, item, on, reason, rules, standing_of
from tests.clinic.build_more import live_codes, twos

Pain = int | None


def sore(later: Sequence[Pain], *, stage: str = "RC1", during: int = 2, first: int = -14) -> Builder:
    """Sessions day after day from ``first`` on with these values later; no morning is known."""
    made = case(stage, day=30, last_visit=None)
    for offset, value in enumerate(later):
        made.session(first + offset, during, value, None)
    return made


def usual(made: Builder, part: str, day: int = 0) -> int | None:
    return Response.of(View.of(made.record(), rules(), TODAY)).usual(part, on(day))


def class_on(made: Builder, day: int) -> str:
    judged = Response.of(View.of(made.record(), rules(), TODAY)).judged_on(on(day))
    assert judged is not None
    return judged.klass


# --- usual pain -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([2, 3], None),  # at least 3
        ([2, 3, 3], 3),
        ([1, 2, 3, 4], 2),  # of an even number the lower middle value
        ([2, None, 3, None, 4], 3),  # not told is no value
        ([5, 5, 1, 1, 1, 4, 4, 4, 4], 4),  # the newest seven
        ([0, 0, 0], 0),
    ],
)
def test_77_usual_later_is_the_lower_median_of_the_newest_seven(values: list[Pain], expected: Pain) -> None:
    assert usual(sore(values, first=-len(values)), LATER) == expected


@pytest.mark.parametrize(("first", "expected"), [(-14, 2), (-15, None)])
def test_77_usual_reads_fourteen_days(first: int, expected: Pain) -> None:
    """D-14 to D-1: the day itself is what is judged."""
    made = sore([2], first=first).session(-2, 2, 2, None).session(-1, 2, 2, None).session(0, 9, 9, None)
    assert usual(made, LATER) == expected


def test_77_of_two_sessions_of_a_date_the_worse_value_counts() -> None:
    made = sore([1, 1, 1], first=-5).session(-5, 2, 3, None, ordinal=2).session(-4, 2, 3, None, ordinal=2)
    assert usual(made, LATER) == 3


@pytest.mark.parametrize(
    ("calm", "expected"),
    [
        ([2, 2, 2], 2),  # three others remain: flare dates left out
        ([2, 2], 7),  # they do not, and five values are there: all count
        ([2], None),  # four values
    ],
)
def test_77_flare_dates_are_left_out_while_three_others_remain(calm: list[Pain], expected: Pain) -> None:
    made = sore([7, 7, 7, *calm], first=-9)
    assert [class_on(made, day) for day in (-9, -8, -7)] == ["flare"] * 3
    assert usual(made, LATER) == expected


def test_77_usual_during_and_later_are_two_things() -> None:
    made = sore([1, 1, 1], during=3, first=-3)
    assert (usual(made, DURING), usual(made, LATER)) == (3, 1)


# --- flare against what is usual ------------------------------------------------------------------------


@pytest.mark.parametrize(("now", "klass"), [(5, "over"), (6, "flare")])
def test_77_at_the_usual_of_the_limit(now: int, klass: str) -> None:
    """RC, usual later 3, Q 3: 5 is over, 6 a flare (ruling 95; 77 itself had 5)."""
    assert class_on(sore([3, 3, 3, now], first=-5), -2) == klass


@pytest.mark.parametrize(("now", "klass"), [(4, "over"), (5, "flare")])
def test_77_at_the_usual_of_the_limit_where_tissue_heals(now: int, klass: str) -> None:
    """PO, usual later 3, Q 3: 5 is a flare (two above)."""
    assert class_on(sore([3, 3, 3, now], stage="PO2", first=-5), -2) == klass


@pytest.mark.parametrize(("now", "klass"), [(7, "over"), (8, "flare")])
def test_77_own_usual_lifts_what_a_flare_is(now: int, klass: str) -> None:
    """RC1, usual later 5, Q 3: three above what is usual."""
    assert class_on(sore([5, 5, 5, now], first=-5), -2) == klass


@pytest.mark.parametrize(("usual_later", "now", "klass"), [(7, 8, "over"), (7, 9, "flare"), (5, 9, "flare")])
def test_77_own_usual_lifts_it_to_six_at_most(usual_later: int, now: int, klass: str) -> None:
    """``usual.most`` 6: 9 is a flare however sore the shoulder usually is."""
    made = sore([usual_later] * 13 + [now])
    assert usual(made, LATER, -1) == usual_later
    assert class_on(made, -1) == klass


@pytest.mark.parametrize(("now", "klass"), [(5, "over"), (6, "flare")])
def test_77_where_tissue_heals_by_one_point_at_most(now: int, klass: str) -> None:
    """PO2, Q 3, usual later 5 as far as told: held against 4."""
    made = case("PO2", day=20, last_visit=10).session(-8, 2, 5, None).session(-7, 2, 5, None)
    made.session(-6, 2, 5, None).session(-5, 2, 5, None).session(-4, 2, 5, None).session(-2, 2, now, None)
    assert usual(made, LATER, -2) == 5
    assert class_on(made, -2) == klass


@pytest.mark.parametrize(("told", "klass"), [(-28, "over"), (-29, "flare")])
def test_77_later_falls_back_on_the_usual_morning(told: int, klass: str) -> None:
    """RC1, Q 3, usual morning 4 as told at a visit up to 28 days before; a session later of 6."""
    made = case("RC1", day=40, last_visit=None).visit(told - 2, usual_morning=4)
    assert class_on(made.session(-2, 2, 6, None), -2) == klass


def test_77_during_does_not_fall_back_on_the_usual_morning() -> None:
    """P 3 and no usual during: 7 is a flare, whatever the mornings are like."""
    made = case("RC1", day=40, last_visit=None).visit(-5, usual_morning=6)
    assert class_on(made.session(-2, 7, 2, None), -2) == "flare"


@pytest.mark.parametrize(("during", "klass"), [(8, "over"), (9, "flare")])
def test_77_during_against_its_own_usual(during: int, klass: str) -> None:
    """P 4, usual during 5: 9 is four above; of 8 the limit lies four below, but usual only three."""
    made = case("RC2", day=30)
    for day in (-9, -8, -7):
        made.session(day, 5, 2, None)
    assert class_on(made.session(-2, during, 2, None), -2) == ("flare" if during == 8 else klass)


@pytest.mark.parametrize(("usual_during", "klass"), [(6, "flare"), (7, "flare"), (3, "flare")])
def test_77_eight_during_is_a_flare_two_above_the_usual(usual_during: int, klass: str) -> None:
    """during 8 >= R + 2, and R is 6 at most: so 8 is a flare always."""
    made = case("RC2", day=30)
    for day in (-9, -8, -7, -6, -5):
        made.session(day, usual_during, 2, None)
    assert class_on(made.session(-2, 8, 2, None), -2) == klass


@pytest.mark.parametrize("usual_during", [5, 6])
def test_77_seven_during_is_over_where_more_than_the_limit_is_usual(usual_during: int) -> None:
    """P 3: 7 is a flare where nothing is known to be usual, and over where 5 or 6 is."""
    made = case("RC1", day=30)
    assert class_on(made.session(-12, 7, 2, None), -12) == "flare"
    for day in (-9, -8, -7):
        made.session(day, usual_during, 2, None)
    assert class_on(made.session(-2, 7, 2, None), -2) == "over"


def test_77_what_was_usual_before_the_operation_is_no_yardstick() -> None:
    """Another tissue's history: Q 3 alone is held against, so that 5 is a flare."""
    made = case("RC2", day=30)
    for day in (-9, -8, -7, -6):
        made.session(day, 2, 6, None)
    made.onset(-5, "surgery").orders(-5, surgeon="consultant A").step(-5, "PO1", "placing")
    assert usual(made, LATER, -2) is None
    assert class_on(made.session(-2, 2, 5, None), -2) == "flare"


@pytest.mark.parametrize(("over", "raised", "klass"), [(0, 3, "raised"), (1, 3, "over"), (0, 2, "good")])
def test_77_over_comes_before_raised_and_raised_is_the_morning_alone(
    over: int, raised: int, klass: str
) -> None:
    made = twos(case("RC1", day=30), -20, 10, 1).session(-2, 3 + over, 2, raised)
    assert class_on(made, -2) == klass


def test_77_a_steadily_sore_shoulder_is_over_and_never_flares() -> None:
    """Not: 4/5/4 every day, P 3, Q 3, baseline 4: over, then OVR, never FLA."""
    made = case("RC1", day=30, last_visit=None).visit(-20, usual_morning=4)
    for back in range(20, 0, -1):
        made.session(-back, 4, 5, 4)
        assert class_on(made, -back) == "over"
    assert "OVR" in live_codes(made)
    assert all("FLA" not in live_codes(made, on(-back)) for back in range(20))


def test_77_without_a_usual_morning_a_healing_shoulder_stops_flaring_after_five_sessions() -> None:
    """Steady later 5, Q 3 in PO2: a flare till five values say what is usual, over from then on."""
    made = sore([5] * 8, stage="PO2", first=-8)
    assert [class_on(made, day) for day in range(-8, 0)] == ["flare"] * 5 + ["over"] * 3


def test_77_the_cause_names_the_limit_and_what_is_usual() -> None:
    judged = Response.of(View.of(sore([5, 5, 5, 8], first=-5).record(), rules(), TODAY)).judged_on(on(-2))
    assert judged is not None
    assert judged.cause == "pain later 8, limit 3, usual 5"


# --- dose -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("triples", "said"),
    [
        (((4, 2, 2), (6, 2, 2)), "over the limit once"),
        (((6, 2, 2), (6, 2, 2)), "over the limit twice"),
        (((4, 2, 3), (6, 2, 1)), "raised or over the limit twice"),
    ],
)
def test_77_line_5_treats_over_like_raised(triples: tuple[tuple[int, int, int], ...], said: str) -> None:
    """Practice 5.2, line 5: once holds, twice running takes a set off."""
    made = case("RC2", day=60).programme(-50, "R1", 3, 8, reps_low=8, reps_high=12)
    made.mornings(-20, *[1] * 10 if "raised" in said else [2] * 10)
    for day, triple in zip((-4, -2), triples, strict=True):
        made.session(day, *triple, item("R1", 3, 8))
    (found,) = proposals(View.of(made.record(), rules(), TODAY))
    assert said in found.reason
    assert found.word == ("HOLD" if said.endswith("once") else "REDUCE")


# --- creep and waking -----------------------------------------------------------------------------------


def crept(*levels: int, stage: str = "RC1", each: int = 6) -> Builder:
    """Sessions day after day up to yesterday, ``each`` of them at every one of these values later."""
    values = [level for level in levels for _ in range(each)]
    made = case(stage, day=len(values), last_visit=None).visit(-len(values), usual_morning=2)
    for offset, value in enumerate(values):
        made.session(offset - len(values), 2, value, None)
    return made


@pytest.mark.parametrize(
    ("levels", "severity"),
    [
        ((2, 3, 4), 2),
        ((1, 2, 3), None),  # two higher, but at the limit of 3
        ((3, 4), None),  # above the limit, by one
        ((3, 4, 5), 2),
        ((2, 3, 4, 5), 3),
    ],
)
def test_77_creep_reads_usual_later_too(levels: tuple[int, ...], severity: int | None) -> None:
    """Above Q, and two or more above its first of the stage or the episode."""
    made = crept(*levels)
    assert ("FLA" in live_codes(made)) is (severity is not None)
    if severity is not None:
        flare = reason(standing_of(made), "FLA")
        assert flare.severity == severity
        assert f"pain later has crept from {levels[0]} to {levels[-1]} since" in flare.sentence
        assert flare.evidence


def test_77_creep_of_usual_later_is_read_against_the_episode_too() -> None:
    """2 at the beginning, 4 all through this stage (Q 3): crept since the first."""
    made = case("FS2", day=10, first=30, last_visit=None)
    for day in range(-30, -20):
        made.session(day, 2, 3, None)
    for day in range(-14, 0):
        made.session(day, 2, 5, None)
    assert "pain later has crept from 3 to 5" in reason(standing_of(made), "FLA").sentence


def test_94_creep_reads_computed_values_of_usual_later_only() -> None:
    """Usual morning 1 at first and 5 now, with two sessions: nothing is worked out of sessions."""
    made = case("RC1", day=30, last_visit=None).visit(-30, usual_morning=1).visit(-29, usual_morning=1)
    made.session(-28, 2, 1, None).session(-1, 2, 5, None)
    made.mornings(-20, 1, 1, 1, 1)
    assert "FLA" not in live_codes(made)


def test_77_creep_of_usual_later_ends_when_it_comes_down() -> None:
    made = crept(2, 3, 4)
    assert "FLA" in live_codes(made)
    for day in range(0, 5):
        made.session(on(day), 2, 2, None, recorded=on(day))
    assert "FLA" not in live_codes(made, on(5))


@pytest.mark.parametrize(
    ("values", "severity"),
    [
        ((1, 4), 3),  # one value before: that one
        ((1, 2, 5), 3),
        ((3, 1, 5), None),  # two above the higher of the two before
        ((3, 1, 6), 3),
        ((5, 1, 1, 4), 3),  # the third before says nothing
        ((1, 4, 4), None),
    ],
)
def test_95_waking_is_held_against_the_higher_of_the_two_values_before(
    values: tuple[int, ...], severity: int | None
) -> None:
    """FLA (e): newest minus the higher of the two values before, 3 or more."""
    made = case("RC2", day=40)
    for offset, value in enumerate(values):
        made.measure(-1 - 7 * (len(values) - 1 - offset), "night_waking", value)
    assert ("FLA" in live_codes(made)) is (severity is not None)
    if severity is not None:
        assert reason(standing_of(made), "FLA").severity == severity


# --- OVR ------------------------------------------------------------------------------------------------


def over(*during: Pain, every: int = 2, last: int = -1, stage: str = "RC1") -> Builder:
    """Sessions with these values during, the newest on ``last``, ``every`` days apart; P is 3."""
    made = twos(case(stage, day=60, last_visit=1), -40, 20)
    for back, value in enumerate(reversed(during)):
        made.session(last - back * every, value, 2, 2 if value is not None else None)
    return made.programme(-50, "A1", 3, 10, per_week=7)


def the_reason(made: Builder) -> Reason | None:
    return next((r for r in standing_of(made).reasons if r.code == "OVR"), None)


@pytest.mark.parametrize(
    ("during", "severity"),
    [
        ((4, 4, 4, 4, 4, 4), 6),
        ((4, 4, 3, 4, 4, 4), 5),
        ((4, 3, 3, 4, 4, 4), None),
        ((4, 4, 4, 4, 4), 5),
        ((4, 4, 4, 4), None),
        ((4, 4, 4, 4, None, 4), 5),  # of known class: the incomplete one is none
        ((4, 4, 4, 4, 4, 4, 3, 3), None),  # the newest six
    ],
)
def test_77_over_in_five_of_the_newest_six(during: tuple[Pain, ...], severity: int | None) -> None:
    found = the_reason(over(*during))
    assert (found.severity if found else None) == severity


def test_77_ovr_words_rank_and_tier() -> None:
    found = the_reason(over(4, 4, 4, 4, 4, 4))
    assert found is not None
    assert (found.sentence, found.rank, found.tier) == ("over the limit in 6 of 6 sessions", 21, "move on")
    assert found.name == "over the limit"
    assert len(found.evidence) == 6


@pytest.mark.parametrize(("last", "live"), [(-13, True), (-14, False)])
def test_77_over_reads_21_days(last: int, live: bool) -> None:
    """Five sessions two days apart: the oldest 21 or 22 days old."""
    assert bool(the_reason(over(4, 4, 4, 4, 4, last=last))) is live


@pytest.mark.parametrize(
    ("change", "live"),
    [
        ({"sets": 2}, False),
        ({"sets": 3}, True),  # the same again is no change
        ({"sets": 3, "per_week": 3}, False),  # fewer times a week than 7
        ({"sets": 3, "per_week": 14}, True),
        ({"sets": 4}, True),  # more is no answer
        ({"sets": 3, "stopped": "too sore"}, False),
    ],
)
@pytest.mark.parametrize("day", [-10, -1])  # the first of them, of D-11, was told on D-10
def test_77_an_accepted_change_since_the_first_of_them_ends_ovr(
    change: dict[str, Any], live: bool, day: int
) -> None:
    made = over(4, 4, 4, 4, 4, 4).programme(day, "A1", **{"reps": 10, "per_week": 7, **change})
    assert bool(the_reason(made)) is live


def test_77_a_change_before_the_first_of_them_does_not() -> None:
    assert the_reason(over(4, 4, 4, 4, 4, 4).programme(-12, "A1", 2, 10, per_week=7))


@pytest.mark.parametrize(("day", "live"), [(-27, False), (-28, True)])
def test_77_an_entry_about_it_silences_ovr_for_28_days(day: int, live: bool) -> None:
    """A decision, a referral, or a visit with a decision that answers it; another matter does not."""
    sore_still = over(4, 4, 4, 4, 4, 4)
    assert bool(the_reason(sore_still.decision(day, "over the limit"))) is live
    assert bool(the_reason(over(*[4] * 6).referral(day, "over the limit"))) is live
    assert bool(the_reason(over(*[4] * 6).visit(day, decision=True, answers="over the limit"))) is live
    assert the_reason(over(*[4] * 6).decision(day, "stalled"))
    assert the_reason(over(*[4] * 6).visit(day, answers="over the limit"))


def test_63_a_hold_hides_ovr() -> None:
    made = over(4, 4, 4, 4, 4, 4)
    assert "OVR" in live_codes(made)
    assert "OVR" not in live_codes(made.hold(0, 10))


def test_77_a_decision_says_for_how_long_it_silences_ovr() -> None:
    view = View.of(over(4, 4, 4, 4, 4, 4).record(), rules(), TODAY)
    said = silences(view, "over the limit", TODAY)
    assert said == 'silences "over the limit" for 28 days, until Mon 30 Mar 2026'
