"""Losing lift or strength (ruling 65, with 94 and 95): what the arm can do, against the best it could."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.clinic.actions.endings import DischargeAsk, discharge
from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.standing.decisions import silences
from armrise.store.record.fields import Absence
from tests.clinic.build import TODAY, Builder, case, codes, on, reason, rules, standing_of
from tests.clinic.build_more import ready_po3

FLEXION, ABDUCTION, PASSIVE = "active_flexion", "active_abduction", "passive_flexion"
ROTATION = "external_rotation_strength"
STRENGTH = [ROTATION, "internal_rotation_strength", "abduction_strength", "flexion_strength"]
LOOK = "can lift to 90 degrees"
FULL = (FLEXION, 150, 100)
"""A loss of lift with passive range kept, as :func:`lost` takes it."""


def lost(
    name: str, before: float, now: float, *, passive: int | None = 165, stage: str = "RC2", **more: Any
) -> Builder:
    """The best value on D-60, then ``now`` yesterday with ``passive`` flexion kept; a case of 100 days."""
    made = case(stage, day=100).measure(-60, name, before)
    if passive is not None:
        made.measure(-60, PASSIVE, passive).measure(-1, PASSIVE, passive)
    return made.measure(-1, name, now, **more)


def kg(before: float, now: float, name: str = ROTATION, unit: str = "kg", **more: Any) -> Builder:
    """Strength on D-60 and yesterday."""
    return (
        case("RC2", day=100).measure(-60, name, before, unit=unit).measure(-1, name, now, unit=unit, **more)
    )


def severity(made: Builder, today: int = 0) -> int:
    """Severity of "losing lift or strength", 0 when it is not live."""
    found = [r for r in standing_of(made, on(today)).reasons if r.code == "FUN"]
    return found[0].severity if found else 0


# --- the worked examples ------------------------------------------------------------------------------------


def test_65_yes_after_a_repair() -> None:
    """PO4 day 150, active 150 -> 60, passive 165."""
    made = case("PO4", day=66, onset=150).measure(-30, FLEXION, 150).measure(-30, PASSIVE, 165)
    made.measure(-1, FLEXION, 60).measure(-1, PASSIVE, 165)
    assert severity(made) == 2
    verdict = standing_of(made).verdict
    assert (verdict.word.value, verdict.line) == (
        "REFER",
        "lift or strength lost after the repair: tell the surgeon",
    )


def moved_on(*, torn: bool = True) -> Builder:
    """A repair of 230 days ago in PO5, filed under cuff-related pain for the last 30 days."""
    made = case("PO5", day=90, onset=230).measure(-60, FLEXION, 150).measure(-60, PASSIVE, 165)
    made.step(-30, "RC3", "placing").screen_all_no(-30)
    return made.measure(-2, FLEXION, 60 if torn else 121).measure(-2, PASSIVE, 165)


def test_65_a_repair_stays_one_in_the_pathway_that_follows() -> None:
    """The safer reading: a re-tear after PO is as urgent in RC, and only telling the surgeon answers it."""
    assert severity(moved_on()) == 2
    assert severity(moved_on(torn=False)) == 0
    assert standing_of(moved_on()).verdict.line == "lift or strength lost after the repair: tell the surgeon"
    assert severity(moved_on().decision(-1, "losing lift or strength")) == 2
    assert severity(moved_on().contact(-1, surgeon_told=True)) == 0


@pytest.mark.parametrize(("anew", "expected"), [(True, 1), (False, 2)])
def test_65_the_repair_of_an_earlier_episode_is_none_of_this_one(anew: bool, expected: int) -> None:
    made = case("PO5", day=160, onset=300, last_visit=None).discharge(-60)
    made.reopen(-40, new_mechanism=anew).visit(-40).step(-40, "RC3", "placing")
    for day, lift in ((-40, 150), (-2, 60)):
        made.measure(day, FLEXION, lift).measure(day, PASSIVE, 165)
    assert severity(made) == expected


def test_65_yes_lift_together_with_strength() -> None:
    """RC3, 165 -> 70, passive 170, 10 -> 3 kg."""
    made = lost(FLEXION, 165, 70, passive=170, stage="RC3")
    made.measure(-60, ROTATION, 10, unit="kg").measure(-1, ROTATION, 3, unit="kg")
    assert severity(made) == 2
    verdict = standing_of(made).verdict
    assert (verdict.word.value, verdict.line) == ("REFER", "lift or strength lost: examine cuff and nerve")


def test_65_yes_cannot_lift_at_the_first_visit() -> None:
    """First visit, active 60, passive 150: b, sev 1."""
    made = case("RC1", day=0, last_visit=None).measure(0, FLEXION, 60).measure(0, PASSIVE, 150)
    assert severity(made) == 1
    verdict = standing_of(made).verdict
    assert verdict.word.value == "NOT YET"
    assert verdict.line.startswith(
        "losing lift or strength: cannot lift to 90 degrees: active flexion 60, passive flexion 150"
    )


def test_65_no_passive_lost_too_is_losing_range() -> None:
    """Active 143 -> 95 with passive 165 -> 117 (passive lost 48, gap 22): that is STF."""
    made = lost(FLEXION, 143, 95, passive=None).measure(-60, PASSIVE, 165).measure(-1, PASSIVE, 117)
    assert severity(made) == 0
    assert "STF" in codes(standing_of(made))


def test_65_no_29_degrees_by_the_same_rater() -> None:
    assert severity(lost(FLEXION, 150, 121)) == 0
    assert severity(lost(FLEXION, 150, 120)) == 1


def test_65_no_frozen_shoulder_cannot_lift() -> None:
    """FS1 active 75, passive 105."""
    made = case("FS1", day=20).measure(-1, FLEXION, 75).measure(-1, PASSIVE, 105)
    assert severity(made) == 0
    assert severity(case("RC1", day=20).measure(-1, FLEXION, 75).measure(-1, PASSIVE, 105)) == 1


def test_65_no_28_per_cent_of_strength() -> None:
    assert severity(kg(10, 7.2)) == 0


def test_94_yes_after_a_fall_the_time_before_it_counts() -> None:
    """Fall D-5, lift 160 -> 100, rotation 10 -> 5 kg at the assessing visit D-3, passive 160: a and c."""
    made = case("RC3", day=60).measure(-40, FLEXION, 160).measure(-40, ROTATION, 10, unit="kg")
    made.measure(-40, PASSIVE, 160).event(-5).visit(-3, injury_assessed=True).screen_all_no(-3)
    made.measure(-3, FLEXION, 100).measure(-3, ROTATION, 5, unit="kg").measure(-3, PASSIVE, 160)
    found = reason(standing_of(made), "FUN")
    assert (found.severity, found.days_open) == (2, 3)
    assert found.sentence == (
        "active flexion 160 to 100 degrees, passive flexion 160; external rotation strength 10 to 5 kg"
    )
    assert standing_of(made).verdict.line == "lift or strength lost after an injury: image the cuff"


# --- cause a: loss of lift ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [FLEXION, ABDUCTION])
@pytest.mark.parametrize(("rater", "now", "expected"), [("TK", 121, 0), ("TK", 120, 1), ("JM", 116, 0)])
def test_65_a_allowance_of_the_rater(name: str, rater: str, now: int, expected: int) -> None:
    assert severity(lost(name, 150, now, rater=rater)) == expected


@pytest.mark.parametrize("rater", ["JM", None])
def test_65_a_of_another_or_unknown_rater(rater: str | None) -> None:
    assert severity(lost(FLEXION, 150, 115, rater=rater)) == 1
    assert severity(lost(FLEXION, 150, 116, rater=rater)) == 0


@pytest.mark.parametrize(
    ("best", "partner", "active", "expected"),
    [
        (165, 151, 105, 1),  # passive 14 below its best
        (165, 150, 105, 0),  # 15 below, gap 45
        (165, 150, 100, 1),  # 15 below, gap 50
        (165, 149, 100, 0),  # 16 below, gap 49
    ],
)
def test_65_a_passive_kept_each_side(best: int, partner: int, active: int, expected: int) -> None:
    made = lost(FLEXION, 150, active, passive=None).measure(-60, PASSIVE, best)
    assert severity(made.measure(-1, PASSIVE, partner)) == expected


def test_65_a_without_a_partner_says_so() -> None:
    """The partner is measured within 14 days of the active value."""
    made = lost(FLEXION, 150, 100, passive=None)
    assert reason(standing_of(made), "FUN").sentence == (
        "active flexion 150 to 100 degrees, passive not measured: measure it"
    )
    assert severity(made.measure(-60, PASSIVE, 165).measure(-16, PASSIVE, 117)) == 1
    assert severity(made.measure(-15, PASSIVE, 118)) == 0


def test_65_a_the_partner_measured_later_decides() -> None:
    """Passive range lost as well: that is losing range, found out some days later."""
    made = case("RC2", day=100).measure(-60, FLEXION, 150).measure(-60, PASSIVE, 165)
    made.measure(-5, FLEXION, 100)
    assert severity(made) == 1
    assert severity(made.measure(-2, PASSIVE, 130)) == 0


def test_65_a_of_two_passive_values_of_a_date_the_one_that_shows_it() -> None:
    """The safer reading: the lower one alone would call it a loss of range, and lift would go unseen."""
    made = lost(FLEXION, 143, 95, passive=165)
    assert severity(made.measure(-1, PASSIVE, 117)) == 1


# --- cause b: cannot lift -----------------------------------------------------------------------------------


def first(active: int, passive: int | None, stage: str = "RC1", **more: Any) -> Builder:
    """Active and passive flexion measured yesterday."""
    made = case(stage, **{"day": 10, **more}).measure(-1, FLEXION, active)
    return made if passive is None else made.measure(-1, PASSIVE, passive)


@pytest.mark.parametrize(
    ("active", "passive", "expected"), [(89, 119, 1), (90, 150, 0), (89, 118, 0), (60, 90, 1)]
)
def test_65_b_each_side(active: int, passive: int, expected: int) -> None:
    assert severity(first(active, passive)) == expected


@pytest.mark.parametrize(("other", "expected"), [(120, 1), (119, 0), (None, 0)])
def test_65_b_without_partner_by_the_other_side(other: int | None, expected: int) -> None:
    made = first(60, None)
    if other is not None:
        made.measure(-30, FLEXION, other, other=True)
    assert severity(made) == expected


@pytest.mark.parametrize(
    ("stage", "day", "onset", "expected"),
    [
        ("OA1", 10, None, 0),
        ("FS2", 10, None, 0),
        ("AD2", 7, 15, 2),  # looked at on day 14
        ("AD2", 7, 14, 0),  # on day 13
        ("PO4", 10, 94, 2),
        ("PO3", 10, 90, 0),
        ("FX4", 1, 85, 2),  # looked at on day 84
        ("FX3", 40, 84, 0),
    ],
)
def test_65_b_from_when(stage: str, day: int, onset: int | None, expected: int) -> None:
    """Counted at the look (ruling 95): what was seen before is looked at again, and is no loss."""
    assert severity(first(60, 150, stage, day=day, onset=onset)) == expected


@pytest.mark.parametrize(("passive", "expected"), [(120, 1), (119, 0), (None, 1)])
def test_95_b_by_the_finding(passive: int | None, expected: int) -> None:
    made = case("RC2", day=40).measure(-20, FLEXION, 150).finding(-3, LOOK, "no")
    if passive is not None:
        made.measure(-3, PASSIVE, passive)
    assert severity(made) == expected


@pytest.mark.parametrize(
    ("stage", "onset", "expected"), [("AD2", 17, 2), ("AD2", 16, 0), ("PO4", 100, 2), ("FX4", 87, 2)]
)
def test_95_b_by_the_finding_from_when(stage: str, onset: int, expected: int) -> None:
    """The look was three days ago."""
    assert severity(case(stage, day=4, onset=onset).finding(-3, LOOK, "no")) == expected


def test_95_b_only_a_clinician_clears_the_finding() -> None:
    made = case("RC2", day=40).finding(-9, LOOK, "no", source="patient reported")
    assert severity(made) == 1
    assert severity(made.finding(-6, LOOK, "yes", source="patient reported")) == 1
    assert severity(made.finding(-5, LOOK, "not asked")) == 1
    assert severity(made.finding(-4, LOOK, "yes")) == 0


def test_95_b_a_newer_value_stands_over_the_finding() -> None:
    made = case("RC2", day=40).finding(-9, LOOK, "no")
    assert severity(made.measure(-9, FLEXION, 140)) == 1  # the worse of one day
    assert severity(made.measure(-8, FLEXION, 140)) == 0


# --- cause c: strength --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", STRENGTH)
def test_65_c_every_strength_test(name: str) -> None:
    assert severity(kg(10, 7, name)) == 1
    assert severity(kg(10, 7.1, name)) == 0


@pytest.mark.parametrize(
    ("before", "now", "rater", "expected"),
    [
        (10, 6, "JM", 1),
        (10, 6.1, "JM", 0),
        (10, 6, None, 1),
        (3, 2, "TK", 1),  # a third, and a kilogram
        (3, 2.1, "TK", 0),
        (2.9, 2, "TK", 0),  # 31 per cent, under a kilogram
    ],
)
def test_65_c_kilograms(before: float, now: float, rater: str | None, expected: int) -> None:
    assert severity(kg(before, now, rater=rater)) == expected


@pytest.mark.parametrize(
    ("unit", "before", "now", "expected"),
    [
        ("percent of other side", 90, 63, 1),
        ("percent of other side", 90, 64, 0),
        ("percent of other side", 1, 0, 1),  # no kilograms, so no least of them
        ("grade 0-5", 5, 3, 1),
        ("grade 0-5", 5, 4, 0),
        ("grade 0-5", 2, 1, 0),
    ],
)
def test_65_c_other_units(unit: str, before: int, now: int, expected: int) -> None:
    assert severity(kg(before, now, unit=unit)) == expected


def test_65_c_reads_one_unit() -> None:
    made = (
        case("RC2", day=100).measure(-60, ROTATION, 10, unit="kg").measure(-1, ROTATION, 3, unit="grade 0-5")
    )
    assert severity(made) == 0


# --- which values -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("why", ["pain", "guarding"])
@pytest.mark.parametrize(("earlier", "value", "expected"), [(-8, 120, 1), (-7, 120, 0), (-8, 121, 0)])
def test_65_limited_by_pain_needs_one_a_week_earlier(
    why: str, earlier: int, value: int, expected: int
) -> None:
    made = case("RC2", day=100).measure(-60, FLEXION, 150).measure(earlier, FLEXION, value, limited_by=why)
    assert severity(made.measure(-1, FLEXION, 118, limited_by=why)) == expected


def test_65_limited_by_pain_the_earlier_one_after_the_best() -> None:
    made = case("RC2", day=100).measure(-60, FLEXION, 150).measure(-40, FLEXION, 110, limited_by="pain")
    made.measure(-20, FLEXION, 150).measure(-1, FLEXION, 110, limited_by="pain")
    assert severity(made) == 0


def test_65_limited_by_something_else_counts() -> None:
    assert severity(lost(*FULL, limited_by="other")) == 1
    assert severity(lost(*FULL, limited_by="pain")) == 0


def test_65_cannot_lift_is_not_cleared_by_a_value_that_pain_limits() -> None:
    made = case("RC1", day=30).measure(-5, FLEXION, 60).measure(-5, PASSIVE, 150)
    assert severity(made.measure(-1, FLEXION, 60, limited_by="pain").measure(-1, PASSIVE, 150)) == 1


def test_65_no_values() -> None:
    made = (
        lost(FLEXION, 150, 150).measure(0, FLEXION, 60, repeated=True).measure(0, FLEXION, Absence.DECLINED)
    )
    assert severity(made.measure(0, FLEXION, 60, other=True)) == 0


def test_65_of_two_values_of_a_date_the_worse() -> None:
    assert severity(lost(*FULL).measure(-1, FLEXION, 149)) == 1


@pytest.mark.parametrize("what", ["surgery", "fracture", "dislocation"])
def test_94_the_best_starts_again(what: str) -> None:
    """The day of it counts: the best of D-60 is of that day, or of the day before."""
    assert severity(lost(*FULL).onset(-60, what)) > 0
    assert severity(lost(*FULL).onset(-59, what)) == 0


def test_94_the_best_does_not_start_again() -> None:
    """At another injury, an event or the visit that assessed it; a dislocation told as an event does."""
    assert severity(lost(*FULL).onset(-59, "other injury")) == 2
    assessed = lost(*FULL).event(-59).visit(-50, injury_assessed=True).screen_all_no(-50)
    assert severity(assessed) == 2
    assert severity(lost(*FULL).event(-59, "dislocation")) == 0
    assert severity(lost(*FULL).event(-59, "slipped out of joint")) == 2


def test_65_the_best_before_the_first_visit_is_no_best() -> None:
    made = case("RC2", day=50).measure(-60, FLEXION, 150).measure(-1, FLEXION, 100)
    assert severity(made) == 0


# --- severity -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("ago", "expected"), [(-183, 2), (-184, 1)])
def test_65_after_an_injury_within_half_a_year(ago: int, expected: int) -> None:
    """Counted to the value, which is of yesterday."""
    made = case("RC2", day=200).measure(-190, FLEXION, 150).measure(-1, FLEXION, 100)
    assert severity(made.onset(ago, "other injury")) == expected


def test_65_measured_again_it_is_no_less_urgent() -> None:
    """The safer reading: the first value lay within half a year of the injury, the newest does not."""
    made = case("RC2", day=200).measure(-195, FLEXION, 150).onset(-190, "other injury")
    assert severity(made.measure(-20, FLEXION, 100).measure(-1, FLEXION, 100)) == 2


def test_65_an_injury_after_the_value_makes_it_no_worse() -> None:
    assert severity(lost(*FULL).event(0)) == 1


def test_65_two_losses_of_lift_are_not_lift_and_strength() -> None:
    made = lost(*FULL).measure(-60, ABDUCTION, 150).measure(-1, ABDUCTION, 100)
    assert severity(made) == 1


# --- how it ends --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("now", "expected"), [(135, 0), (134, 1), (150, 0)])
def test_65_lift_back_within_15_degrees(now: int, expected: int) -> None:
    made = case("RC2", day=100).measure(-60, FLEXION, 150).measure(-20, FLEXION, 100)
    assert severity(made.measure(-1, FLEXION, now)) == expected


@pytest.mark.parametrize(("now", "expected"), [(8.5, 0), (8.4, 1)])
def test_65_strength_back_within_15_per_cent(now: float, expected: int) -> None:
    made = case("RC2", day=100).measure(-60, ROTATION, 10, unit="kg").measure(-20, ROTATION, 5, unit="kg")
    made.measure(-1, ROTATION, now, unit="kg")
    assert severity(made) == expected
    if expected:
        said = "external rotation strength 10 to 5 kg, now 8.4"
        assert reason(standing_of(made), "FUN").sentence == said


def test_65_cannot_lift_no_longer() -> None:
    assert severity(first(60, 150).measure(0, FLEXION, 90).measure(0, PASSIVE, 150)) == 0


@pytest.mark.parametrize("how", ["referral", "decision", "visit"])
def test_65_ends_by_an_entry_about_it(how: str) -> None:
    made = lost(*FULL)
    if how == "visit":
        made.visit(0, decision=True, answers="losing lift or strength")
    else:
        getattr(made, how)(-1, "losing lift or strength")
    assert severity(made) == 0


def test_65_passive_flexion_measured_after_the_answer_is_no_new_loss() -> None:
    """What was answered speaks again once more of it is lost, not because its partner is measured again."""
    made = lost(*FULL).decision(-1, "losing lift or strength").measure(0, PASSIVE, 165)
    assert severity(made) == 0
    assert severity(made.measure(0, FLEXION, 90)) == 0


def test_65_an_entry_before_the_evidence_ends_nothing() -> None:
    made = lost(*FULL).decision(-2, "losing lift or strength").decision(-1, "image cuff")
    assert severity(made.visit(0, decision=True, answers="losing range")) == 1
    late = lost(FLEXION, 150, 150).decision(-1, "losing lift or strength")
    assert severity(late.measure(-1, FLEXION, 100, recorded=0)) == 1


def test_65_after_an_injury_only_the_cuff_answers() -> None:
    made = lost(*FULL).event(-20).visit(-19, injury_assessed=True).screen_all_no(-19)
    assert severity(made.decision(-1, "losing lift or strength")) == 2
    assert severity(made.referral(0, "image cuff")) == 0


@pytest.mark.parametrize(
    ("made", "about", "said"),
    [
        (lost(*FULL), "losing lift or strength", 'ends "losing lift or strength" until more of it is lost'),
        (lost(*FULL).event(-9), "image cuff", 'ends "losing lift or strength" until more of it is lost'),
        (
            lost(*FULL).event(-9),
            "losing lift or strength",
            'is kept on record, ends nothing: record a decision or referral about "image cuff"',
        ),
        (
            case("PO4", day=66, onset=150).measure(-30, FLEXION, 150).measure(-3, FLEXION, 60),
            "losing lift or strength",
            "is kept on record, ends nothing: record that the surgeon was told",
        ),
        (
            lost(FLEXION, 150, 150),
            "losing lift or strength",
            "is kept on record: it is not true on that day, so it answers nothing later",
        ),
    ],
)
def test_65_a_decision_says_what_it_ends(made: Builder, about: str, said: str) -> None:
    assert silences(View.of(made.record(), rules(), TODAY), about, TODAY) == said


@pytest.mark.parametrize("how", ["visit", "contact", "referral"])
def test_65_after_a_repair_only_the_surgeon_told_answers(how: str) -> None:
    """A visit with surgeon told ends it like a contact (ruling 94)."""
    made = case("PO4", day=66, onset=150).measure(-30, FLEXION, 150).measure(-3, FLEXION, 60)
    made.decision(-2, "losing lift or strength").decision(-2, "image cuff").contact(-2)
    made.contact(-4, surgeon_told=True)
    assert severity(made) == 2
    if how == "visit":
        made.visit(-1, surgeon_told=True)
    elif how == "contact":
        made.contact(-1, surgeon_told=True)
    else:
        made.referral(-1, "other", surgeon_told=True)
    assert severity(made) == 0


@pytest.mark.parametrize(("now", "expected"), [(85, 1), (86, 0)])
def test_94_a_further_15_degrees_of_the_answered_value(now: int, expected: int) -> None:
    made = case("RC2", day=100).measure(-60, FLEXION, 170).measure(-20, FLEXION, 100)
    made.decision(-19, "losing lift or strength")
    assert severity(made) == 0
    # Passive near both, so that cause b (under 90) has its gap only for the further loss.
    assert severity(made.measure(-1, FLEXION, now).measure(-1, PASSIVE, 115)) == expected


@pytest.mark.parametrize(
    ("unit", "before", "answered", "now", "expected"),
    [
        ("kg", 20, 10, 8.5, 1),
        ("kg", 20, 10, 8.6, 0),
        ("grade 0-5", 5, 3, 2, 1),  # ruling 94: any further grade
        ("grade 0-5", 5, 3, 3, 0),
    ],
)
def test_94_further_strength(unit: str, before: int, answered: int, now: float, expected: int) -> None:
    made = case("RC2", day=100).measure(-60, ROTATION, before, unit=unit)
    made.measure(-20, ROTATION, answered, unit=unit).decision(-19, "losing lift or strength")
    assert severity(made.measure(-1, ROTATION, now, unit=unit)) == expected


def test_65_what_was_answered_does_not_hide_another_cause() -> None:
    """Lift answered, then strength lost: together they are urgent."""
    made = lost(*FULL).decision(-1, "losing lift or strength")
    made.measure(-60, ROTATION, 10, unit="kg").measure(0, ROTATION, 5, unit="kg")
    assert severity(made) == 2


# --- in hand, on hold, discharge ----------------------------------------------------------------------------


def test_63_growth_is_new_evidence() -> None:
    """A fall before the value told after the answer makes it urgent."""
    made = lost(*FULL).in_hand(-1, "FUN", 10)
    assert reason(standing_of(made), "FUN").in_hand_until == on(10)
    made.event(-10, recorded=0)
    grown = reason(standing_of(made), "FUN")
    assert (grown.in_hand_until, grown.severity) == (None, 2)


def test_63_in_hand_at_most_14_days() -> None:
    made = case("RC2", day=100).measure(-60, FLEXION, 150).measure(-20, FLEXION, 100).in_hand(-13, "FUN", 30)
    assert reason(standing_of(made), "FUN").in_hand_until == on(1)
    assert reason(standing_of(made, on(1)), "FUN").in_hand_until is None


def test_63_a_hold_never_hides_it_and_a_closed_case_does_not_carry_it() -> None:
    assert severity(lost(*FULL).hold(-1, 10)) == 1
    assert severity(lost(*FULL).discharge(0)) == 0


def test_63_where_it_stands() -> None:
    found = reason(standing_of(lost(*FULL)), "FUN")
    assert (found.rank, found.tier, found.days_open, len(found.evidence)) == (5, "harm if left", 1, 3)


def test_68_refer_before_not_yet_in_hand_or_not() -> None:
    """What is in hand still withholds the verdict."""
    standing = standing_of(lost(*FULL).in_hand(0, "FUN", 10))
    assert standing.verdict.word.value == "NOT YET"
    assert standing.verdict.line.startswith("losing lift or strength: active flexion 150 to 100 degrees")


def refused(made: Builder, outcome: str = "goal met") -> str:
    view = View.of(made.record(), rules(), TODAY)
    return discharge(view, DischargeAsk(outcome=outcome, measures="recorded")).refused


@pytest.mark.parametrize(
    ("made", "asked"),
    [
        (lost(*FULL), 'record a decision or referral about "losing lift or strength" first'),
        (lost(*FULL).event(-20).visit(-19, injury_assessed=True), 'about "image cuff" first'),
        (
            case("PO4", day=66, onset=150).measure(-30, FLEXION, 150).measure(-3, FLEXION, 100),
            "record that the surgeon was told first",
        ),
    ],
)
def test_63_no_discharge_while_it_is_unanswered(made: Builder, asked: str) -> None:
    """As with a possible red flag: in hand is no answer, and a death is nobody's decision."""
    assert asked in refused(made.in_hand(0, "FUN", 10))
    assert refused(made, "died") == ""


def test_63_discharge_once_answered() -> None:
    assert refused(lost(*FULL).decision(0, "losing lift or strength")) == ""


def test_65_the_days_it_has_been_true() -> None:
    """Passive flexion measured four days later made it true."""
    made = case("RC1", day=30).measure(-9, FLEXION, 60).measure(-5, PASSIVE, 150)
    assert reason(standing_of(made), "FUN").days_open == 5


def test_65_values_are_read_however_old() -> None:
    """The list reads a window of sessions; it needs no full history for this."""
    record = case("RC2", day=200).measure(-150, FLEXION, 150).measure(-90, FLEXION, 100).record()
    found = power_loss(View.of(replace(record, known_from=on(-20)), rules(), TODAY))
    assert found is not None
    assert found.severity == 1


@given(st.permutations(range(8)))
@settings(max_examples=20, deadline=None)
def test_65_the_order_of_entry_changes_nothing(order: list[int]) -> None:
    values = [
        *((-60, FLEXION, 150), (-20, FLEXION, 100), (-5, FLEXION, 110), (-5, FLEXION, 140)),
        *((-60, PASSIVE, 165), (-18, PASSIVE, 160), (-60, ROTATION, 10), (-10, ROTATION, 6)),
    ]
    made = case("RC2", day=100)
    for at in order:
        day, name, value = values[at]
        made.measure(day, name, value)
    found = reason(standing_of(made), "FUN")
    assert (found.severity, found.days_open) == (2, 20)
    assert found.sentence == (
        "active flexion 150 to 110 degrees, passive flexion 160; external rotation strength 10 to 6 kg"
    )


@pytest.mark.parametrize(
    ("day", "answer", "word"),
    [(-1, "no", Word.UNKNOWN), (-3, "no", Word.UNKNOWN), (-4, "no", Word.READY), (-1, "yes", Word.READY)],
)
def test_65_a_lift_denied_by_a_later_look_opens_no_stage(day: int, answer: str, word: Word) -> None:
    """Cause b begins with PO4; the safer reading in PO3, where flexion 130 of D-3 would open it."""
    verdict = standing_of(ready_po3().finding(day, "can lift to 90 degrees", answer)).verdict
    assert verdict.word is word
    asked = "look again: can lift to 90 degrees" in [block.text for block in verdict.blocks]
    assert asked is (word is Word.UNKNOWN)


DENIED = "cannot lift to 90 degrees, though 130 were measured on Fri 27 Feb: look again"


def denied(**more: Any) -> Builder:
    """Ready in PO3 but for a look of D-2 that denies the flexion 130 of D-3."""
    return ready_po3().finding(-2, "can lift to 90 degrees", "no", **more)


@pytest.mark.parametrize("source", ["clinician measured", "patient reported", "referral letter"])
def test_65_a_lift_denied_is_a_finding_to_act_on_where_it_withholds_ready(source: str) -> None:
    """It lost the case its place among those ready to step forward, and puts it above them."""
    standing = standing_of(denied(source=source))
    found = reason(standing, "FND")
    assert (found.severity, found.sentence, found.days_open) == (1, DENIED, 2)
    assert found.do is not None
    assert (
        found.do.words
        == "bring the review forward (book); look again (review); at a visit today: look again (review)"
    )
    assert standing.placing == found
    assert standing.verdict.line == "look again: can lift to 90 degrees"


@pytest.mark.parametrize(
    "ended",
    [
        denied().measure(-1, FLEXION, 130),
        denied().finding(-1, "can lift to 90 degrees"),
        denied().decision(-2, "image cuff"),
        denied().referral(-1, about="image cuff"),
        ready_po3().finding(-4, "can lift to 90 degrees", "no"),
        ready_po3().finding(-2, "can lift to 90 degrees", "not asked"),
    ],
)
def test_65_a_lift_denied_ends_with_the_withholding(ended: Builder) -> None:
    """By a later value, a "yes" or an entry about the cuff; a look before the value denies nothing."""
    assert codes(standing_of(ended))[0] == "RDY"


@pytest.mark.parametrize(
    "still",
    [
        denied().decision(-1, "losing lift or strength"),
        denied().decision(-3, "image cuff"),
        denied().finding(-1, "can lift to 90 degrees", source="patient reported"),
        denied().measure(-1, FLEXION, 130, source="patient reported"),
    ],
)
def test_65_a_lift_denied_is_ended_by_nothing_else(still: Builder) -> None:
    """Nor by what the patient says can be lifted (ruling 95)."""
    standing = standing_of(still)
    assert (codes(standing)[0], standing.verdict.word) == ("FND", Word.UNKNOWN)


@pytest.mark.parametrize(("lift", "expected"), [(89, False), (90, True)])
def test_65_a_lift_denied_reached_the_figure(lift: int, expected: bool) -> None:
    made = (
        case("PO3", day=43, onset=85).measure(-3, FLEXION, lift).finding(-1, "can lift to 90 degrees", "no")
    )
    assert ("FND" in codes(standing_of(made))) is expected


@pytest.mark.parametrize(("day", "expected"), [(-11, False), (-10, True)])
def test_65_a_lift_before_the_operation_is_not_denied(day: int, expected: bool) -> None:
    """Surgery on D-10: an arm in a sling is not asked to lift, whatever it lifted before."""
    made = case("PO1", day=10, onset=10).measure(day, FLEXION, 130)
    made.finding(-1, "can lift to 90 degrees", "no")
    standing = standing_of(made)
    asked = "look again: can lift to 90 degrees" in [block.text for block in standing.verdict.blocks]
    assert ("FND" in codes(standing), asked) == (expected, expected)


def test_65_a_lift_denied_is_said_once() -> None:
    """Where the look itself is a loss of lift, that speaks."""
    made = case("RC2", day=30).measure(-9, FLEXION, 130).finding(-1, "can lift to 90 degrees", "no")
    assert set(codes(standing_of(made))) & {"FUN", "FND"} == {"FUN"}


def test_63_no_discharge_while_a_lift_is_denied() -> None:
    assert refused(denied()) == (
        f'No discharge while "{DENIED}" is not answered: '
        'record another look, or a decision or referral about "image cuff" first.'
    )
    assert "look again" not in refused(denied().decision(0, "image cuff"))


def test_65_a_decision_about_the_cuff_says_that_it_answers_a_lift_denied() -> None:
    assert silences(View.of(denied().record(), rules(), TODAY), "image cuff", TODAY) == f'answers "{DENIED}"'
