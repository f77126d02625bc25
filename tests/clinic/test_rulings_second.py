"""Rulings 42 to 62 of the practice notes (second round, over the first), both sides of each boundary.

Expected values are worked out from the text of the ruling alone. Ruling 57 speaks of the dose: held there.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.entries.check import check_case
from armrise.store.record.fields import Absence
from tests.clinic.build import TODAY, Builder, case, codes, item, live, reason, rules, standing_of
from tests.clinic.build_more import (
    MET,
    NOT_MET,
    UNKNOWN,
    about,
    criterion,
    head,
    line,
    live_codes,
    ready_ad1,
    ready_fx1,
    ready_po3,
    ready_rc1,
    ready_rc2,
    ready_rc4,
    run_state,
    twos,
    word,
)

MASS = "mass, cancer history, weight loss or unrelenting night pain"
ROTATION = "passive_external_rotation"
GOOD = (3, 2, 2)


def flaring(*days: int, day: int = 34, **more: int) -> Builder:
    """RC2 with a flare by pain during (no morning told) on each of ``days``."""
    made = case("RC2", day=day, **more)
    for each in days:
        made.session(each, 8, 3, None, R1=(3, 10))
    return made


# --- ruling 42: flare, when it ends ----------------------------------------------------------------------


def test_ruling_42_settled_mornings_do_not_end_creep() -> None:
    """(d) ends only when the baseline is less than 2 above both first baselines."""
    made = case("RC2", day=34).mornings(-34, *[2] * 11).mornings(-23, *[3] * 11).mornings(-12, *[4] * 12)
    # the last twelve mornings are all within one of the baseline: settled, and creep is live
    assert "FLA" in live_codes(made)
    down = case("RC2", day=34).mornings(-34, *[2] * 11).mornings(-23, *[4] * 9).mornings(-14, *[3] * 14)
    assert "FLA" not in live_codes(down)


def test_ruling_42_settled_mornings_do_not_end_night_waking() -> None:
    """(e) ends with the next night-waking value, whatever the mornings say."""
    made = twos(case("RC2", day=20), -13, 14).measure(-9, "night_waking", 1).measure(-5, "night_waking", 4)
    assert "FLA" in live_codes(made)
    assert "FLA" not in live_codes(made.measure(-1, "night_waking", 4))


@pytest.mark.parametrize(("told", "expected"), [(-28, True), (-29, False)])
def test_ruling_42_night_waking_ends_when_stale(told: int, expected: bool) -> None:
    """Nights woken go stale after 28 days in RC2 (ruling 87)."""
    made = case("RC2", day=60).measure(-36, "night_waking", 1).measure(told, "night_waking", 4)
    assert ("FLA" in live_codes(made)) is expected


def test_ruling_42_the_morning_after_the_flare_session_counts_as_settled() -> None:
    """Evidence day is the day of the flare session: mornings of 2 and 3 after a flare settle it."""
    made = twos(case("RC2", day=20)).session(-5, 8, 3, None).session(-3, 8, 3, 2)
    assert "FLA" in live_codes(made)
    assert "FLA" not in live_codes(made.morning(-1, 3))


def test_ruling_42_a_raised_morning_moves_the_evidence_day() -> None:
    """The last morning 2 or more above baseline is the evidence day when it is later than the session."""
    made = twos(case("RC2", day=20)).session(-6, 8, 3, None).session(-5, 8, 3, None)
    made.mornings(-4, 2, 4, 2)
    assert "FLA" in live_codes(made)
    assert "FLA" not in live_codes(made.morning(-1, 3))


@pytest.mark.parametrize(("older", "expected"), [(-28, True), (-29, False)])
def test_ruling_42_nothing_older_than_28_days_counts(older: int, expected: bool) -> None:
    """(a) to (c): of two flares on successive days the older one is 28 or 29 days old, nothing told since."""
    assert ("FLA" in live_codes(flaring(older, older + 1, day=40))) is expected


def test_ruling_42_after_a_step_back_only_what_came_since() -> None:
    """Two flares, then stepped back: cleared. Two flares after the step back count."""
    made = twos(case("RC3", day=20, first=40)).session(-6, 8, 3, None).session(-5, 8, 3, None)
    assert "FLA" in live_codes(made)
    made.step(-4, "RC2")
    assert "FLA" not in live_codes(made)
    made.session(-3, 8, 3, None)
    assert "FLA" not in live_codes(made)
    assert "FLA" in live_codes(made.session(-2, 8, 3, None))


def test_ruling_42_a_step_forward_wipes_nothing() -> None:
    """Two flares, then stepped forward by override: still not settling."""
    made = twos(case("RC2", day=20)).session(-6, 8, 3, None).session(-5, 8, 3, None).step(-4, "RC3")
    assert "FLA" in live_codes(made)


def test_ruling_42_extra_nights_count_only_where_their_cause_is_true() -> None:
    """Two more nights are no cause and no severity (no rise is known: 0); five more nights are both."""
    made = twos(case("RC2", day=20)).session(-4, 8, 3, None).session(-3, 8, 3, None)
    made.measure(-9, "night_waking", 1).measure(-1, "night_waking", 3)
    assert reason(standing_of(made), "FLA").severity == 0
    low = twos(case("RC2", day=20)).session(-4, 4, 3, 5).session(-3, 4, 3, 5)
    low.measure(-9, "night_waking", 1).measure(-1, "night_waking", 6)
    assert reason(standing_of(low), "FLA").severity == 5


# --- ruling 43: injury -----------------------------------------------------------------------------------


def test_ruling_43_new_injury_not_assessed() -> None:
    """NOT YET with its words, until a visit that assessed it."""
    made = ready_rc2().event(-1, "fall")
    assert word(made) is Word.NOT_YET
    assert "new injury not assessed" in line(made)
    assert word(made.visit(0, injury_assessed=True).screen_all_no(0)) is Word.READY


def test_ruling_43_a_plain_visit_does_not_assess_it() -> None:
    """Only an assessed visit clears it."""
    assert "INJ" in live_codes(ready_rc2().event(-2, "fall").visit(0))


def test_ruling_43_comes_before_hold_closed_worse_and_step_back() -> None:
    """Also when on hold, closed, worse or with flares."""
    flares = ready_rc2(sessions=False).session(-4, 8, 3, None).session(-3, 8, 3, None)
    worse = case("RC2", day=40, scored=False).score(-40, "SPADI", 40).score(-2, "SPADI", 70)
    for made in (ready_rc2().hold(-1, 9), case("RC4", last_visit=4).discharge(-3), worse, flares):
        assert word(made) in (Word.ON_HOLD, Word.NONE, Word.REFER, Word.STEP_BACK)
        assert word(made.event(-1, "fall")) is Word.NOT_YET
        assert "new injury not assessed" in line(made)


@pytest.mark.parametrize(
    ("event", "severity"),
    [
        ("dislocation", 2),
        ("slipped out of joint", 2),
        ("sudden loss of active lift", 2),
        ("fall", 1),
        ("pop", 1),
    ],
)
def test_ruling_43_a_second_event_after_dislocation_refers(event: str, severity: int) -> None:
    """AD: severity 2 gives REFER "second event", severity 1 does not; in RC neither does."""
    dislocated = ready_ad1().event(-1, event)
    assert reason(standing_of(dislocated), "INJ").severity == severity
    assert word(dislocated) is (Word.REFER if severity == 2 else Word.NOT_YET)
    assert ("second event" in line(dislocated)) is (severity == 2)
    assert word(ready_rc2().event(-1, event)) is Word.NOT_YET


# --- ruling 44: LOST -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("last", "expected"), [(16, False), (17, True)])
def test_ruling_44_overdue_by_three_days(last: int, expected: bool) -> None:
    """Review interval 14: 2 days over is not yet out of sight, 3 days over is."""
    made = case("PO2", day=20, last_visit=last)
    assert ("LOST" in live_codes(made)) is expected
    if expected:
        assert ("LOST", 17, 0) in live(standing_of(made))


def test_ruling_44_a_hold_does_not_move_the_due_date() -> None:
    """On hold with the surgeon named, overdue by its original date: LOST all the same."""
    made = case("PO2", day=32, last_visit=30).hold(-20, 10, "awaiting surgeon", named="consultant A")
    assert "LOST" in live_codes(made)


def test_ruling_44_a_visit_missed_after_the_contact_is_live_at_once() -> None:
    """Missed on -5, spoken to on -4: silent. Missed again on -1: live at once."""
    made = case("PO2", day=20, last_visit=9).missed(-5)
    assert "LOST" in live_codes(made)
    made.contact(-4, "spoke")
    assert "LOST" not in live_codes(made)
    assert "LOST" in live_codes(made.missed(-1))


def test_ruling_44_an_answered_missed_visit_does_not_come_back() -> None:
    """Afterwards only the overdue review revives it: missed on -9, spoken to on -8, review not yet due."""
    made = case("PO2", day=20, last_visit=12).missed(-9).contact(-8, "spoke")
    assert "LOST" not in live_codes(made)


def test_ruling_44_revived_with_the_first_trigger_since_the_last_visit() -> None:
    """Missed on -12, spoken to on -8, review due on -6 and 6 days over now: open since -12."""
    made = case("PO2", day=22, last_visit=20).missed(-12).contact(-8, "spoke")
    assert reason(standing_of(made), "LOST").days_open == 12


def test_ruling_44_severity_is_days_since_the_last_contact() -> None:
    """A visit is a contact: 17 days unseen (2.4, C-08)."""
    made = case("PO2", day=17, last_visit=17, first=17, onset=31).missed(-3)
    assert ("LOST", 17, 3) in live(standing_of(made))


@pytest.mark.parametrize("stage", ["PO1", "PO2", "PO3", "FX1", "FX2", "AD1"])
def test_ruling_44_protected_stages(stage: str) -> None:
    """PO1 to PO3, FX1, FX2 and AD1 are protected (2.2)."""
    assert "LOST" in live_codes(case(stage, day=40, last_visit=30))


@pytest.mark.parametrize("stage", ["PO4", "FX3", "AD2", "RC1", "FS1", "OA1"])
def test_ruling_44_other_stages_are_overdue_only(stage: str) -> None:
    """A late review elsewhere is a late review."""
    assert "LOST" not in live_codes(case(stage, day=40, last_visit=30))


# --- ruling 45: post-operative stiffness -----------------------------------------------------------------


def stiff_repair(measured_on: int, onset: int = 95, flexion: int = 110) -> Builder:
    """PO3 on day ``onset``, ready but for passive flexion of 110 measured on ``measured_on``."""
    made = ready_po3(day=50, onset=onset, flexion=None)
    return made.measure(-1, "active_flexion", 100).measure(measured_on, "passive_flexion", flexion)


def test_ruling_45_the_surgeon_told_on_or_after_the_value_clears_it() -> None:
    """An entry so marked on or after the value, a visit too (ruling 94); before it does not count."""
    assert ("STF", 2) in [(c, s) for c, s, _ in live(standing_of(stiff_repair(-5)))]
    assert word(stiff_repair(-5)) is Word.NOT_YET
    for told in (
        stiff_repair(-5).contact(-5, "spoke", surgeon_told=True),
        stiff_repair(-5).visit(-5, surgeon_told=True),
        stiff_repair(-5).referral(-3, "post-operative stiffness", surgeon_told=True),
    ):
        assert "STF" not in live_codes(told)
        assert word(told) is Word.READY
    assert "STF" in live_codes(stiff_repair(-5).contact(-6, "spoke", surgeon_told=True))
    assert "STF" in live_codes(stiff_repair(-5).contact(-4, "spoke"))


def test_ruling_45_a_later_value_at_the_limit_ends_it() -> None:
    """120 ends it, 119 does not."""
    assert "STF" not in live_codes(stiff_repair(-5).measure(-1, "passive_flexion", 120))
    assert "STF" in live_codes(stiff_repair(-5).measure(-1, "passive_flexion", 119))


def test_ruling_45_it_stands_after_day_98() -> None:
    """Found on day 95, now day 110, nobody told: still live."""
    assert "STF" in live_codes(stiff_repair(-15, onset=110))


@pytest.mark.parametrize(("surgery_day", "blocked"), [(76, False), (77, True), (98, True), (99, True)])
def test_86_a_value_from_day_77_on_and_no_last_day(surgery_day: int, blocked: bool) -> None:
    """A value of before (ruling 45 as ruling 86 has it), or none at all, is no block."""
    made = stiff_repair(surgery_day - 100, onset=100)
    assert ("STF" in live_codes(made)) is blocked
    assert "STF" not in live_codes(ready_po3(day=50, onset=95))


# --- ruling 46: in hand ----------------------------------------------------------------------------------


def test_ruling_46_growth_by_the_calendar_is_no_new_evidence() -> None:
    """A review in hand stays in hand while its ratio grows."""
    made = case("RC2", day=40, first=60, last_visit=30).in_hand(-7, "OVD1", 5)
    assert reason(standing_of(made), "OVD1").in_hand


def test_ruling_46_in_hand_belongs_to_one_reason() -> None:
    """ "Review overdue" in hand does not cover "overdue by a whole interval"."""
    made = case("RC2", day=50, first=60, last_visit=42).in_hand(-7, "OVD1", 5)
    assert not reason(standing_of(made), "OVD2").in_hand
    covered = case("RC2", day=50, first=60, last_visit=45).in_hand(-1, "OVD2", 5)
    assert reason(standing_of(covered), "OVD2").in_hand


def test_ruling_46_another_missed_visit_is_new_evidence() -> None:
    """Two missed in a row, in hand; a third makes it live."""
    made = case("RC2", day=40, last_visit=30, interval=60).missed(-12).missed(-6).in_hand(-5, "DNA", 5)
    assert reason(standing_of(made), "DNA").in_hand
    assert not reason(standing_of(made.missed(-1)), "DNA").in_hand


def test_ruling_46_a_late_entry_is_new_evidence() -> None:
    """Happened before the in-hand was given, recorded after it: live."""
    made = case("PO2", day=18).session(-6, 1, 1, None, A2=(3, 10)).in_hand(-5, "LIM", 2)
    assert reason(standing_of(made), "LIM").in_hand
    made.session(-7, 1, 1, None, A2=(3, 10), recorded=-3)
    assert not reason(standing_of(made), "LIM").in_hand


def test_ruling_46_more_lost_range_is_new_evidence() -> None:
    """STF 2 in hand, then severity 3."""
    made = case("RC2", day=30).measure(-28, ROTATION, 60)
    made.measure(-15, ROTATION, 44).measure(-8, ROTATION, 44).in_hand(-7, "STF", 5)
    assert reason(standing_of(made), "STF").in_hand
    assert not reason(standing_of(made.both(-1, ROTATION, 25, 65)), "STF").in_hand


# --- ruling 47: two drift values -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "apart", "act"),
    # best 60 by the same rater: act level is 45 or less
    [
        (45, 45, 7, True),
        (45, 45, 6, False),
        (46, 44, 7, False),  # the first is not at act level
        (44, 49, 7, True),  # within 5 of the first
        (44, 50, 7, False),
        (45, 32, 7, True),  # lower
    ],
)
@pytest.mark.parametrize("limited", [None, "pain"])
def test_ruling_47_any_two_values_a_week_apart(
    first: int, second: int, apart: int, act: bool, limited: str | None
) -> None:
    """The first at act level, the second within 5 degrees of it or lower, whether or not pain-limited."""
    made = case("RC2", day=20).measure(-18, ROTATION, 60)
    made.measure(-1 - apart, ROTATION, first, limited_by=limited)
    made.measure(-1, ROTATION, second, limited_by=limited)
    assert ("STF" in live_codes(made)) is act
    if act:
        assert reason(standing_of(made), "STF").severity == 2


def test_ruling_47_one_pain_limited_value_never_acts() -> None:
    """Not by twice the allowance, nor by two planes, nor by half of the other side; it is watched."""
    twice = case("RC2", day=20).measure(-18, ROTATION, 70).measure(-1, ROTATION, 35, limited_by="pain")
    planes = case("RC2", day=20).measure(-18, ROTATION, 60).measure(-18, "passive_flexion", 160)
    planes.measure(-1, ROTATION, 44, limited_by="pain")
    planes.measure(-1, "passive_flexion", 144, limited_by="guarding")
    half = case("RC2", day=20).measure(-18, ROTATION, 60).measure(-18, ROTATION, 65, other=True)
    half.measure(-1, ROTATION, 30, limited_by="pain")
    for made in (twice, planes, half):
        assert "STF" not in live_codes(made)
        assert "WAT" in live_codes(made)


def test_ruling_47_two_planes_need_both_newest_on_one_date() -> None:
    """Rotation lost on -1, flexion lost on -2: two dates, no severity 3."""
    made = case("RC2", day=20).measure(-18, ROTATION, 60).measure(-18, "passive_flexion", 160)
    made.measure(-1, ROTATION, 45).measure(-2, "passive_flexion", 145)
    assert "STF" not in live_codes(made)
    # both lost on -2, but rotation measured again and better on -1: its newest is of another date
    newer = case("RC2", day=20).measure(-18, ROTATION, 60).measure(-18, "passive_flexion", 160)
    newer.measure(-2, ROTATION, 45).measure(-2, "passive_flexion", 145).measure(-1, ROTATION, 55)
    assert "STF" not in live_codes(newer)


def test_ruling_47_watch_severity_is_the_larger_loss() -> None:
    """Own best 55, anyone's best 66, now 44: 11 against the own, 22 against anyone's: 22."""
    made = case("RC2", day=20).measure(-18, ROTATION, 66, rater="AB").measure(-17, ROTATION, 55)
    assert reason(standing_of(made.measure(-1, ROTATION, 44)), "WAT").severity == 22


# --- ruling 48 stands beside ruling 12 in test_rulings_safety ---------------------------------------------


@pytest.mark.parametrize(("older", "baseline"), [(3, 2), (2, None)])
def test_ruling_48_three_mornings_in_the_window_before_skipping(older: int, baseline: int | None) -> None:
    """Three flare mornings in the 14 days, all skipped: the last baseline stands; two in all: unknown."""
    made = case("RC2", day=40).mornings(-25, 2, 2, 2)
    for back in range(older):
        made.session(-5 + back, 8, 3, 7, R1=(3, 10))
    made.session(-1, 3, 2, None, R1=(3, 10))
    assert standing_of(made).pain.baseline == baseline


# --- ruling 49: contradictory values ---------------------------------------------------------------------


def test_ruling_49_fails_stays_not_met_passes_is_unknown() -> None:
    """Active above passive by more than 5: 130 of 170 fails (76 %), 139 would pass (82 %)."""
    failing = ready_rc1().both(0, "active_flexion", 130, 170).measure(0, "passive_flexion", 120)
    assert criterion(standing_of(failing), "active flexion").state is NOT_MET
    passing = ready_rc1().measure(-1, "passive_flexion", 130)
    assert criterion(standing_of(passing), "active flexion").state is UNKNOWN


def test_ruling_49_confirmed_as_measured_counts() -> None:
    """Confirmed values stand (4.12)."""
    made = ready_rc1().measure(0, "active_flexion", 139, confirmed=True)
    made.measure(0, "passive_flexion", 130, confirmed=True)
    assert criterion(standing_of(made), "active flexion").state is MET


def test_ruling_49_drift_does_not_read_them() -> None:
    """A passive value 12 below the best, contradicted by an active one: no watch; uncontradicted: watch."""
    made = case("RC2", day=20).measure(-18, "passive_flexion", 160).measure(-1, "passive_flexion", 148)
    assert "WAT" in live_codes(made)
    assert "WAT" not in live_codes(made.measure(-1, "active_flexion", 160))


# --- ruling 50: masking ----------------------------------------------------------------------------------


def test_ruling_50_pain_criteria_are_worst_rest_night_during_and_good_sessions() -> None:
    """Range and clearance are no pain criteria: under an injection they stay met."""
    standing = standing_of(ready_po3().medicine(-5, "injection"))
    assert criterion(standing, "pain during").state is UNKNOWN
    assert criterion(standing, "active flexion").state is MET
    assert criterion(standing, "clearance").state is MET
    dislocated = standing_of(ready_ad1().medicine(-5, "injection"))
    assert criterion(dislocated, "good sessions").state is UNKNOWN
    assert criterion(dislocated, "rest pain").state is UNKNOWN
    broken = twos(case("FX3", day=28, onset=90)).good(3, last=-2, A2=(3, 10))
    broken.measure(-2, "active_flexion", 110).measure(-2, "night_pain", 2).medicine(-5, "injection")
    assert criterion(standing_of(broken), "night pain").state is UNKNOWN


# --- ruling 51: answers to REFER -------------------------------------------------------------------------


def test_ruling_51_each_refer_needs_its_own_answer() -> None:
    """RED its outcome, WRS 2 a decision visit; a referral alone silences neither."""
    red = ready_rc2().screen(-3, MASS, "yes").referral(-2, "possible red flag")
    assert word(red) is Word.REFER
    assert word(red.flag_outcome(-1, MASS, "referred and answered")) is Word.READY
    worse = case("RC2", day=40, scored=False, last_visit=6).score(-40, "SPADI", 40).score(-5, "SPADI", 70)
    assert word(worse) is Word.REFER
    assert word(worse.referral(-4, "worse, or not responding")) is Word.REFER
    assert word(worse.visit(-3)) is Word.REFER
    assert word(worse.visit(-2, decision=True)) is not Word.REFER
    assert "WRS" not in live_codes(worse)


def test_ruling_51_a_referral_naming_lost_range_clears_it_for_this_stage() -> None:
    """Until the next step; a decision does not (only a referral is named)."""
    made = case("RC1", day=30).measure(-28, ROTATION, 60).measure(-12, ROTATION, 44).measure(-3, ROTATION, 44)
    assert "STF" in live_codes(made)
    made.referral(-2, "losing range")
    assert "STF" not in live_codes(made)
    assert "STF" in live_codes(made.step(-1, "RC2"))


@pytest.mark.parametrize(
    ("stage", "onset", "finding", "answer", "rule"),
    [
        ("AD1", 21, "deltoid contracts", "no", "nerve"),
        ("AD1", 21, "badge sensation lost", "yes", "nerve"),
        ("AD1", 10, "bony lesion on imaging", "yes", "bony"),
    ],
)
def test_ruling_51_named_rules(stage: str, onset: int, finding: str, answer: str, rule: str) -> None:
    """Nerve and bony refer until a referral names them."""
    made = case(stage, day=onset, onset=onset).finding(-1, finding, answer)
    verdict = standing_of(made).verdict
    assert (verdict.word, verdict.rule) == (Word.REFER, rule)
    assert word(made.referral(0, "plateau")) is Word.REFER
    assert word(made.referral(0, rule)) is not Word.REFER


def test_ruling_51_nerve_only_from_day_21() -> None:
    """Persistent loss is judged at day 21 (3.4)."""
    made = case("AD1", day=20, onset=20).finding(-1, "deltoid contracts", "no")
    assert word(made) is not Word.REFER


# --- ruling 52: runs -------------------------------------------------------------------------------------


def test_ruling_52_during_above_the_criterions_own_limit_breaks() -> None:
    """RC2 allows 4 and its criterion asks 3: a good session with 4 is a slip (ruling 75)."""
    made = ready_rc2(sessions=False).session(-8, *GOOD, R1=(3, 10)).session(-6, *GOOD, R1=(3, 10))
    made.session(-4, *GOOD, R1=(3, 10)).session(-2, 4, 2, 2, R1=(3, 10))
    assert run_state(made) is NOT_MET
    assert run_state(made.session(-1, *GOOD, R1=(3, 10))) is MET


def test_ruling_52_the_gap_is_to_a_session_that_counts() -> None:
    """Ruling 75: 15 days between two light resisted sessions, and an assisted one between bridges nothing."""
    made = twos(case("RC2", day=30), -30, 14).session(-17, *GOOD, R1=(3, 10)).mornings(-12, 2, 2, 2)
    made.session(-8, *GOOD, A1=(3, 10)).session(-2, *GOOD, R1=(3, 10)).session(-1, *GOOD, R1=(3, 10))
    assert run_state(made) is UNKNOWN
    assert run_state(made.session(-16, *GOOD, R1=(3, 10))) is MET  # 14 days


# --- ruling 53: limits -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "onset", "breach"),
    [("AD1", 60, True), ("AD2", 42, True), ("AD2", 43, False), ("AD3", 42, True), ("AD3", 43, False)],
)
def test_ruling_53_combined_movement(stage: str, onset: int, breach: bool) -> None:
    """All of AD1; before day 42 in AD2 and AD3. The session is the day before the day given."""
    made = case(stage, day=5, onset=onset).session(-1, 1, 1, None, item("A1", combined=True))
    assert ("LIM" in live_codes(made)) is breach


def test_ruling_53_surgery_date_missing_means_the_first_stage() -> None:
    """In PO3 without a surgery date: assisted work is a breach, since the date's own stage is PO1."""
    made = case("PO3", day=5, onset=-1).orders(-50).session(-1, 1, 1, None, A1=(3, 10))
    assert reason(standing_of(made), "LIM").severity == 2
    assert "LIM" not in live_codes(case("PO3", day=5).session(-1, 1, 1, None, A1=(3, 10)))


@pytest.mark.parametrize("stage", ["FX1", "AD1"])
def test_ruling_53_the_sling_template_is_for_operations_only(stage: str) -> None:
    """Sling off on day 9 after a fracture or a dislocation is no breach."""
    assert "LIM" not in live_codes(case(stage, day=10).session(-1, 1, 1, None, bare=True, sling_off=True))
    assert "LIM" in live_codes(case("PO1", day=10).session(-1, 1, 1, None, bare=True, sling_off=True))


def test_ruling_53_a_limit_counts_while_in_force() -> None:
    """A value of the day before the order is dated is no breach; on its date it is."""
    before = case("PO2", day=18).orders(-5, external_rotation_limit=30).measure(-6, ROTATION, 40)
    assert "LIM" not in live_codes(before)
    on_the_day = case("PO2", day=18).orders(-5, external_rotation_limit=30).measure(-5, ROTATION, 40)
    assert "LIM" in live_codes(on_the_day)


# --- ruling 54: scores owed ------------------------------------------------------------------------------


def test_ruling_54_no_score_is_owed_after_discharge() -> None:
    """The discharge screen asks; the list does not."""
    made = case("RC3", day=30, first=60, scored=False)
    assert "PRM" in live_codes(made)
    assert "PRM" not in live_codes(made.discharge(-1))


def test_ruling_54_the_total_is_the_region_score() -> None:
    """The patient-specific function does not answer it."""
    made = case("RC3", day=30, first=60, scored=False).score(-5, "PSFS", 7)
    assert "PRM" in live_codes(made)
    assert "PRM" not in live_codes(made.score(-5, "SPADI", 30))


def test_ruling_54_a_letter_dated_before_the_referral_does_not_answer_it() -> None:
    """On or after it."""
    assert "LTR" in live_codes(case("RC2", day=20).letter(-5, "referral").referral(-4, "other"))
    assert "LTR" not in live_codes(case("RC2", day=20).referral(-4, "other").letter(-4, "referral"))


# --- ruling 55: review not needed; rebook ----------------------------------------------------------------


def test_ruling_55_review_not_needed_sets_the_next_due_date() -> None:
    """That date plus the interval: typed 10 days ago, interval 21, due in 11 days; 30 days ago: overdue."""
    made = case("RC2", day=40, last_visit=35).decision(-10, "review not needed")
    assert (standing_of(made).review.due, "OVD1" in live_codes(made)) == (TODAY + timedelta(11), False)
    late = case("RC2", day=60, last_visit=55).decision(-30, "review not needed")
    assert ("OVD1", 42, 9) in live(standing_of(late))


def test_ruling_55_rebook_clears_the_missed_visits_until_the_next_miss() -> None:
    """Two missed, rebooked: cleared; the new slot missed too: three in a row."""
    made = case("RC2", day=40, last_visit=30, interval=60).missed(-20).missed(-10)
    assert reason(standing_of(made), "DNA").severity == 2
    made.booked(-2, made=-8)
    assert "DNA" not in live_codes(made)
    assert reason(standing_of(made.attendance(-2)), "DNA").severity == 3


# --- ruling 56: checkpoint -------------------------------------------------------------------------------


def test_ruling_56_any_score_of_response_lets_it_be_judged() -> None:
    """Checkpoint on day 84: SPADI of day 40 is too old, the function of day 56 (28 days) lets it be judged,
    that of day 55 does not; then the score is what is missing (4.7)."""

    def made(day: int) -> Builder:
        one = case("RC3", day=40, first=100, scored=False).score(-100, "SPADI", 50).score(-100, "PSFS", 4)
        return one.score(-60, "SPADI", 48).score(day - 100, "PSFS", 4)

    assert reason(standing_of(made(56)), "WRS").severity == 1
    assert "WRS" not in live_codes(made(55))
    assert "PRM" in live_codes(made(55))


def test_ruling_56_score_improved_reads_the_region_score_only() -> None:
    """RC4: function 3 points up, SPADI 50 to 45: the exit is not met; to 37 it is."""
    for now, expected in ((45, NOT_MET), (38, NOT_MET), (37, MET)):
        made = twos(case("RC4", day=20, scored=False)).score(-20, "SPADI", 50).score(-20, "PSFS", 5)
        made.score(-2, "SPADI", now).score(-2, "PSFS", 8)
        assert criterion(standing_of(made), "score improved").state is expected


# --- ruling 58: message after discharge ------------------------------------------------------------------


def closed() -> Builder:
    """Discharged 20 days ago, nothing owed."""
    return case("RC4", day=60, last_visit=21).discharge(-20, letter=False)


def test_ruling_58_counts_from_the_first_unanswered_message() -> None:
    """Messages on -9 and -3: severity and days open 9; answered on -5, again on -3: 3."""
    twice = closed().contact(-9, "message received").contact(-3, "message received")
    assert live(standing_of(twice)) == [("MSG", 9, 9)]
    answered = closed().contact(-9, "message received").contact(-5, "spoke").contact(-3, "message received")
    assert live(standing_of(answered)) == [("MSG", 3, 3)]


def test_ruling_58_a_check_in_after_discharge_is_such_a_message() -> None:
    """Practice 4.13 case 26: stored, flagged, not reopened."""
    made = closed().session(-3, 3, 2, 2)
    assert live(standing_of(made)) == [("MSG", 3, 3)]
    assert standing_of(made).status == "closed"


def test_ruling_58_cleared_by_contact_or_reopening() -> None:
    """An attempt is not enough."""
    assert live_codes(closed().contact(-3, "message received").contact(-2, "spoke")) == []
    assert "MSG" in live_codes(closed().contact(-3, "message received").contact(-2, "no answer"))
    assert "MSG" not in live_codes(closed().contact(-3, "message received").reopen(-1).visit(-1))


def test_ruling_58_a_closed_case_carries_only_danger_message_and_letter() -> None:
    """Overdue, silent, score owed, stalled, range lost, flaring: none of it speaks after discharge."""
    made = twos(case("RC2", day=90, first=95, last_visit=80, scored=False), -40, 5)
    made.measure(-80, ROTATION, 60).measure(-40, ROTATION, 40).measure(-30, ROTATION, 40)
    made.session(-26, 8, 5, 8).session(-25, 8, 5, 8).missed(-24).missed(-22)
    assert len(live_codes(made)) > 3
    made.discharge(-20)
    assert live_codes(made) == ["LTR"]
    made.screen(-3, MASS, "yes").event(-3, "fall").contact(-2, "message received")
    assert live_codes(made) == ["RED", "INJ", "MSG", "LTR"]


# --- ruling 59: order of not-met lines -------------------------------------------------------------------


@pytest.mark.parametrize("injured", [False, True])
def test_ruling_59_order_of_blocks_and_criteria(injured: bool) -> None:
    """Limit broken, new injury, red-flag query, flare, range lost, surgeon not told, then criteria."""
    made = ready_po3(day=50, onset=95, flexion=None, cleared=False)
    made.measure(-1, "active_flexion", 60).measure(-1, "passive_flexion", 100)
    made.measure(-20, ROTATION, 60).measure(-9, ROTATION, 40).measure(-1, ROTATION, 40)
    made.session(-1, 1, 1, None, R1=(3, 10)).screen(-1, MASS, "yes", severity=1)
    made.measure(-9, "night_waking", 0).measure(-1, "night_waking", 5)
    if injured:
        made.event(-1, "fall")
    verdict = standing_of(made).verdict
    said = [about(block) for block in verdict.blocks if block.state is Truth.NOT_MET]
    wanted = ["limit", "red-flag query", "pain not settling", "range being lost", "surgeon"]
    if injured:
        wanted.insert(1, "injury")
    places = [next((i for i, text in enumerate(said) if want in text), -1) for want in wanted]
    assert -1 not in places, (places, said)
    assert places == sorted(places), said
    assert verdict.first_unmet is not None
    assert about(verdict.first_unmet) == said[0]
    assert any(c.state is Truth.NOT_MET for c in verdict.criteria)


def test_ruling_59_creep_and_waking_keep_their_words_in_the_first_stage() -> None:
    """RC1 with four more nights woken: "pain not settling", not "reduce load"."""
    made = ready_rc1().measure(-9, "night_waking", 0).measure(-1, "night_waking", 4)
    assert word(made) is Word.NOT_YET
    assert "pain not settling" in line(made)
    assert "reduce load" not in line(made)


# --- ruling 60: observations -----------------------------------------------------------------------------


def test_ruling_60_the_newest_other_side_value_judges_older_ones() -> None:
    """Other side 170 then 150: flexion 135 of before is 90 % of the newer value (79 % of the older)."""
    made = ready_rc2().both(-2, "active_flexion", 135, 170)
    assert criterion(standing_of(made), "active flexion").state is NOT_MET
    made.measure(-1, "active_flexion", 150, other=True)
    assert criterion(standing_of(made), "active flexion").state is MET


def test_ruling_60_observations_before_the_stage_count() -> None:
    """Stage entered 15 days ago; flexion and strength measured 20 days ago, in the stage before."""
    made = twos(case("RC2", day=15, first=40)).good(3, last=-2, R1=(3, 10))
    made.both(-20, "active_flexion", 160, 170).percent(-20, "external_rotation_strength", 75)
    assert word(made) is Word.READY


def test_ruling_60_sessions_before_the_stage_do_not_count() -> None:
    """Sessions are not observations: older than the stage entry they do not count (4.3)."""
    made = twos(case("OA2", day=3, first=30)).good(2, last=-1)
    made.session(-8, *GOOD)
    standing = standing_of(made)
    assert criterion(standing, "good sessions").state is UNKNOWN


# --- ruling 61: the 50 % rule ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "day", "onset", "read"),
    [
        ("RC2", 20, None, True),
        ("PO3", 41, 83, False),
        ("PO4", 5, 89, False),
        ("FX2", 20, 42, False),
        ("AD1", 10, 10, False),
        ("AD2", 10, 20, True),
        ("FS1", 20, None, False),
        ("FS2", 20, None, False),
        ("OA2", 20, None, False),
    ],
)
def test_ruling_61_where_half_of_the_other_side_is_read(
    stage: str, day: int, onset: int | None, read: bool
) -> None:
    """Not in AD1, FS and OA, where it is the expected state, and never in PO and FX (ruling 86).

    Rotation 31 of 65: below half, and above the 30 degrees of post-operative stiffness."""
    made = case(stage, day=day, onset=onset).both(0, ROTATION, 31, 65)
    assert (3 in [r.severity for r in standing_of(made).reasons if r.code == "STF"]) is read


def test_ruling_61_loss_against_the_own_best_still_speaks() -> None:
    """FS2: 30 degrees lost by the same rater is act level although the half rule is not read."""
    made = case("FS2", day=30).measure(-28, ROTATION, 60).measure(-12, ROTATION, 44).measure(-2, ROTATION, 44)
    assert reason(standing_of(made), "STF").severity == 2


# --- ruling 62 -------------------------------------------------------------------------------------------


def test_ruling_62_a_flare_by_the_ceiling_is_never_a_settled_morning() -> None:
    """Baseline 8: mornings of 9 are within one point of it and settle nothing."""
    made = twos(case("RC2", day=20), -13, 5, 8).session(-6, 8, 3, 8).session(-5, 8, 3, 9)
    made.mornings(-3, 9, 9)
    assert "FLA" in live_codes(made)
    settled = twos(case("RC2", day=20), -13, 5, 8).session(-6, 8, 3, 8).session(-5, 8, 3, 9)
    assert "FLA" not in live_codes(settled.mornings(-3, 8, 8))


@pytest.mark.parametrize(("between", "act"), [(49, True), (50, False)])
def test_ruling_62_every_value_between_two_drift_values_lies_low_too(between: int, act: bool) -> None:
    """First 44, second 44 nine days later; a value between of 50 breaks the confirmation."""
    made = case("RC2", day=20).measure(-18, ROTATION, 60).measure(-10, ROTATION, 44)
    made.measure(-5, ROTATION, between).measure(-1, ROTATION, 44)
    assert ("STF" in live_codes(made)) is act


@pytest.mark.parametrize(
    ("stage3_from", "session", "breach"),
    [
        (-4, -1, False),  # earlier than the template (day 42 is day 0): permitted
        (-4, -5, True),  # before the ordered date
        (10, -1, True),
    ],
)
def test_ruling_62_an_order_naming_a_stage_wins_either_way(
    stage3_from: int, session: int, breach: bool
) -> None:
    """Case in PO3 on day 42 of an order that opens it earlier or later than the template."""
    made = case("PO3", day=6, onset=42).orders(-30, stage3_from=stage3_from)
    made.session(session, 1, 1, None, A1=(3, 10))
    assert ("LIM" in live_codes(made)) is breach


def test_ruling_62_an_order_later_than_the_template_closes_the_gate() -> None:
    """Day 85, ordered date for strengthening on day 95: NOT YET; without the order READY."""
    assert word(ready_po3()) is Word.READY
    assert word(ready_po3().orders(-10, stage4_from=10)) is Word.NOT_YET
    assert word(ready_po3(onset=60).orders(-10, stage4_from=-1)) is Word.READY


def test_ruling_62_the_newest_order_naming_the_stage_wins() -> None:
    """A newer order that does not name the stage changes nothing; one that names it wins."""
    made = ready_po3(onset=60).orders(-20, stage4_from=-1)
    assert word(made) is Word.READY
    assert word(made.orders(-10, external_rotation_limit=40)) is Word.READY
    assert word(made.orders(-5, stage4_from=20)) is Word.NOT_YET


def test_ruling_62_past_sessions_are_not_judged_again() -> None:
    """Assisted work on -6 when it was allowed; an order of -2 puts the stage off: no breach."""
    made = case("PO3", day=10, onset=55).session(-6, 1, 1, None, A1=(3, 10)).orders(-2, stage3_from=20)
    assert "LIM" not in live_codes(made)
    assert "LIM" in live_codes(made.session(-1, 1, 1, None, A1=(3, 10)))


@pytest.mark.parametrize(
    ("stage", "until", "named", "refused"),
    [
        ("RC2", 42, None, False),
        ("RC2", 43, None, True),
        ("PO2", 20, None, True),
        ("PO2", 20, "consultant A", False),
    ],
)
def test_ruling_62_a_refused_hold_is_never_recorded(
    stage: str, until: int, named: str | None, refused: bool
) -> None:
    """Over 42 days, or in a protected stage without surgeon or lead named."""
    made = case(stage, day=20).hold(0, until, "awaiting surgeon", named=named)
    faults = check_case(head(stage[:2]), made.entries, today=TODAY, rules=rules())
    assert bool(faults) is refused, [str(f) for f in faults]


# --- absence is never zero, whatever the ruling ----------------------------------------------------------


@pytest.mark.parametrize("absent", list(Absence))
def test_ruling_60_an_absent_value_is_no_observation(absent: Absence) -> None:
    """Not measured, not asked, declined and prohibited leave a criterion unknown and raise nothing."""
    made = ready_rc2(strength=False).measure(-3, "external_rotation_strength", absent)
    assert criterion(standing_of(made), "strength").state is UNKNOWN
    assert word(made) is Word.UNKNOWN
    drift = case("RC2", day=20).measure(-18, ROTATION, 60).measure(-1, ROTATION, absent)
    assert not {"WAT", "STF"} & set(codes(standing_of(drift)))


def test_ruling_60_ready_cases_stay_ready() -> None:
    """Control for the cases above."""
    for made in (ready_rc1(), ready_rc2(), ready_rc4(), ready_po3(), ready_fx1(), ready_ad1()):
        assert word(made) is Word.READY
