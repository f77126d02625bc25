"""Time in stage: Freireich's two arms as an outside check, and the stays of cases.

Freireich EJ et al., Blood 1963;21:699-716: 42 children in 21 pairs, weeks in remission under 6-MP and under
placebo, as printed in textbooks (Klein and Moeschberger 1997; Collett). The survival and Greenwood columns
are those printed there; R's survival package and lifelines give the same.
"""

from __future__ import annotations

from fractions import Fraction
from statistics import median
from typing import Any

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.duration import Stay, Survival, own_cases, own_stays, stays, survival
from tests.clinic.build import TODAY, Builder, case, rules, waiting

TREATED = (10, 7, 32, 23, 22, 6, 16, 34, 32, 25, 11, 20, 19, 6, 17, 35, 6, 13, 9, 6, 10)
RELAPSED = (1, 1, 0, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0)
PLACEBO = (1, 22, 3, 12, 8, 17, 2, 11, 8, 12, 2, 5, 4, 15, 8, 23, 5, 11, 4, 1, 8)

PAIRS = [(days, bool(ended)) for days, ended in zip(TREATED, RELAPSED, strict=True)]
ALL_ENDED = [(days, True) for days in PLACEBO]


def estimate(pairs: list[tuple[int, bool]]) -> Survival:
    found = survival(pairs)
    assert found is not None
    return found


TREATED_COLUMNS = {
    6: (".8571", ".0764"),
    7: (".8067", ".0869"),
    10: (".7529", ".0963"),
    13: (".6902", ".1068"),
    16: (".6275", ".1141"),
    22: (".5378", ".1282"),
    23: (".4482", ".1346"),
}
PLACEBO_COLUMN = {
    **{1: ".9048", 2: ".8095", 3: ".7619", 4: ".6667", 5: ".5714", 8: ".3810"},
    **{11: ".2857", 12: ".1905", 15: ".1429", 17: ".0952", 22: ".0476", 23: ".0000"},
}


def four(value: Fraction | float) -> str:
    return f"{float(value):.4f}".removeprefix("0")


def test_freireich_survival_and_greenwood_columns():
    found = estimate(PAIRS)
    assert (found.count, found.events, found.longest) == (21, 9, 35)
    printed = {d.days: (four(d.still), four(d.error or 0)) for d in found.drops}
    assert printed == TREATED_COLUMNS


def test_freireich_placebo_column():
    found = estimate(ALL_ENDED)
    assert {d.days: four(d.still) for d in found.drops} == PLACEBO_COLUMN
    assert found.drops[-1].error is None  # nobody is left: it has none, and 0 would look certain


def restricted_mean(found: Survival, horizon: int) -> Fraction:
    """The area under the estimate up to ``horizon``."""
    area, level, last = Fraction(0), Fraction(1), 0
    for drop in (drop for drop in found.drops if drop.days < horizon):
        area += level * (drop.days - last)
        level, last = drop.still, drop.days
    return area + level * (horizon - last)


def test_freireich_medians_and_restricted_means():
    """Medians 23 and 8 weeks; restricted means to 35 weeks 23.29 and 8.67."""
    treated, placebo = estimate(PAIRS), estimate(ALL_ENDED)
    assert (treated.median, placebo.median) == (23, 8)
    assert f"{float(restricted_mean(treated, 35)):.2f}" == "23.29"
    assert f"{float(restricted_mean(placebo, 35)):.2f}" == "8.67"
    plain_mean = Fraction(sum(PLACEBO), 21)  # all ended
    assert restricted_mean(placebo, placebo.longest) == plain_mean


def test_the_wrong_answers_and_the_right_one():
    """Without censoring: finished stays alone give median 10 and mean 12.1, all as if finished give 16."""
    finished = [days for days, ended in PAIRS if ended]
    assert median(finished) == 10
    assert round(sum(finished) / len(finished), 1) == 12.1
    assert median(TREATED) == 16
    assert estimate(PAIRS).median == 23


def test_order_of_the_pairs_is_of_no_account():
    assert estimate(PAIRS[::-1]) == estimate(PAIRS)


def test_a_median_that_is_not_reached_is_never_0_or_blank():
    few = [(5, True), (30, False), (40, False)]
    assert estimate(few).median is None
    assert "median not reached" in own_cases(stays_of(few), 1)
    assert "a median of 23 days" in own_cases(stays_of(PAIRS), 1)


def stays_of(pairs: list[tuple[int, bool]]) -> list[Stay]:
    return [Stay("P", "RC2", days, "forward" if ended else "still there") for days, ended in pairs]


def test_nobody_moved_on():
    found = estimate([(5, False), (30, False)])
    assert (found.drops, found.median, restricted_mean(found, 30)) == ((), None, 30)


def test_nothing_to_estimate_from_and_nothing_below_zero():
    assert survival([]) is None
    with pytest.raises(ValueError, match="below 0 days"):
        survival([(-1, True)])


def test_censored_on_the_day_of_an_event_was_still_there():
    """Two at risk on day 5, one event: half remains."""
    assert estimate([(5, True), (5, False)]).drops[0].still == Fraction(1, 2)


@pytest.mark.parametrize(
    "pairs", [PAIRS, ALL_ENDED, [(3, True), (3, False), (9, False), (12, True), (20, False)]]
)
def test_against_lifelines(pairs: list[tuple[int, bool]]):
    lifelines = pytest.importorskip("lifelines")
    days, ended = zip(*pairs, strict=True)
    theirs = lifelines.KaplanMeierFitter().fit(days, ended)
    ours = estimate(pairs)
    for drop in ours.drops:
        assert float(drop.still) == pytest.approx(theirs.predict(drop.days), abs=1e-12)
    assert (ours.median or float("inf")) == theirs.median_survival_time_
    from lifelines.utils import restricted_mean_survival_time

    area = restricted_mean_survival_time(theirs, t=ours.longest)
    assert float(restricted_mean(ours, ours.longest)) == pytest.approx(area, abs=1e-9)


def test_greenwood_against_lifelines():
    """Its plain variance column is the sum that Greenwood multiplies by the squared share."""
    lifelines = pytest.importorskip("lifelines")
    days, ended = zip(*PAIRS, strict=True)
    theirs = lifelines.KaplanMeierFitter().fit(days, ended)
    for drop in estimate(PAIRS).drops:
        spread = float(theirs._cumulative_sq_.loc[drop.days])
        assert drop.error == pytest.approx(float(drop.still) * spread**0.5, abs=1e-12)


# --- stays of cases -------------------------------------------------------------------------------------


def seen(made: Builder) -> list[tuple[str, int, str]]:
    view = View.of(made.record(), rules(), TODAY)
    return [(stay.stage, stay.days, stay.left) for stay in stays(view)]


def test_a_step_forward_is_the_event_and_the_present_stay_is_not_over():
    made = case("RC2", day=10, first=50)
    assert seen(made) == [("RC1", 40, "forward"), ("RC2", 10, "still there")]


def test_a_step_back_ends_a_stay_without_the_event_and_the_next_one_counts_anew():
    made = case("RC2", day=60, first=80).step(-40, "RC1").step(-30, "RC2")
    assert seen(made) == [
        ("RC1", 20, "forward"),
        ("RC2", 20, "back"),
        ("RC1", 10, "forward"),
        ("RC2", 30, "still there"),
    ]


def test_a_discharge_is_no_event_before_the_last_stage():
    assert seen(case("RC2", day=60).discharge(-20, "goal met")) == [("RC2", 40, "discharged")]


@pytest.mark.parametrize(
    ("outcome", "left"), [("goal met", "forward"), ("self-managing", "forward"), ("moved", "discharged")]
)
def test_the_last_stage_is_finished_by_its_goal(outcome: str, left: str):
    """No step lies behind the last stage: goal met or self-managing is the step forward there."""
    assert seen(case("RC4", day=60).discharge(-20, outcome)) == [("RC4", 40, left)]


def test_another_pathway_ends_a_stay_without_the_event():
    made = case("RC2", day=60).onset(-20, "surgery").step(-20, "PO1", "placing")
    assert seen(made) == [("RC2", 40, "placed elsewhere"), ("PO1", 20, "still there")]


def test_a_hold_does_not_stop_the_days():
    """Days in stage are calendar days everywhere; a hold only hides the reasons that nag."""
    assert seen(case("RC2", day=60).hold(-40, -20)) == [("RC2", 60, "still there")]


def test_a_stage_stepped_through_in_one_day_was_no_stay():
    assert seen(case("RC1", day=30).step(-30, "RC2")) == [("RC2", 30, "still there")]


def test_a_waiting_referral_has_no_stay():
    assert seen(waiting()) == []


def test_a_future_step_does_not_exist_yet():
    view = View.of(case("RC2", day=10, first=50).record(), rules(), TODAY)
    assert [(s.stage, s.days, s.left) for s in stays(view.at(view.today.replace(day=1)))][-1] == (
        "RC2",
        9,
        "still there",
    )


def test_own_stays_leave_the_case_itself_out():
    records = [case("RC2", day=10, first=50, code=f"C-{n}").record() for n in range(3)]
    view = View.of(records[0], rules(), TODAY)
    assert [stay.case for stay in own_stays(records, rules(), view, "RC1")] == ["C-1", "C-2"]


def many(*found: tuple[int, str]) -> list[Stay]:
    return [Stay(f"C-{n}", "RC2", days, left) for n, (days, left) in enumerate(found)]


FORWARD: list[Any] = [(days, "forward") for days in (20, 30, 40, 50, 60)]


def test_own_past_cases_in_words():
    assert (
        own_cases(many(*FORWARD), 5)
        == "own past cases took a median of 40 days in this stage (0 of 5 still there)"
    )
    assert own_cases(many(*FORWARD, (70, "still there"), (35, "back")), 5) == (
        "own past cases took a median of 50 days in this stage (1 of 7 still there, 1 left another way)"
    )


def test_own_past_cases_without_a_median():
    lagging = [(90, "still there")] * 6
    assert own_cases(many(*FORWARD, *lagging), 5) == (
        "own past cases: median not reached, fewer than half moved on in this stage (6 of 11 still there)"
    )


def test_of_too_few_own_cases_nothing_is_said():
    still = [(90, "still there")] * 20
    assert own_cases(many(*FORWARD[:4], *still), 5) == ""
    assert own_cases([], rules()["stays.least"]) == ""
