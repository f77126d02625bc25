"""Range (ruling 86): half of the other side, stiffness after a repair, range not measured."""

from __future__ import annotations

from dataclasses import replace

import pytest

from armrise.store.rules.rows import rows
from tests.clinic.build import Builder, case, codes, reason, rules, standing_of

ROTATION, FLEXION, ABDUCTION = "passive_external_rotation", "passive_flexion", "passive_abduction"


def sentences(made: Builder, code: str) -> str:
    """The sentence of the live reasons with this inside code."""
    return "; ".join(r.sentence for r in standing_of(made).reasons if r.code == code)


# --- half of the other side ------------------------------------------------------------------------------


def test_86_its_sentence() -> None:
    """It begins "range under half of the other side" and does not say "losing"."""
    said = sentences(case("RC2", day=20).both(-1, ROTATION, 29, 60), "STF")
    assert said.startswith("range under half of the other side: passive external rotation at side 29")
    assert "losing" not in said


@pytest.mark.parametrize(("ago", "live"), [(42, True), (43, False)])
def test_86_half_of_the_other_side_counts_42_days(ago: int, live: bool) -> None:
    made = case("RC2", day=60, last_visit=1).both(-ago, ROTATION, 29, 60)
    assert ("range under half" in sentences(made, "STF")) is live


def test_86_an_old_value_of_the_other_side_still_judges() -> None:
    """The newest value of the affected side has to be fresh; the other side is no newer for it."""
    made = case("RC2", day=90).measure(-89, ROTATION, 60, other=True).measure(-1, ROTATION, 29)
    assert "range under half" in sentences(made, "STF")


@pytest.mark.parametrize(("stage", "onset"), [("PO3", 84), ("PO4", 150), ("FX2", 42), ("FX4", 200)])
def test_86_never_after_a_repair_or_a_fracture(stage: str, onset: int) -> None:
    """Rotation 31 of 65: under half, and not stiff after a repair."""
    made = case(stage, day=5, first=30, onset=onset).both(-1, ROTATION, 31, 65)
    assert "STF" not in codes(standing_of(made.measure(-1, FLEXION, 145)))


@pytest.mark.parametrize(("onset", "live"), [(83, False), (84, True)])
def test_86_a_rule_file_may_still_say_from_which_day(onset: int, live: bool) -> None:
    """A clinic's own files from before keep what they say (ruling 93)."""
    after = rules().pathways["PO"]
    own = replace(after, half_rule="from day", half_rule_from_day=after.stiffness_judged_day)
    using = replace(rules(), pathways={**rules().pathways, "PO": own})
    made = case("PO3", day=30, onset=onset).both(-1, ROTATION, 31, 65)
    assert ("STF" in codes(standing_of(made, using=using))) is live


def test_86_no_after_a_repair_rotation_36_of_76() -> None:
    """*No*: PO rotation 28 -> 36, other 76, day 90, flexion 145: none."""
    made = case("PO4", day=6, onset=90).measure(-12, ROTATION, 28).both(0, ROTATION, 36, 76)
    assert "STF" not in codes(standing_of(made.measure(0, FLEXION, 145)))


# --- after a repair, after a fracture --------------------------------------------------------------------


def test_86_stiff_after_a_repair() -> None:
    """*Yes*: PO, 95/10 on day 82, 98/12 on day 106, today day 106: STF 2."""
    made = case("PO4", day=22, onset=106)
    for day, flexion, rotation in ((82, 95, 10), (106, 98, 12)):
        made.measure(day - 106, FLEXION, flexion).measure(day - 106, ROTATION, rotation)
    assert reason(standing_of(made), "STF").severity == 2


@pytest.mark.parametrize(("flexion", "rotation"), [(120, 12), (98, 30)])
def test_86_each_plane_is_judged_for_itself(flexion: int, rotation: int) -> None:
    """At 120 or 30 one plane has reached its figure; the other one has not."""
    made = case("PO4", day=22, onset=106).measure(-1, FLEXION, flexion).measure(-1, ROTATION, rotation)
    assert reason(standing_of(made), "STF").severity == 2
    both = case("PO4", day=22, onset=106).measure(-1, FLEXION, 120).measure(-1, ROTATION, 30)
    assert "STF" not in codes(standing_of(both))


def test_86_stiffness_has_no_last_day() -> None:
    made = case("PO5", day=60, onset=200, first=190).measure(-1, FLEXION, 110)
    assert "post-operative stiffness" in sentences(made, "STF")


def test_86_no_reading_of_day_4_at_day_84() -> None:
    """*No*: a reading of day 4 after surgery at day 84."""
    assert "STF" not in codes(standing_of(case("PO4", day=0, onset=84).measure(-80, FLEXION, 60)))


@pytest.mark.parametrize(("best_on", "live"), [(41, False), (42, True)])
def test_86_after_a_fracture_the_own_best_counts_from_day_42(best_on: int, live: bool) -> None:
    """FX3 on day 80: flexion 150, then 118 by the same rater: twice the allowance, against its own best."""
    made = case("FX3", day=38, onset=80, first=79).measure(best_on - 80, FLEXION, 150)
    assert ("STF" in codes(standing_of(made.measure(-1, FLEXION, 118)))) is live


def test_86_after_a_fracture_there_is_no_figure() -> None:
    made = case("FX3", day=38, onset=80, first=79).measure(-1, FLEXION, 60).measure(-1, ROTATION, 0)
    assert "STF" not in codes(standing_of(made))


# --- what the allowances rest on -------------------------------------------------------------------------


def test_86_the_allowances_of_one_rater_are_design_and_cite_no_larger_error() -> None:
    for name, degrees in (("same_watch", 10), ("same_act", 15)):
        figure = rules().figures[f"drift.{name}"]
        assert (figure.whole, figure.status) == (degrees, "design")
        assert "8 to 9 degrees" in figure.source
        assert "Kolber 2011" in figure.source
    assert not [row for row in rows(rules()) if "Hayes" in row.source]


# --- range not measured ----------------------------------------------------------------------------------


def unmeasured(stage: str, ago: int | None, name: str = ROTATION, **more: int) -> Builder:
    """A case of 60 days whose newest passive value was measured so many days ago."""
    made = case(stage, **{"day": 60, **more})
    return made if ago is None else made.measure(-ago, name, 60)


def test_86_range_not_measured() -> None:
    """*Yes*: RC1, interval 14, last rotation D-28: NRM. Severity is the days since the value (ruling 94)."""
    found = reason(standing_of(unmeasured("RC1", 28)), "NRM")
    assert found.sentence == "range not measured for 28 days"
    assert (found.rank, found.tier, found.severity, found.days_open) == (22, "move on", 28, 0)
    assert found.name == "range not measured"


def test_86_open_since_the_threshold() -> None:
    found = reason(standing_of(unmeasured("RC1", 33)), "NRM")
    assert (found.severity, found.days_open) == (33, 5)


@pytest.mark.parametrize(
    ("stage", "onset", "interval"),
    [
        *[("RC1", None, 14), ("FS1", None, 21), ("FS2", None, 28)],
        *[("PO2", 80, 14), ("PO3", 110, 14), ("OA1", None, 21)],
    ],
)
def test_86_two_review_intervals_of_the_stage(stage: str, onset: int | None, interval: int) -> None:
    at = {} if onset is None else {"onset": onset}
    assert "NRM" in codes(standing_of(unmeasured(stage, 2 * interval, **at)))
    assert "NRM" not in codes(standing_of(unmeasured(stage, 2 * interval - 1, **at)))


@pytest.mark.parametrize("stage", ["RC2", "FS3", "OA2", "AD2", "FX2", "PO4"])
def test_86_other_stages_do_not_ask(stage: str) -> None:
    assert "NRM" not in codes(standing_of(case(stage, day=100)))


@pytest.mark.parametrize("name", [FLEXION, ABDUCTION])
def test_86_any_plane_will_do(name: str) -> None:
    assert "NRM" in codes(standing_of(unmeasured("RC1", 40)))
    assert "NRM" not in codes(standing_of(unmeasured("RC1", 40).measure(-5, name, 90)))


@pytest.mark.parametrize("more", [{"repeated": True}, {"other": True}])
def test_86_only_a_real_value_of_this_side(more: dict[str, bool]) -> None:
    assert "NRM" in codes(standing_of(unmeasured("RC1", 40).measure(-5, ROTATION, 60, **more)))


def test_86_active_range_is_not_passive_range() -> None:
    assert "NRM" in codes(standing_of(unmeasured("RC1", 40).measure(-5, "active_flexion", 120)))


@pytest.mark.parametrize(("day", "live"), [(28, True), (27, False)])
def test_86_never_measured_counts_from_the_first_visit(day: int, live: bool) -> None:
    assert ("NRM" in codes(standing_of(case("RC1", day=day)))) is live


@pytest.mark.parametrize(("day", "live"), [(28, True), (27, False)])
def test_86_after_surgery_from_the_first_day_of_the_stage(day: int, live: bool) -> None:
    """First visit 40 days ago in PO1, where nothing is measured."""
    assert ("NRM" in codes(standing_of(case("PO2", day=day, first=40, onset=42)))) is live


@pytest.mark.parametrize(("day", "live"), [(28, True), (27, False)])
def test_86_what_was_measured_before_the_surgery_is_none(day: int, live: bool) -> None:
    """The stiff shoulder of before the repair was another tissue: nothing was measured since."""
    made = case("RC2", day=70).measure(-65, ROTATION, 40).onset(-42, "surgery").orders(-42)
    assert ("NRM" in codes(standing_of(made.step(-40, "PO1").step(-day, "PO2")))) is live


def test_86_a_hold_hides_it_and_in_hand_dims_it() -> None:
    assert "NRM" not in codes(standing_of(unmeasured("RC1", 40).hold(-1, 10)))
    assert reason(standing_of(unmeasured("RC1", 40).in_hand(-1, "NRM", 5)), "NRM").in_hand


def test_86_a_closed_case_does_not_carry_it() -> None:
    closed = unmeasured("RC1", 40).discharge(-1)
    assert "NRM" not in codes(standing_of(closed))
