"""The robust slope against published examples and scipy, and the projection of exit criteria from it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.slope import Slope, days_from, theil_sen
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.clinic.verdict.pace import Projection, paces, projection
from armrise.store.record.kinds.paperwork import Discharge
from armrise.store.rules.criterion import Criterion
from tests.clinic.build import TODAY, Builder, case, rules

CLOUD_X, CLOUD_Y = (1, 2, 3, 4, 5), ("1.26", "1.27", "1.12", "1.16", "1.03")
"""Hollander and Wolfe, Nonparametric Statistical Methods, example 9.1 (cloud seeding)."""

PSYCH_Y = (21, 4, 9, 12, 35, 18, 10, 22, 24, 1, 6, 8, 13, 16, 19)
PSYCH_X = (67, 28, 30, 28, 52, 40, 25, 37, 44, 10, 14, 20, 28, 40, 51)
"""The example of ci.theil in the R package statpsych: slope 0.5, interval 0.3243243 to 0.75."""


def points(x: Any, y: Any) -> list[tuple[int, Fraction]]:
    return [(int(a), Fraction(str(b))) for a, b in zip(x, y, strict=True)]


def line(x: Any, y: Any, confidence: float = 0.95) -> Slope:
    found = theil_sen(points(x, y), confidence)
    assert found is not None
    return found


def test_cloud_seeding():
    """Hollander and Wolfe 9.1: -0.056 (printed figure from memory), exactly -0.05625; intercept 1.32875."""
    found = line(CLOUD_X, CLOUD_Y)
    assert (found.per_day, found.intercept) == (Fraction("-0.05625"), Fraction("1.32875"))
    assert found.on(4) == Fraction("1.32875") - 4 * Fraction("0.05625")


def test_an_example_with_repeated_x():
    """statpsych ci.theil prints 0.5 and 0.3243243 to 0.75."""
    found = line(PSYCH_X, PSYCH_Y)
    assert found.per_day == Fraction(1, 2)
    assert (f"{float(found.low):.7f}", found.high) == ("0.3243243", Fraction(3, 4))


def test_equal_dates_are_skipped_and_one_date_has_no_slope():
    assert theil_sen(points((3, 3), (1, 2))) is None
    assert theil_sen([]) is None
    assert line((0, 0, 10), (1, 3, 12)).per_day == 1  # of 11/10 and 9/10


def test_real_dates_and_not_places_in_a_row():
    """Readings after 1, 2 and 30 days: 10 degrees a day would be ten times the truth at the end."""
    assert line((0, 1, 2, 30), (0, 10, 12, 40)).per_day < 4
    dated = [(date(2026, 2, 1), Decimal("1.5")), (date(2026, 3, 1), Decimal(2))]
    assert days_from(date(2026, 3, 2), dated) == [(-29, Fraction(3, 2)), (-1, Fraction(2))]


def test_one_odd_value_does_not_turn_the_slope():
    assert line(range(7), (0, 1, 2, 90, 4, 5, 6)).per_day == 1


def slopes_of(x: Any, y: Any) -> list[Fraction]:
    pairs = combinations(points(x, y), 2)
    return [Fraction(b[1] - a[1], b[0] - a[0]) for a, b in pairs if a[0] != b[0]]


def test_more_ties_than_the_approximation_bears_gives_the_widest_interval():
    """Three values on two days, all but one alike: every slope is possible, and no trend is clear."""
    found = line((0, 0, 1), (0, 0, 0))
    assert (found.low, found.high) == (0, 0)
    assert not found.clear


@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 180)), min_size=2, max_size=14),
    st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
@settings(max_examples=60, deadline=None)
def test_against_scipy(found: list[tuple[int, int]], confidence: float):
    stats = pytest.importorskip("scipy.stats")
    x, y = zip(*found, strict=True)
    if len(set(x)) < 2:
        assert theil_sen(points(x, y), confidence) is None
        return
    ours, theirs = line(x, y, confidence), stats.theilslopes(y, x, confidence)
    assert float(ours.per_day) == pytest.approx(theirs.slope, abs=1e-9)
    assert float(ours.intercept) == pytest.approx(theirs.intercept, abs=1e-7)
    if theirs.low_slope != theirs.low_slope:  # more ties than the approximation bears: scipy says nan
        assert (ours.low, ours.high) == (min(slopes_of(x, y)), max(slopes_of(x, y)))
        return
    assert float(ours.low) == pytest.approx(theirs.low_slope, abs=1e-9)
    assert float(ours.high) == pytest.approx(theirs.high_slope, abs=1e-9)


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 180)), min_size=2, max_size=12))
@settings(max_examples=60, deadline=None)
def test_the_slope_lies_in_its_interval_and_order_is_of_no_account(found: list[tuple[int, int]]):
    made = [(x, Fraction(y)) for x, y in found]
    slope = theil_sen(made)
    assert slope == theil_sen(made[::-1])
    if slope is not None:
        assert slope.low <= slope.per_day <= slope.high


# --- the projection of a criterion ----------------------------------------------------------------------


def criterion(measure: str, **more: Any) -> Criterion:
    fields = {k: Decimal(v) if isinstance(v, int) and k.startswith("at_") else v for k, v in more.items()}
    return Criterion(kind="measure", text=measure, source="test", status="design", measure=measure, **fields)


def project(made: Builder, wanted: Criterion) -> Projection | None:
    view = View.of(made.record(), rules(), TODAY)
    return projection(view, wanted, evaluate(view, wanted))


FLEXION = criterion("active_flexion", at_least=160)


def rising(*values: int, every: int = 7, last: int = -1, stage: str = "RC2", **more: Any) -> Builder:
    """Active flexion every week, the newest yesterday."""
    made = case(stage, day=60)
    for back, value in enumerate(reversed(values)):
        made.measure(last - back * every, "active_flexion", value, **more)
    return made


def test_a_steady_gain_is_projected():
    """110, 120, 130, 140: 10 a week; 20 are left: 2 weeks."""
    found = project(rising(110, 120, 130, 140), FLEXION)
    assert found is not None
    assert (found.sentence, found.weeks) == ("at this pace in about 2 weeks", 2)
    assert (found.count, found.since) == (4, date(2026, 2, 8))


def test_the_interval_is_printed():
    """110, 118, 131, 140, 150: slopes from 8 to 13 a week; 10 are left from the last value."""
    found = project(rising(100, 106, 121, 127, 132), FLEXION)
    assert found is not None
    assert found.soonest is not None
    assert found.latest is not None
    assert found.soonest < found.latest
    assert found.sentence == f"at this pace in about {found.weeks} weeks ({found.soonest} to {found.latest})"


def test_line_with_what_it_rests_on():
    found = project(rising(110, 120, 130, 140), FLEXION)
    assert found is not None
    assert found.line == "at this pace in about 2 weeks, from 4 values since Sun 8 Feb"


def test_fewer_than_four_dated_values_say_nothing():
    assert project(rising(120, 130, 140), FLEXION) is None
    same_day = rising(120, 130, 140).measure(-1, "active_flexion", 141)
    assert project(same_day, FLEXION) is None


@pytest.mark.parametrize("values", [(140, 138, 141, 139), (150, 140, 130, 120), (140, 140, 140, 140)])
def test_no_clear_trend(values: tuple[int, ...]):
    """The interval includes zero, the values go the wrong way, or nothing moves."""
    found = project(rising(*values), FLEXION)
    assert found is not None
    assert (found.sentence, found.weeks) == ("no clear trend", None)


def test_a_value_already_reached_or_unknown_is_not_projected():
    assert project(rising(120, 140, 150, 165), FLEXION) is None  # met
    assert project(rising(110, 120, 130, 140, last=-40), FLEXION) is None  # too old: unknown


def test_one_good_day_promises_nothing():
    """From the further of the last value and the line today: a last value of 158 on a line at 141."""
    slow = project(rising(110, 118, 126, 134, 158), FLEXION)
    assert slow is not None
    assert slow.weeks is not None
    assert slow.weeks >= 2


def test_another_rater_method_or_position_is_left_out():
    for other in ({"rater": "AB"}, {"method": "by eye"}, {"position": "sitting"}):
        made = rising(120, 130, 140).measure(-22, "active_flexion", 110, **other)
        assert project(made, FLEXION) is None
    assert project(rising(110, 120, 130, 140, rater=None), FLEXION) is None


def test_repeated_values_and_absences_are_left_out():
    made = rising(120, 130, 140).measure(-22, "active_flexion", 110, repeated=True)
    assert project(made, FLEXION) is None


def test_pain_falls_and_needs_no_rater():
    made = case("RC2", day=60)
    for back, (pain, rater) in enumerate(((5, None), (6, "TK"), (7, "AB"), (8, None))):
        made.measure(-1 - back * 7, "worst_pain", pain, rater=rater)
    found = project(made, criterion("worst_pain", at_most=3))
    assert found is not None
    assert found.weeks == 2


def test_a_share_of_the_other_side():
    """85 per cent of 180 is 153; 13 are left at 10 a week."""
    made = rising(110, 120, 130, 140).measure(-1, "active_flexion", 180, other=True)
    found = project(made, criterion("active_flexion", at_least=85, of="other side"))
    assert found is not None
    assert found.weeks == 2
    no_reference = made.finding(-1, "other side is a reference", "no")
    assert project(no_reference, criterion("active_flexion", at_least=85, of="other side")) is None
    typed = no_reference.target(-1, "active_flexion", 170)
    by_target = project(typed, criterion("active_flexion", at_least=85, of="other side"))
    assert by_target is not None
    assert by_target.weeks == 3


def test_a_score_is_projected_on_its_own_scale():
    made = case("RC3", day=80, scored=False)
    for back, total in enumerate((30, 40, 50, 60)):
        made.score(-1 - back * 14, "SPADI", total)
    wanted = Criterion(
        kind="score", text="SPADI", source="test", status="design", instrument="SPADI", at_most=Decimal(20)
    )
    found = project(made, wanted)
    assert found is not None
    assert found.weeks == 2


def test_never_where_time_opens_the_stage():
    """PO1 and PO2 are protected, and the gate after PO3 stands until day 84: no pace opens any of them."""
    for stage in ("PO1", "PO2", "PO3"):
        made = case(stage, day=30)
        for back, value in enumerate((90, 80, 70, 60)):
            made.measure(-1 - back * 7, "active_flexion", value)
        assert project(made, criterion("active_flexion", at_least=120)) is None


@pytest.mark.parametrize(
    "wanted",
    [
        Criterion(kind="clearance", text="clearance", source="t", status="design", by="surgeon"),
        Criterion(kind="finding", text="finding", source="t", status="design", finding="shrug seen"),
        Criterion(kind="sessions", text="runs", source="t", status="design", good=3),
    ],
)
def test_what_is_no_number_has_no_pace(wanted: Criterion):
    assert project(rising(110, 120, 130, 140), wanted) is None


def test_beyond_half_a_year_no_number_is_promised():
    """A degree a week with 60 left."""
    found = project(rising(97, 98, 99, 100), FLEXION)
    assert found is not None
    assert found.sentence == "at this pace not within 26 weeks"


# --- every criterion of a stage -------------------------------------------------------------------------


def steady(stage: str) -> Builder:
    made = rising(110, 116, 122, 128, stage=stage)
    return made.measure(-1, "active_flexion", 170, other=True)


def all_paces(made: Builder) -> dict[str, str]:
    found = paces(View.of(made.record(), rules(), TODAY))
    return {result.text: told.line for result, told in found.items()}


def test_every_numeric_criterion_not_met_has_its_pace_and_no_other():
    """RC2 asks for active flexion of 90 % of the other side: 153 of 170; 128 today, 6 a week: 5 weeks."""
    assert all_paces(steady("RC2")) == {
        "active flexion at least 90 % of the other side": (
            "at this pace in about 5 weeks, from 4 values since Sun 8 Feb"
        )
    }


def test_a_protected_stage_and_a_closed_case_have_no_pace():
    assert all_paces(steady("PO3")) == {}
    assert all_paces(steady("RC2").add(Discharge, 0, outcome="goal met")) == {}
