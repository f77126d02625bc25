"""The last day of a rule and the day after it: masks, minimum days; and the lower of two morning values.

The source stands beside each check; every figure stands in the rule files with its own.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from armrise.store.clinic.case.standing import CriterionResult, Standing, Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.certain import Certain
from armrise.store.clinic.pain.response import Response
from tests.clinic.build import TODAY, Builder, case, on, rules, standing_of
from tests.clinic.build_more import criterion, ready_ad1, ready_fx1, ready_po3, ready_rc1

# --- a mask on its last day -----------------------------------------------------------------------------

MASKS = [("injection", 42), ("analgesic", 14)]


@pytest.mark.parametrize("ready", [ready_po3, ready_fx1, ready_ad1], ids=["PO3", "FX1", "AD1"])
@pytest.mark.parametrize(("what", "last"), MASKS)
def test_a_mask_holds_on_its_last_day_and_not_on_the_next(
    ready: Callable[[], Builder], what: str, last: int
) -> None:
    """Rulings 50 and 15: an injection masks for 42 days, a new analgesic for 14, that day included."""
    assert standing_of(ready().medicine(-last, what)).verdict.word is Word.UNKNOWN
    assert standing_of(ready().medicine(-last - 1, what)).verdict.word is Word.READY


@pytest.mark.parametrize(("what", "last"), MASKS)
def test_the_caution_stands_beside_the_verdict_to_the_last_day(what: str, last: int) -> None:
    """Practice note 4.13, case 31: where nothing heals a mask is printed and the verdict stays."""
    for day, printed in ((-last, True), (-last - 1, False)):
        found = standing_of(ready_rc1(day=60).medicine(day, what))
        assert found.verdict.word is Word.READY
        told = (*found.cautions, *found.verdict.cautions, *found.extra)
        assert any(f"pain masked: {what}" in words for words in told) is printed


# --- minimum days, forward and back ---------------------------------------------------------------------


def least(standing: Standing) -> CriterionResult:
    """The criterion about minimum days."""
    return criterion(standing, "days in stage")


def test_after_a_step_forward_the_minimum_begins_with_the_step() -> None:
    """Practice note 4.11: days in stage restart at each step; RC2 asks for 14 whole days of its own."""
    for day, expected in ((13, Truth.NOT_MET), (14, Truth.MET)):
        found = standing_of(case("RC2", day=day, first=day + 60))
        assert (found.days_in_stage, least(found).state) == (day, expected)
    waits = least(standing_of(case("RC2", day=13, first=73)))
    assert waits.opens_on == on(1)


def test_after_a_step_back_the_minimum_of_the_stage_gone_back_to_begins_anew() -> None:
    """4.11: only a step back and then forward is spared; RC2, RC3, back to RC2 is a new stay in RC2."""
    for ago, expected in ((13, Truth.NOT_MET), (14, Truth.MET)):
        found = standing_of(case("RC2", day=60).step(-ago - 5, "RC3").step(-ago, "RC2"))
        assert (found.days_in_stage, found.total_days_in_stage) == (ago, 60 - 5)
        assert least(found).state is expected


def test_back_and_forward_again_both_stays_count_together_to_the_day() -> None:
    """4.11: served when all days in the stage reach the minimum and the step back lasted at most 14 days."""
    for before, expected in ((9, Truth.NOT_MET), (10, Truth.MET)):
        made = case("RC2", day=before + 14 + 4, first=60)
        found = standing_of(made.step(-14 - 4, "RC1").step(-4, "RC2"))
        assert (found.days_in_stage, found.total_days_in_stage) == (4, before + 4)
        assert least(found).state is expected
    for away, expected in ((14, Truth.MET), (15, Truth.NOT_MET)):
        made = case("RC2", day=20 + away + 4, first=60)
        assert least(standing_of(made.step(-away - 4, "RC1").step(-4, "RC2"))).state is expected


# --- the lower of two morning values --------------------------------------------------------------------


def response_of(made: Builder) -> Response:
    return Response.of(View.of(made.record(), rules(), TODAY))


def measured(response: Response, day: date) -> int | None:
    certain = Certain(response.history, response.told)
    return certain.value(certain.measured, day=day)


@pytest.mark.parametrize(
    ("mornings", "baseline"),
    [((1, 2, 3, 4), 2), ((4, 3, 2, 1), 2), ((1, 2, 4, 4), 2), ((1, 3, 3, 4), 3), ((2, 3, 4), 3)],
)
def test_of_an_even_number_of_mornings_the_lower_middle_is_the_baseline(
    mornings: tuple[int, ...], baseline: int
) -> None:
    """Practice note 4.4: the median, and for an even number the lower middle value: errs to safety."""
    made = case("RC1", day=20, first=30).mornings(-8, *mornings)
    assert measured(response_of(made), on(-1)) == baseline


def test_one_point_higher_would_hide_a_flare() -> None:
    """4.4 with 4.2: mornings 1, 2, 3, 4, then 4 again: a flare above baseline 2, good above 3."""
    for mornings, klass in (((1, 2, 3, 4), "flare"), ((1, 3, 3, 4), "good")):
        made = case("RC1", day=20, first=30).mornings(-8, *mornings).session(-2, 2, 2, 4)
        assert response_of(made).judged_on(on(-2)).klass == klass


@pytest.mark.parametrize("told", [(2, 3), (3, 2)], ids=["lower first", "higher first"])
def test_of_two_values_told_for_one_morning_the_lower_goes_into_the_baseline(told: tuple[int, int]) -> None:
    """Design of this project: the baseline errs to the lower, a breach is looked for in the higher."""
    made = case("RC1", day=20, first=30).mornings(-8, 2, 3)
    for pain in told:
        made.morning(-6, pain)
    found = response_of(made)
    assert (found.settled_value(on(-6)), found.worst_value(on(-6))) == (2, 3)
    assert measured(found, on(-1)) == 2


@pytest.mark.parametrize(("late", "baseline"), [(3, 2), (4, 3)])
def test_a_lower_value_told_too_late_is_left_out(late: int, baseline: int) -> None:
    """Design of this project: a morning recalled more than 3 days later does not qualify."""
    made = case("RC1", day=20, first=30).mornings(-10, 2, 3).morning(-8, 3)
    made.morning(-8, 2, recorded=-8 + late)
    assert measured(response_of(made), on(-1)) == baseline
