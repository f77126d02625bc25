"""Triggers: findings decide (ruling 66, with 94 and 95). Each row of the table, both sides of each day."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from armrise.store.clinic.actions.endings import DischargeAsk, discharge
from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.decisions import silences
from armrise.store.rules.figure import Figure
from armrise.store.rules.pathway import Rules
from armrise.store.rules.tiers import TIERS
from tests.clinic.build import TODAY, Builder, case, codes, on, reason, rules, standing_of
from tests.clinic.build_more import ready_ad1, ready_fx1, ready_po3, ready_rc1, ready_rc2, word

LOOK, BADGE, DELTOID = "can lift to 90 degrees", "badge sensation lost", "deltoid contracts"
DRY, PIECE, WEAK = "wound dry", "moves as one piece", "weakness after injury"
BONY, SECOND = "bony lesion on imaging", "second dislocation"
FLEXION, PASSIVE = "active_flexion", "passive_flexion"
PATIENT: dict[str, Any] = {"source": "patient reported"}


def injured(fall: int = 20, stage: str = "RC2", **more: Any) -> Builder:
    """A case of 60 days that fell ``fall`` days ago, assessed and screened the day after."""
    made = case(stage, day=60, **more).event(-fall).visit(1 - fall, injury_assessed=True)
    return made.screen_all_no(1 - fall)


def after(stage: str, days: int, **more: Any) -> Builder:
    """A case in the first days after its surgery, dislocation or fracture, seen first on day 0."""
    return case(stage, day=days, onset=days, **more)


def severity(made: Builder, code: str = "FND", today: int = 0) -> int:
    """Severity of a reason, 0 when it is not live."""
    found = [r for r in standing_of(made, on(today)).reasons if r.code == code]
    return found[0].severity if found else 0


def blocks(standing: Standing) -> list[str]:
    return [block.text for block in standing.verdict.blocks]


def referred(made: Builder) -> str:
    """What the verdict refers for, empty when it does not."""
    verdict = standing_of(made).verdict
    return verdict.rule if verdict.word is Word.REFER else ""


# --- the worked examples ------------------------------------------------------------------------------------


def test_66_yes_a_fall_20_days_ago_and_no_lift() -> None:
    """RC, fall 20 days ago, active 45, passive 165: FND 2 and REFER."""
    made = injured(20).measure(-1, FLEXION, 45).measure(-1, PASSIVE, 165)
    found = standing_of(made)
    said = "cannot lift to 90 degrees 20 days after the injury: image the cuff"
    assert reason(found, "FND").severity == 2
    assert (found.verdict.word, found.verdict.line, found.verdict.rule) == (Word.REFER, said, "image cuff")
    assert (reason(found, "FND").sentence, reason(found, "FND").days_open) == (said, 1)


def test_66_yes_a_wound_not_dry_and_not_looked_at_since() -> None:
    """PO day 18, wound dry no at day 12, not looked at since: RED 3."""
    found = standing_of(after("PO1", 18).finding(-6, DRY, "no"))
    red = reason(found, "RED")
    assert red.severity == 3
    assert red.sentence == (
        "wound not dry (wound discharge or fever after surgery), found 6 days ago: same day"
    )
    assert red.days_open == 4  # since day 14
    assert found.verdict.word is Word.REFER


def test_66_yes_badge_lost_at_any_age() -> None:
    """AD day 17, age 30s, badge lost: FND, not READY."""
    made = after("AD1", 17, age_band="30s").finding(-1, BADGE, "yes")
    found = standing_of(made)
    assert reason(found, "FND").severity == 2
    assert found.verdict.word is Word.NOT_YET
    assert found.verdict.line.startswith("finding to act on: feeling over the badge area lost")


def test_66_no_a_fall_13_days_ago() -> None:
    """Fall 13 days ago, active 45: no FND (FUN b may speak)."""
    made = injured(13).measure(0, FLEXION, 45).measure(0, PASSIVE, 165)
    assert severity(made) == 0
    assert severity(made, "FUN") > 0


def test_66_no_a_wound_not_dry_on_day_6() -> None:
    made = after("PO1", 6).finding(-1, DRY, "no")
    assert (severity(made), severity(made, "RED")) == (0, 0)


def test_66_no_badge_lost_with_a_nerve_referral() -> None:
    """AD day 25 badge lost, nerve referral day 22."""
    made = after("AD1", 25).finding(-8, BADGE, "yes").referral(-3, "nerve")
    assert severity(made) == 0
    assert referred(made) == ""


# --- the table: badge, deltoid, nerve -----------------------------------------------------------------------

LOST = [(BADGE, "yes"), (DELTOID, "no")]


@pytest.mark.parametrize(("finding", "answer"), LOST)
@pytest.mark.parametrize(
    ("stage", "day", "expected"),
    [("AD1", 0, 2), ("FX1", 0, 2), ("PO1", 1, 0), ("PO1", 2, 2)],  # PO: a nerve block wears off
)
def test_66_badge_and_deltoid_from_day(
    stage: str, day: int, expected: int, finding: str, answer: str
) -> None:
    made = after(stage, day, last_visit=None).finding(0, finding, answer)
    assert severity(made) == expected
    assert severity(after(stage, 30).finding(-1, finding, "no" if answer == "yes" else "yes")) == 0


def test_66_the_nerve_block_of_day_0_speaks_from_day_2() -> None:
    """Counted at the clinic date, not at the finding."""
    assert severity(after("PO1", 5).finding(-5, BADGE, "yes")) == 2


@pytest.mark.parametrize(("finding", "answer"), LOST)
@pytest.mark.parametrize("stage", ["AD1", "FX1"])
@pytest.mark.parametrize(("day", "rule"), [(20, ""), (21, "nerve")])
def test_66_nerve_referral_from_day_21(stage: str, day: int, rule: str, finding: str, answer: str) -> None:
    """Seen on day 3: Visser 1999, nerve test after 3 weeks."""
    assert referred(after(stage, day).finding(3 - day, finding, answer)) == rule


def test_66_after_a_repair_no_nerve_trigger() -> None:
    assert referred(after("PO2", 30).finding(-5, BADGE, "yes")) == ""


def test_66_nerve_by_a_nerve_referral_only() -> None:
    """A decision, and the surgeon told, answer the badge and leave the nerve."""
    made = after("AD1", 25).finding(-8, BADGE, "yes").decision(-1, "nerve").contact(-1, surgeon_told=True)
    assert (severity(made), referred(made)) == (2, "nerve")
    assert reason(standing_of(made), "FND").sentence == "nerve not seen recovered at 3 weeks: nerve referral"


def test_66_a_referral_counts_from_the_day_of_the_finding() -> None:
    """Found on day 3, referred the same day or day 10; true only from day 21. Referred before: no answer."""
    for day, rule in ((-22, ""), (-15, ""), (-23, "nerve")):
        made = after("AD1", 25).finding(-22, BADGE, "yes").referral(day, "nerve")
        assert referred(made) == rule, day


def test_66_each_finding_of_the_nerve_is_cleared_by_its_own_look() -> None:
    made = after("AD1", 25).finding(-8, BADGE, "yes").finding(-8, DELTOID, "no").finding(-1, BADGE, "no")
    assert referred(made) == "nerve"
    assert referred(made.finding(-1, DELTOID, "yes")) == ""


@pytest.mark.parametrize("how", ["decision", "referral", "visit", "contact", "referral told"])
def test_66_badge_by_an_entry_about_the_nerve_or_the_surgeon_told(how: str) -> None:
    made = after("AD1", 17).finding(-2, BADGE, "yes")
    entries = {
        "decision": lambda: made.decision(-1, "nerve"),
        "referral": lambda: made.referral(-1, "nerve"),
        "visit": lambda: made.visit(-1, decision=True, answers="nerve"),
        "contact": lambda: made.contact(-1, surgeon_told=True),
        "referral told": lambda: made.referral(-1, "other", surgeon_told=True),
    }
    assert severity(made) == 2
    entries[how]()
    assert severity(made) == 0


def test_66_an_entry_about_something_else_answers_nothing() -> None:
    made = after("AD1", 17).finding(-2, BADGE, "yes").decision(-1, "image cuff").visit(-1, decision=True)
    assert severity(made.contact(-1)) == 2


# --- the table: new numbness --------------------------------------------------------------------------------


@pytest.mark.parametrize(("finding", "answer"), LOST)
@pytest.mark.parametrize("stage", ["RC2", "FS1", "OA1", "PO3", "AD2", "FX2"])
def test_66_new_numbness_is_red(stage: str, finding: str, answer: str) -> None:
    """The opposite first, in every pathway."""
    before = "no" if answer == "yes" else "yes"
    made = case(stage, day=30).finding(-20, finding, before).finding(-2, finding, answer)
    red = reason(standing_of(made), "RED")
    assert red.severity == 3
    assert "motor or sensory loss" in red.sentence


def test_66_without_the_opposite_it_is_no_new_numbness() -> None:
    assert severity(case("RC2", day=30).finding(-2, BADGE, "yes"), "RED") == 0


def test_66_the_opposite_afterwards_is_no_change() -> None:
    made = case("AD2", day=20, onset=30).finding(-20, BADGE, "yes").finding(-2, BADGE, "no")
    assert (severity(made, "RED"), severity(made)) == (0, 0)


@pytest.mark.parametrize(("seen", "expected"), [(-31, 0), (-30, 3)])
def test_94_new_numbness_compares_since_the_own_onset(seen: int, expected: int) -> None:
    made = case("AD2", day=20, onset=30).finding(seen, BADGE, "no").finding(-2, BADGE, "yes")
    assert severity(made, "RED") == expected


def test_94_new_numbness_never_compares_with_a_later_event() -> None:
    made = case("AD2", day=20, onset=30).finding(-28, BADGE, "no").event(-10).finding(-2, BADGE, "yes")
    assert severity(made, "RED") == 3


@pytest.mark.parametrize(("seen", "expected"), [(-31, 0), (-30, 3)])
def test_94_without_an_onset_since_the_first_visit(seen: int, expected: int) -> None:
    made = case("RC2", day=30).finding(seen, BADGE, "no").finding(-2, BADGE, "yes")
    assert severity(made, "RED") == expected


def test_66_only_the_outcome_of_the_flag_ends_red_and_a_later_finding_opens_it_again() -> None:
    made = case("RC2", day=30).finding(-20, BADGE, "no").finding(-6, BADGE, "yes")
    made.finding(-5, BADGE, "no").decision(-5, "nerve").referral(-5, "nerve").screen_all_no(-5)
    assert severity(made, "RED") == 3
    made.flag_outcome(-4, "wound discharge or fever after surgery")
    assert severity(made, "RED") == 3
    made.flag_outcome(-4, "motor or sensory loss")
    assert severity(made, "RED") == 0
    assert severity(made.finding(-1, BADGE, "yes"), "RED") == 3


# --- the table: wound ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seen", "day", "finding", "red"),
    [
        (5, 6, 0, 0),
        (5, 7, 2, 0),  # from day 7, wherever it was seen
        (6, 13, 2, 0),
        (6, 14, 2, 0),  # seen before day 7 it stays FND
        (6, 60, 2, 0),  # and never becomes RED by the calendar
        (7, 13, 2, 0),
        (7, 14, 2, 3),
        (14, 14, 2, 3),
        (20, 20, 2, 3),
    ],
)
def test_66_wound(seen: int, day: int, finding: int, red: int) -> None:
    made = after("PO1", day).finding(seen - day, DRY, "no")
    assert (severity(made), severity(made, "RED")) == (finding, red)


def test_66_wound_early_ends_by_the_surgeon_told_or_another_look() -> None:
    told = after("PO1", 12).finding(-3, DRY, "no").contact(-2, surgeon_told=True)
    dry = after("PO1", 12).finding(-3, DRY, "no").finding(-2, DRY, "yes")
    assert severity(told) == severity(dry) == 0
    assert severity(after("PO1", 12).finding(-3, DRY, "no").contact(-2)) == 2


def test_66_an_answer_before_it_came_true_is_none() -> None:
    """Seen on day 5, true from day 7: told on day 6 by a call nothing, by a referral; on day 7 by both."""
    made = after("PO1", 8).finding(-3, DRY, "no")
    assert severity(made.contact(-2, surgeon_told=True)) == 2
    assert severity(made.referral(-2, "other", surgeon_told=True)) == 0
    assert severity(after("PO1", 8).finding(-3, DRY, "no").contact(-1, surgeon_told=True)) == 0


def test_66_a_wound_seen_dry_before_day_14_is_no_red() -> None:
    assert severity(after("PO1", 18).finding(-8, DRY, "no").finding(-5, DRY, "yes"), "RED") == 0
    assert severity(after("PO1", 18).finding(-8, DRY, "no").finding(-3, DRY, "yes"), "RED") == 3


# --- the table: one piece, bony, weak -----------------------------------------------------------------------


@pytest.mark.parametrize(("day", "expected"), [(13, 0), (14, 2)])
def test_66_one_piece_from_day_14(day: int, expected: int) -> None:
    made = after("FX1", day).finding(-1, PIECE, "no")
    assert severity(made) == expected
    assert severity(after("PO1", day).finding(-1, PIECE, "no")) == 0


def test_66_one_piece_is_answered_by_bony_the_surgeon_or_a_look() -> None:
    for answer in (
        lambda made: made.decision(0, "bony"),
        lambda made: made.contact(0, surgeon_told=True),
        lambda made: made.finding(0, PIECE, "yes"),
    ):
        made = after("FX1", 20).finding(-1, PIECE, "no")
        assert severity(made) == 2
        assert severity(answer(made)) == 0


@pytest.mark.parametrize(("stage", "rule"), [("AD1", "bony"), ("FX1", "bony"), ("PO1", ""), ("RC2", "")])
def test_66_bony(stage: str, rule: str) -> None:
    made = case(stage, day=10).finding(-1, BONY, "yes")
    assert referred(made) == rule
    assert referred(made.decision(0, "bony")) == ""


@pytest.mark.parametrize(("stage", "expected"), [("RC2", 2), ("FS1", 2), ("OA1", 2), ("PO3", 0)])
@pytest.mark.parametrize(
    ("finding", "about"), [(BONY, "bony"), (SECOND, "second event"), (SECOND, "surgical opinion")]
)
def test_66_found_where_no_dislocation_is_treated(
    stage: str, expected: int, finding: str, about: str
) -> None:
    """The safer reading: in RC, FS and OA it is acted on too, and refers for nothing."""
    made = case(stage, day=10).finding(-1, finding, "yes")
    assert (severity(made), referred(made)) == (expected, "")
    assert severity(made.decision(0, about)) == 0
    assert severity(case(stage, day=10).finding(-1, finding, "no")) == 0


@pytest.mark.parametrize("stage", ["RC2", "FS1", "OA1", "PO3", "AD1", "FX1"])
@pytest.mark.parametrize("band", ["20s", "50s", None])
def test_66_weak_everywhere_and_at_any_age(stage: str, band: str | None) -> None:
    """Rees 2021: from day 0, at any age, in every pathway."""
    made = case(stage, day=10, age_band=band).finding(-1, WEAK, "yes")
    assert (severity(made), referred(made)) == (2, "image cuff")
    assert standing_of(made).verdict.line == (
        "true weakness after an injury: refer for a possible acute cuff tear"
    )
    assert referred(made.decision(0, "image cuff")) == ""


# --- the table: cannot lift ---------------------------------------------------------------------------------


@pytest.mark.parametrize("stage", ["RC2", "FS1", "OA1", "AD2"])
@pytest.mark.parametrize("band", ["20s", "50s"])
@pytest.mark.parametrize(("fall", "rule"), [(13, ""), (14, "image cuff")])
def test_66_cannot_lift_from_day_14_at_any_age(stage: str, band: str, fall: int, rule: str) -> None:
    made = injured(fall, stage, age_band=band).finding(0, LOOK, "no")
    # In AD the dislocation lies longer ago, and the newest injury counts.
    assert referred(made) in ({rule} if stage not in ("AD2", "RC2") else {rule, "image cuff"})
    assert severity(made) == (2 if rule else 0)


@pytest.mark.parametrize(("day", "rule"), [(13, 0), (14, 2)])
def test_66_cannot_lift_after_a_dislocation(day: int, rule: int) -> None:
    assert severity(after("AD1", day).finding(0, LOOK, "no")) == rule


@pytest.mark.parametrize(("day", "expected"), [(83, 0), (84, 2)])
def test_66_cannot_lift_after_a_fracture_from_day_84(day: int, expected: int) -> None:
    assert severity(case("FX3", day=20, onset=day).finding(0, LOOK, "no")) == expected


def test_94_after_a_fracture_a_fall_starts_no_clock() -> None:
    made = case("FX3", day=20, onset=60).event(-20).visit(-19, injury_assessed=True).finding(0, LOOK, "no")
    assert severity(made) == 0


def test_66_without_an_injury_there_is_no_such_trigger() -> None:
    assert severity(case("RC2", day=60).finding(0, LOOK, "no")) == 0


@pytest.mark.parametrize("event", ["fall", "pop", "sudden weakness", "dislocation", "other injury"])
def test_66_every_event_is_an_injury(event: str) -> None:
    made = case("RC2", day=60).event(-20, event).visit(-19, injury_assessed=True).finding(0, LOOK, "no")
    assert severity(made) == 2


@pytest.mark.parametrize(
    ("active", "passive", "expected"),
    [(90, 165, 0), (89, 165, 2), (89, 119, 2), (89, 118, 0), (89, None, 2)],
)
def test_66_lift_below_90_counts_where_the_gap_is_30_or_unknown(
    active: int, passive: int | None, expected: int
) -> None:
    made = injured(20).measure(-1, FLEXION, active)
    if passive is not None:
        made.measure(-1, PASSIVE, passive)
    assert severity(made) == expected


@pytest.mark.parametrize(("partner", "expected"), [(-15, 0), (-16, 2)])
def test_66_a_partner_of_14_days_at_most(partner: int, expected: int) -> None:
    """As ruling 65: 14 days from the active value of yesterday; older is not measured."""
    made = injured(25).measure(partner, PASSIVE, 100).measure(-1, FLEXION, 80)
    assert severity(made) == expected


# --- looks -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("seen", "finding", "again"), [(13, 0, True), (14, 2, False)])
def test_95_a_look_counts_from_day_14_on(seen: int, finding: int, again: bool) -> None:
    """Fall 20 days ago, seen on day 13 or 14; from day 14 an earlier "no" asks for another look."""
    made = injured(20).finding(seen - 20, LOOK, "no")
    assert severity(made) == finding
    assert ("look again: can lift to 90 degrees" in blocks(standing_of(made))) is again


@pytest.mark.parametrize(("fall", "again"), [(13, False), (14, True)])
def test_95_look_again_from_that_day(fall: int, again: bool) -> None:
    made = injured(fall).measure(3 - fall, FLEXION, 60)
    assert ("look again: can lift to 90 degrees" in blocks(standing_of(made))) is again


def test_95_look_again_withholds_ready_until_a_look_or_an_entry_about_the_cuff() -> None:
    """Fall 14 days ago, "no" on day 13; the item of the screen asked again with a note (ruling 67)."""

    def made() -> Builder:
        ready = ready_rc2(day=60).event(-14).visit(-13, injury_assessed=True).screen_all_no(-13)
        ready.finding(-1, LOOK, "no")
        return ready.screen(0, "trauma and cannot lift to 90 degrees", "no", note="stiff before the fall")

    assert blocks(standing_of(made())) == ["losing lift or strength", "look again: can lift to 90 degrees"]
    told = standing_of(made().finding(0, LOOK, "yes", **PATIENT))
    assert "look again: can lift to 90 degrees" in blocks(told)
    assert word(made().finding(0, LOOK, "yes")) is Word.READY
    assert word(made().referral(-1, "image cuff")) is Word.READY
    assert word(made().referral(-2, "image cuff")) is not Word.READY


def test_94_a_patients_own_bad_answer_opens_and_only_a_clinician_closes() -> None:
    made = injured(30).finding(-10, LOOK, "no", **PATIENT)
    assert severity(made) == 2
    assert severity(made.finding(-8, LOOK, "yes", **PATIENT)) == 2
    assert severity(made.measure(-7, FLEXION, 120, **PATIENT)) == 2
    assert severity(made.finding(-6, LOOK, "yes", source="surgeon")) == 2
    assert severity(made.measure(-5, FLEXION, 120)) == 0


def test_66_the_newer_look_decides() -> None:
    made = injured(30).finding(-10, LOOK, "no").measure(-8, FLEXION, 120)
    assert severity(made) == 0
    assert severity(made.finding(-5, LOOK, "no")) == 2


def test_94_a_low_lift_that_does_not_count_is_no_look() -> None:
    made = injured(30).finding(-10, LOOK, "no").measure(-5, FLEXION, 80).measure(-5, PASSIVE, 100)
    assert severity(made) == 2


def test_66_of_one_date_the_worse_holds() -> None:
    for first, second in (("yes", "no"), ("no", "yes")):
        assert severity(injured(30).finding(-5, LOOK, first).finding(-5, LOOK, second)) == 2
    assert severity(injured(30).finding(-5, LOOK, "yes").measure(-5, FLEXION, 60)) == 2


def test_66_not_asked_and_declined_say_nothing() -> None:
    made = injured(30).finding(-10, LOOK, "no").finding(-5, LOOK, "not asked").finding(-4, LOOK, "declined")
    assert severity(made) == 2
    assert severity(injured(30).finding(-4, LOOK, "declined")) == 0


def test_66_a_finding_of_before_the_injury_counts_for_none() -> None:
    assert severity(injured(20).finding(-21, LOOK, "no")) == 0


def test_66_an_old_no_keeps_speaking_until_somebody_looks_again() -> None:
    made = case("RC2", day=200).event(-150).visit(-149, injury_assessed=True).finding(-130, LOOK, "no")
    assert severity(made) == 2


# --- what ends it ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("how", ["decision", "referral", "visit"])
@pytest.mark.parametrize(("day", "expected"), [(-6, 2), (-5, 0), (-1, 0)])
def test_66_ends_by_an_entry_about_the_cuff_from_the_day_it_came_true(
    how: str, day: int, expected: int
) -> None:
    made = injured(30).finding(-5, LOOK, "no")
    if how == "decision":
        made.decision(day, "image cuff")
    elif how == "referral":
        made.referral(day, "image cuff")
    else:
        made.visit(day, decision=True, answers="image cuff")
    assert severity(made) == expected


def test_66_the_same_finding_again_is_nothing_new() -> None:
    made = injured(30).finding(-10, LOOK, "no").decision(-9, "image cuff").finding(-2, LOOK, "no")
    assert severity(made) == 0
    assert severity(made.finding(-1, LOOK, "yes").finding(0, LOOK, "no")) == 2


def test_66_the_same_finding_after_a_newer_injury_is_another_matter() -> None:
    """The safer reading: what answered the first fall knew nothing of the second."""
    made = injured(60, first=80).finding(-40, LOOK, "no").decision(-39, "image cuff")
    made.event(-20).visit(-19, injury_assessed=True).screen_all_no(-19)
    assert severity(made) == 0
    assert severity(made.finding(-1, LOOK, "no")) == 2


def test_66_an_answer_recorded_before_a_finding_told_late_answers_nothing() -> None:
    made = injured(30).decision(-4, "image cuff").finding(-5, LOOK, "no", recorded=-3)
    assert severity(made) == 2


def test_94_true_it_stays_true_though_a_newer_injury_moves_the_first_day() -> None:
    """Seen on day 15 of the first fall; another fall 3 days ago moves the day of newer findings only."""
    made = injured(40).finding(-25, LOOK, "no").event(-3).visit(-2, injury_assessed=True)
    assert severity(made) == 2
    assert severity(injured(40).event(-3).visit(-2, injury_assessed=True).finding(-1, LOOK, "no")) == 0


def test_94_an_onset_of_surgery_ends_it() -> None:
    made = case("RC2", day=60).finding(-30, WEAK, "yes")
    assert referred(made) == "image cuff"
    made.onset(-10, "surgery").orders(-10).step(-8, "PO1", "placing")
    assert severity(made) == 0
    assert severity(made.finding(-1, WEAK, "yes")) == 2


def test_94_what_opened_in_one_pathway_stays_open_in_the_next() -> None:
    """Filing the case elsewhere is no look (the safer reading)."""
    made = case("AD2", day=20, onset=60).finding(-15, BONY, "yes").step(-5, "RC2", "placing")
    assert referred(made) == "bony"
    assert referred(made.decision(-1, "bony")) == ""
    assert referred(case("AD2", day=20, onset=60).step(-5, "RC2", "placing").finding(-3, BONY, "yes")) == ""


def test_66_with_the_healing_date_missing_the_days_on_record_have_passed_at_least() -> None:
    """A missing date silences nothing: badge at once, the nerve from 21 days on record."""
    assert severity(case("AD1", day=10, onset=-1).finding(-1, BADGE, "yes")) == 2
    assert referred(case("AD1", day=20, onset=-1).finding(-1, BADGE, "yes")) == ""
    assert referred(case("AD1", day=21, onset=-1).finding(-1, BADGE, "yes")) == "nerve"


# --- the table: second event --------------------------------------------------------------------------------


def test_66_a_second_dislocation_refers() -> None:
    made = case("AD3", day=20, onset=70).finding(-1, SECOND, "yes")
    assert (severity(made), referred(made)) == (2, "second event")
    assert standing_of(made).verdict.line == "second event: offer a surgical opinion"


@pytest.mark.parametrize("event", ["dislocation", "slipped out of joint"])
def test_66_an_event_speaks_once_assessed(event: str) -> None:
    """Before that the new injury speaks."""
    made = case("AD3", day=20, onset=70).event(-3, event)
    assert (severity(made), severity(made, "INJ")) == (0, 2)
    made.visit(-1, injury_assessed=True).screen_all_no(-1)
    assert (severity(made), severity(made, "INJ")) == (2, 0)
    assert referred(made) == "second event"


@pytest.mark.parametrize("matter", ["second event", "surgical opinion"])
def test_66_a_second_event_is_answered(matter: str) -> None:
    made = case("AD3", day=20, onset=70).event(-3, "dislocation").visit(-2, injury_assessed=True)
    assert referred(made.screen_all_no(-2)) == "second event"
    assert severity(made.decision(-1, matter)) == 0


def test_66_the_first_dislocation_is_no_second_event() -> None:
    """Told as an event in another pathway, then filed with that very day as its onset."""
    made = case("RC1", day=20).event(-10, "dislocation").visit(-9, injury_assessed=True)
    made.onset(-10, "dislocation").step(-9, "AD1", "placing")
    assert severity(made) == 0


def test_66_a_fall_is_no_second_event() -> None:
    made = case("AD3", day=20, onset=70).event(-3).visit(-2, injury_assessed=True)
    assert severity(made) == 0


# --- the reason --------------------------------------------------------------------------------------------


def test_63_where_it_stands() -> None:
    row = rules().ranks["FND"]
    assert (row.rank, row.tier, row.name) == (6, "harm if left", "finding to act on")
    assert standing_of(case("AD1", day=17).finding(-1, BADGE, "yes")).tier == "harm if left"


def test_63_several_findings_are_all_named() -> None:
    found = reason(standing_of(after("AD1", 10).finding(-3, BADGE, "yes").finding(-1, BONY, "yes")), "FND")
    assert found.sentence == (
        "feeling over the badge area lost: examine the nerve, tell the surgical team; "
        "bony lesion on imaging: surgical referral"
    )
    assert (found.severity, found.days_open, len(found.evidence)) == (2, 3, 2)


@pytest.mark.parametrize(("until", "in_hand"), [(13, True), (14, True), (15, True)])
def test_63_in_hand_at_most_14_days(until: int, in_hand: bool) -> None:
    made = after("AD1", 17).finding(-10, BADGE, "yes").in_hand(-1, "FND", until)
    found = reason(standing_of(made), "FND")
    assert found.in_hand is in_hand
    assert found.in_hand_until == on(min(until, 13))
    assert standing_of(made).verdict.word is Word.NOT_YET  # what is in hand still withholds the verdict


def test_63_another_finding_is_new_evidence() -> None:
    made = after("AD1", 17).finding(-10, BADGE, "yes").in_hand(-5, "FND", 5)
    assert reason(standing_of(made), "FND").in_hand
    assert reason(standing_of(made.finding(-7, BADGE, "yes", recorded=-2)), "FND").in_hand  # nothing new
    assert not reason(standing_of(made.finding(-2, BONY, "yes")), "FND").in_hand


def test_63_a_hold_never_hides_it_and_a_closed_case_does_not_carry_it() -> None:
    made = after("FX1", 17).finding(-10, BADGE, "yes")
    assert severity(made.hold(-1, 10, named="lead")) == 2
    assert severity(made.discharge(0)) == 0


def test_63_no_discharge_while_it_is_unanswered() -> None:
    made = ready_rc1().finding(-1, WEAK, "yes")
    ask = DischargeAsk(outcome="goal met", measures="recorded")
    refused = discharge(View.of(made.record(), rules(), TODAY), ask).refused
    assert refused == (
        'No discharge while "true weakness after an injury: refer for a possible acute cuff tear" is not '
        'answered: record a decision or referral about "image cuff" first.'
    )
    answered = made.decision(0, "image cuff")
    assert not discharge(View.of(answered.record(), rules(), TODAY), ask).refused


@pytest.mark.parametrize(
    ("finding", "about", "said"),
    [
        (WEAK, "image cuff", 'answers "true weakness after an injury: refer for a possible acute cuff tear"'),
        (WEAK, "bony", "is kept on record: it is not true on that day, so it answers nothing later"),
        (
            BADGE,
            "nerve",
            'answers "feeling over the badge area lost: examine the nerve, tell the surgical team"; '
            'leaves "nerve not seen recovered at 3 weeks: nerve referral" open: '
            'record a referral about "nerve"',
        ),
        (SECOND, "second event", 'answers "second event: offer a surgical opinion"'),
    ],
)
def test_66_a_decision_says_what_it_answers(finding: str, about: str, said: str) -> None:
    made = after("AD1", 30).finding(-1, finding, "yes")
    assert silences(View.of(made.record(), rules(), TODAY), about, TODAY) == said


def own(**more: Any) -> Rules:
    """The shipped rules with the trigger of RC about lifting changed by a clinic."""
    path = rules().pathways["RC"]
    lift, *others = path.triggers
    changed = replace(path, triggers=(replace(lift, **more), *others))
    return replace(rules(), pathways={**rules().pathways, "RC": changed})


@pytest.mark.parametrize(("stage", "expected"), [("RC1", False), ("RC2", True)])
def test_66_only_in_the_stages_it_names(stage: str, expected: bool) -> None:
    made = injured(20, stage).finding(-1, LOOK, "no")
    assert ("FND" in codes(standing_of(made, using=own(stages=("RC2",))))) is expected


@pytest.mark.parametrize(("day", "expected"), [(29, False), (30, True), (31, True)])
def test_66_to_its_last_day(day: int, expected: bool) -> None:
    """Fall 30 days ago, seen yesterday: until day 30, not beyond."""
    last = Figure(Decimal(day), "of the clinic", "design")
    made = injured(30).finding(-1, LOOK, "no")
    assert ("FND" in codes(standing_of(made, using=own(to_day=last)))) is expected


@pytest.mark.parametrize(("status", "said"), [("from memory", True), ("published", False)])
def test_66_a_finding_from_memory_says_so(status: str, said: bool) -> None:
    """A clinic's own trigger."""
    own = tuple(replace(one, status=status) for one in rules().triggers)
    standing = standing_of(ready_rc1().finding(-1, WEAK, "yes"), using=replace(rules(), triggers=own))
    assert ("(from memory)" in standing.verdict.line) is said
    assert (
        any("from memory, not yet checked: true weakness" in caution for caution in standing.cautions) is said
    )


@pytest.mark.parametrize(("onset", "expected"), [(13, "RDY"), (14, "FND")])
def test_66_a_look_to_take_again_stays_above_those_ready(onset: int, expected: str) -> None:
    """AD: no lift on the third day, and the screen asked again since; from day 14 it withholds READY."""
    made = ready_ad1(day=12, onset=onset).finding(3 - onset, LOOK, "no")
    made.screen(0, "trauma and cannot lift to 90 degrees", "no", note="told and examined, no fracture")
    standing = standing_of(made)
    assert place(standing) <= place(standing_of(ready_ad1(day=12, onset=onset)))
    assert codes(standing)[0] == expected


def test_66_a_look_to_take_again_ends_with_the_withholding() -> None:
    """By another look or an entry about the cuff."""

    def made() -> Builder:
        early = ready_ad1(day=12, onset=20).finding(-15, LOOK, "no")
        return early.screen(0, "trauma and cannot lift to 90 degrees", "no", note="told and examined")

    found = reason(standing_of(made()), "FND")
    assert (found.severity, found.days_open) == (1, 6)
    assert found.sentence == f"{LOOK}: last seen Sun 15 Feb, look again"
    assert codes(standing_of(made().finding(-1, LOOK)))[0] == "RDY"
    assert codes(standing_of(made().decision(-1, "image cuff")))[0] == "RDY"


# --- properties --------------------------------------------------------------------------------------------

READY = {
    "RC1": ready_rc1,
    "RC2": ready_rc2,
    "PO3": ready_po3,
    "AD1": ready_ad1,
    "FX1": ready_fx1,
}
DANGERS = [
    *((name, "yes") for name in (BADGE, WEAK, SECOND, BONY)),
    *((name, "no") for name in (LOOK, DELTOID, DRY, PIECE)),
]


def place(standing: Standing) -> tuple[int, int]:
    """Tier and rank of what places a case; the smaller stands higher."""
    placing = standing.placing
    return TIERS.index(standing.tier), placing.rank if placing else 99


@settings(max_examples=60, deadline=None)
@given(
    stage=st.sampled_from(sorted(READY)),
    danger=st.sampled_from(DANGERS),
    day=st.integers(-20, 0),
    fall=st.one_of(st.none(), st.integers(1, 40)),
    source=st.sampled_from(["clinician measured", "patient reported", "referral letter"]),
)
@example(stage="PO3", danger=(LOOK, "no"), day=0, fall=None, source="clinician measured")
def test_66_a_dangerous_finding_never_moves_a_case_down(
    stage: str, danger: tuple[str, str], day: int, fall: int | None, source: str
) -> None:
    """Nor makes it READY that was not."""

    def made() -> Builder:
        built = READY[stage]()
        return built if fall is None else built.event(-fall).visit(1 - fall, injury_assessed=True)

    before, now = standing_of(made()), standing_of(made().finding(day, *danger, source=source))
    assert place(now) <= place(before)
    assert now.verdict.word is not Word.READY or before.verdict.word is Word.READY
    assert set(codes(before)) - {"RDY", "FUN"} <= set(codes(now)) | {"STL"}


@settings(max_examples=25, deadline=None)
@given(order=st.permutations(range(5)))
def test_66_the_order_of_entry_changes_nothing(order: list[int]) -> None:
    """Told in any order, recorded on one day: the same findings to act on."""
    entries = [
        lambda b: b.finding(-20, LOOK, "no", recorded=0),
        lambda b: b.finding(-12, LOOK, "yes", recorded=0),
        lambda b: b.measure(-9, FLEXION, 60, recorded=0),
        lambda b: b.finding(-4, BADGE, "yes", recorded=0),
        lambda b: b.finding(-3, WEAK, "yes", recorded=0),
    ]
    made = injured(50, "AD2", onset=58)
    for index in order:
        entries[index](made)
    found = reason(standing_of(made), "FND")
    assert (found.severity, found.days_open) == (2, 9)
    assert referred(made) == "nerve"
