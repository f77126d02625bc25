"""How long a value counts, and minimum days where tissue heals (ruling 87). Both sides of each boundary."""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.staleness import fresh_days
from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.view import View
from tests.clinic.build import TODAY, Builder, case, codes, rules, standing_of
from tests.clinic.build_more import criterion, ready_ad1, ready_fs1, ready_po3, ready_rc1


def fresh(stage: str, measure: str) -> int:
    """For how many days a value of ``measure`` counts in ``stage``."""
    return fresh_days(View.of(case(stage, day=20).record(), rules(), TODAY), measure)


# --- how long a value counts -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "days"),
    [
        *[("RC1", 21), ("RC2", 28), ("RC3", 35), ("FS2", 35), ("FS3", 42), ("OA3", 42)],
        *[("PO2", 21), ("PO3", 21), ("AD4", 35), ("FX1", 21)],
    ],
)
@pytest.mark.parametrize("measure", ["worst_pain", "rest_pain", "night_pain", "night_waking"])
def test_87_how_long_pain_counts(stage: str, days: int, measure: str) -> None:
    """RC1 21, RC2 28, RC3 and FS2 35, FS3 and OA3 42 days: 14, or the interval and 7, at most 42."""
    assert fresh(stage, measure) == days


@pytest.mark.parametrize(
    ("stage", "measure", "days"),
    [
        *[("RC1", "active_flexion", 28), ("RC2", "active_flexion", 35), ("RC3", "passive_flexion", 42)],
        *[("FS3", "passive_external_rotation", 56), ("OA3", "active_flexion", 70)],
        *[("RC1", "external_rotation_strength", 42), ("RC3", "external_rotation_strength", 42)],
        *[("FS3", "external_rotation_strength", 56), ("OA3", "external_rotation_strength", 70)],
        *[("OA3", "adherence", 14), ("OA3", "worry_about_movement", 42)],
    ],
)
def test_87_how_long_range_and_strength_count(stage: str, measure: str, days: int) -> None:
    """Range 28, +14, 70; strength 42, +14, 84; what has no figure for the interval counts its days alone."""
    assert fresh(stage, measure) == days


@pytest.mark.parametrize(("ago", "state"), [(21, Truth.MET), (22, Truth.UNKNOWN)])
def test_87_a_pain_criterion_asks_for_a_fresh_value(ago: int, state: Truth) -> None:
    """RC1: 21 days."""
    made = ready_rc1(day=60, night=False).measure(-ago - 9, "night_pain", 2).measure(-ago, "night_pain", 2)
    assert criterion(standing_of(made), "night pain").state is state


@pytest.mark.parametrize(("ago", "state"), [(28, Truth.MET), (29, Truth.UNKNOWN)])
def test_87_in_frozen_shoulder_pain_counts_a_week_longer_than_the_interval(ago: int, state: Truth) -> None:
    made = ready_fs1(rest=False).measure(-ago - 9, "rest_pain", 2).measure(-ago, "rest_pain", 2)
    assert criterion(standing_of(made), "rest pain").state is state


@pytest.mark.parametrize(("ago", "state"), [(21, Truth.MET), (22, Truth.UNKNOWN)])
def test_87_pain_during_goes_stale_like_pain_that_is_asked_for(ago: int, state: Truth) -> None:
    """PO3 reads the pain window (ruling 94)."""
    made = case("PO3", day=43, onset=85).session(-ago, 3, 2, 2)
    assert criterion(standing_of(made), "pain during").state is state


@pytest.mark.parametrize(("ago", "live"), [(21, True), (22, False)])
def test_87_more_waking_is_a_flare_until_it_is_stale(ago: int, live: bool) -> None:
    made = case("RC1", day=60).measure(-ago - 7, "night_waking", 1).measure(-ago, "night_waking", 5)
    assert ("FLA" in codes(standing_of(made))) is live


# --- minimum days by healing time ------------------------------------------------------------------------


def least(made: Builder) -> CriterionResult:
    """The criterion on minimum days."""
    return criterion(standing_of(made), "at least", "days", "in stage")


def test_87_met_in_po3_entered_on_day_60() -> None:
    """*Met*: PO3 entered day 60, day 84: 42 since day 42, 24 in the stage."""
    found = least(ready_po3(day=24, onset=84))
    assert found.state is Truth.MET
    assert found.text == "at least 42 days by healing time, 14 in stage"
    assert found.observed == "day 24, day 42 by healing time"


def test_87_not_met_in_po3_entered_on_day_75() -> None:
    """*Not*: PO3 entered day 75, day 84: 9 days in the stage."""
    found = least(ready_po3(day=9, onset=84))
    assert found.state is Truth.NOT_MET
    assert "day 9, day 42 by healing time, opens on day 14" in found.observed
    assert found.opens_on is not None
    assert (found.opens_on - TODAY).days == 5


@pytest.mark.parametrize(
    ("day", "onset", "met"),
    [
        *[(14, 84, True), (13, 84, False)],  # in the stage
        *[(24, 84, True), (24, 83, False)],  # since it opened
    ],
)
def test_87_both_counts_of_po3(day: int, onset: int, met: bool) -> None:
    assert (least(ready_po3(day=day, onset=onset)).state is Truth.MET) is met


@pytest.mark.parametrize(("onset", "met"), [(98, True), (97, False)])
def test_87_a_large_tear_opens_the_stage_later(onset: int, met: bool) -> None:
    """PO3 opens on day 56 then: 42 days are over on day 98."""
    made = ready_po3(day=20, onset=onset).finding(-19, "large tear or poor tissue")
    assert (least(made).state is Truth.MET) is met


@pytest.mark.parametrize(("opened", "met"), [(42, True), (41, False)])
def test_87_orders_say_when_the_stage_opens(opened: int, met: bool) -> None:
    made = ready_po3(day=20, onset=120).orders(-100, stage3_from=-opened)
    assert (least(made).state is Truth.MET) is met


@pytest.mark.parametrize(("day", "met"), [(42, True), (41, False)])
def test_87_entered_before_it_opened_the_days_count_from_the_step(day: int, met: bool) -> None:
    found = least(ready_po3(day=day, onset=day + 35))
    assert (found.state is Truth.MET) is met
    assert "at least 42 days in stage" in found.text


@pytest.mark.parametrize(("day", "met"), [(7, True), (6, False)])
def test_87_a_minimum_shorter_than_14_days_is_served_in_the_stage(day: int, met: bool) -> None:
    """AD1 asks 7 days: entered late it asks them all the same, and there is nothing more to say."""
    assert rules().pathways["AD"].stages[0].minimum.whole == 7
    found = least(ready_ad1(day=day, onset=40))
    assert (found.state is Truth.MET) is met
    assert (found.text, found.needed) == ("at least 7 days in stage", "7 days")


@pytest.mark.parametrize("stage", ["FX3", "AD3"])
def test_87_so_in_fractures_and_dislocations(stage: str) -> None:
    """28 and 42 days, opened on day 42: entered on day 75, on day 89 both counts are long enough."""
    assert least(case(stage, day=14, onset=89)).state is Truth.MET
    assert least(case(stage, day=13, onset=89)).state is Truth.NOT_MET


@pytest.mark.parametrize(("again", "met"), [(14, True), (13, False)])
def test_87_after_a_long_step_back_the_days_in_the_stage_begin_anew(again: int, met: bool) -> None:
    """PO3 from day 45, four weeks in PO2, PO3 again: healing went on all the time."""
    made = case("PO3", day=75, onset=120)
    made.step(-again - 28, "PO2").step(-again, "PO3")
    assert (least(made).state is Truth.MET) is met


def test_87_without_a_surgery_date_the_days_count_from_the_step() -> None:
    assert least(ready_po3(day=20, onset=-1)).state is Truth.NOT_MET


def test_87_elsewhere_the_days_count_from_the_step() -> None:
    """RC2 asks 14 days in the stage, however long ago it began."""
    days = rules().pathways["RC"].stages[1].minimum.whole
    assert least(case("RC2", day=days, first=200)).state is Truth.MET
    assert least(case("RC2", day=days - 1, first=200)).state is Truth.NOT_MET


@pytest.mark.parametrize(("again", "met"), [(14, True), (13, False)])
def test_87_after_a_short_step_back_healing_time_asks_its_days_of_the_present_stay(
    again: int, met: bool
) -> None:
    """PO3 for ten days, PO2 for five, PO3 again: what was stepped back from is tried anew."""
    made = case("PO3", day=15 + again, onset=89 + again)
    made.step(-5 - again, "PO2").step(-again, "PO3")
    assert (least(made).state is Truth.MET) is met


@pytest.mark.parametrize(("before", "met"), [(38, True), (37, False)])
def test_87_after_a_short_step_back_the_whole_minimum_may_be_served_in_two_stays(
    before: int, met: bool
) -> None:
    """4.11: 42 days in PO3 in all, four of them since a step back of five days."""
    made = case("PO3", day=before + 9, onset=before + 51)
    made.step(-9, "PO2").step(-4, "PO3")
    assert (least(made).state is Truth.MET) is met
