"""A case laid out over time: worked values of pain, range with its error, scores, strength, baseline.

Allowances: practice note 4.6 (one rater 10 and 15 degrees, different raters 20 and 25: de Winter 2004); score
thresholds: practice note 4.9; error of strength tests: ruling 40.
"""

from datetime import timedelta
from decimal import Decimal

import pytest

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.series.scores import instruments, score_series
from armrise.store.clinic.series.series import (
    bands,
    baseline_series,
    pain_days,
    range_series,
    strength_series,
    strengths,
)
from armrise.store.record.fields import Absence
from tests.clinic.build import TODAY, case, on, rules

ROTATION = "passive_external_rotation"
STRENGTH = "external_rotation_strength"


def seen(made):
    return View.of(made.record(), rules(), TODAY)


def test_a_stay_carries_the_pain_limits_of_its_stage():
    made = case("FS2", day=10, first=40)
    told = [(b.stage, b.start, b.end, b.during, b.later, b.rise) for b in bands(seen(made))]
    assert told == [
        ("FS1", on(-40), on(-10), 3, 3, 1),
        ("FS2", on(-10), None, 5, 4, 1),
    ]


def test_pain_days_are_judged_as_the_rules_judge_them():
    made = case("RC2", day=30).mornings(-13, *[2] * 8).session(-5, 3, 3, 2).session(-3, 8, 4, 6)
    days = {d.on: d for d in pain_days(seen(made))}
    good, flare = days[on(-5)], days[on(-3)]
    assert (good.during, good.later, good.morning, good.baseline, good.klass) == (3, 3, 2, 2, "good")
    assert (flare.klass, flare.flare, flare.cause) == ("flare", True, "pain during 8, limit 4")


def test_a_morning_without_a_session_stands_by_itself_and_absences_keep_their_word():
    made = case("RC2", day=30).morning(-9, 4).session(-5, 3, Absence.DECLINED, None).session(0, 2, None, None)
    days = {d.on: d for d in pain_days(seen(made))}
    rest = days[on(-10)]
    assert (rest.klass, rest.during, rest.later, rest.morning) == (None, None, None, 4)
    assert days[on(-5)].later is Absence.DECLINED
    assert days[on(-5)].morning is Absence.NOT_ASKED
    assert days[on(0)].morning is None  # tomorrow has not come


def test_a_check_in_told_late_says_how_late():
    made = case("RC2", day=30).session(-9, 3, 3, 2, recorded=-2)
    assert pain_days(seen(made))[-1].days_late == 6


def test_one_rater_has_the_narrow_error():
    made = case("RC2", day=38).both(-37, ROTATION, 60, 65).measure(-14, ROTATION, 45).measure(0, ROTATION, 42)
    told = range_series(seen(made), ROTATION)
    assert [(e.raters, e.best, e.watch, e.act, e.loss) for e in told.errors] == [
        ("same rater TK", 60, 10, 15, 18)
    ]
    assert (told.loss.watch, told.loss.act) == (True, True)
    assert told.warning.startswith("passive external rotation at side 60 to 45 to 42 degrees, same rater")
    assert [m.value for m in told.others] == [65]


def test_another_rater_widens_the_error_and_ten_degrees_are_no_loss():
    made = case("RC2", day=38).measure(-37, ROTATION, 60).measure(-3, ROTATION, 50, rater="AB")
    told = range_series(seen(made), ROTATION)
    assert [(e.raters, e.best, e.watch, e.act, e.loss) for e in told.errors] == [
        ("same rater AB", 50, 10, 15, 0),
        ("different raters", 60, 20, 25, 10),
    ]
    assert not told.loss.watch
    assert told.warning == ""


def test_an_unknown_rater_is_taken_as_another():
    made = case("RC2", day=38).measure(-37, ROTATION, 60, rater=None).measure(-3, ROTATION, 50, rater=None)
    assert [e.raters for e in range_series(seen(made), ROTATION).errors] == ["different raters"]


def test_repeated_values_and_absences_are_on_record_and_judge_nothing():
    made = case("RC2", day=38).measure(-37, ROTATION, 60).measure(-9, ROTATION, 60, repeated=True)
    made.measure(-2, ROTATION, Absence.PROHIBITED)
    told = range_series(seen(made), ROTATION)
    assert len(told.entries) == 3
    assert told.loss.at.on == on(-37)
    assert range_series(seen(case("RC2")), ROTATION).loss is None


@pytest.mark.parametrize(
    ("instrument", "stage", "first", "now", "expected"),
    [
        # lower is better: 13 responds, 18 is beyond error
        ("SPADI", "RC2", 46, 41, (33, 28, 64, 30, 5, Truth.NOT_MET, "lower is better")),
        ("SPADI", "RC2", 60, 46, (47, 42, 78, 30, 14, Truth.MET, "lower is better")),
        # higher is better: both are 6
        ("OSS", "PO4", 20, 27, (26, 26, 14, 40, 7, Truth.MET, "higher is better")),
        # too good for the response to be reached: the acceptable state decides
        ("SPADI", "RC2", 9, 9, (None, None, 27, 30, 0, Truth.MET, "lower is better")),
    ],
)
def test_thresholds_lie_toward_better_from_the_first_total(instrument, stage, first, now, expected):
    made = case(stage, day=40, scored=False).score(-39, instrument, first).score(-1, instrument, now)
    told = score_series(seen(made), instrument)
    assert (
        told.response_at, told.detectable_at, told.worse_at, told.acceptable_at,
        told.toward_better, told.responded, told.direction,
    ) == expected  # fmt: skip


def test_a_form_of_another_version_and_an_incomplete_one_are_kept_apart():
    made = case("RC2", day=40, scored=False).score(-39, "SPADI", 60, version="1")
    made.score(-20, "SPADI", None, version="2").score(-1, "SPADI", 50, version="2")
    told = score_series(seen(made), "SPADI")
    assert len(told.forms) == 3
    assert [s.total for s in told.totals] == [50]
    assert told.toward_better is None


def test_the_pathways_own_score_comes_first():
    made = case("RC2", day=40, scored=False).score(-39, "PSFS", 4)
    assert instruments(seen(made)) == ["PSFS"]
    assert instruments(seen(made.score(-1, "SPADI", 40))) == ["SPADI", "PSFS"]
    assert instruments(seen(case("PO2", scored=False))) == ["OSS"]


def test_strength_is_per_cent_of_the_newest_other_side_with_the_error_of_its_raters():
    made = case("RC2", day=40).both(-39, STRENGTH, "6.2", "12.4").measure(-20, STRENGTH, 8)
    made.measure(-1, STRENGTH, 9, rater="AB")
    told = strength_series(seen(made), STRENGTH)
    assert [(int(p.percent), p.error, p.raters) for p in told.points] == [
        (50, 15, "one rater"),
        (64, 15, "one rater"),
        (72, 25, "two raters"),
    ]
    assert told.other.value == Decimal("12.4")


def test_no_per_cent_without_a_reference_of_a_grade_or_of_an_absence():
    apart = case("RC2", day=40).both(-9, STRENGTH, 8, 12).finding(-1, "other side is a reference", "no")
    assert [p.percent for p in strength_series(seen(apart), STRENGTH).points] == [None]
    graded = case("RC2", day=40).both(-9, STRENGTH, 4, 5, unit="grade 0-5")
    assert [p.percent for p in strength_series(seen(graded), STRENGTH).points] == [None]
    barred = case("RC2", day=40).measure(-9, STRENGTH, Absence.PROHIBITED).percent(-1, STRENGTH, 80)
    assert [p.percent for p in strength_series(seen(barred), STRENGTH).points] == [None, 80]
    assert strengths(seen(case("RC2"))) == [STRENGTH]
    assert strengths(seen(barred.measure(-1, "abduction_strength", 6))) == [STRENGTH, "abduction_strength"]


def test_the_baseline_creeps_on_the_day_the_rules_say():
    made = case("OA2", day=40).mornings(-39, *[2] * 12).mornings(-20, *[3] * 10).mornings(-9, *[4] * 9)
    told = baseline_series(seen(made), TODAY - timedelta(days=39))
    assert told.first[0] == 2
    assert told.crept[:3] == (2, 2, 4)
    crept = [d.on for d in told.days if d.crept]
    before = next(d for d in told.days if d.on == crept[0] - timedelta(days=1))
    assert (before.baseline, before.crept) == (3, False)
    assert all(d.baseline == 4 for d in told.days if d.crept)
    assert crept[-1] == TODAY
