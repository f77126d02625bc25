"""Review overdue, silence, missed visits and protected cases out of sight (practice notes 2.2, 1.5, 4.13).

The figures are the practice notes' own (common practice and design), no outside source.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.clinic.build import TODAY, Builder, case, live, on, reason, standing_of, waiting
from tests.clinic.build_more import live_codes, twos

# --- overdue ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("interval", "over", "code", "severity"),
    [
        # practice 2.4, rows C-02, C-07, C-10, C-12, C-13, C-14
        (15, 6, "OVD1", 40),
        (7, 3, "OVD1", 42),
        (20, 4, "OVD1", 20),
        (14, 14, "OVD2", 100),
        (14, 13, "OVD1", 92),
        (42, 10, "OVD1", 23),
        (28, 31, "OVD2", 110),
        (21, 2, "OVD1", 9),
        (1, 1, "OVD2", 100),
    ],
)
def test_overdue_is_a_share_of_the_interval(interval: int, over: int, code: str, severity: int) -> None:
    """(today - due) / interval, times 100, rounded down; a whole interval is another reason."""
    made = case("RC2", day=20, first=interval + over + 1, last_visit=interval + over, interval=interval)
    standing = standing_of(made)
    assert (code, severity, over) in live(standing)
    assert {"OVD1", "OVD2"} - {code} not in live_codes(made)
    assert standing.review.overdue_days == over
    assert standing.review.ratio == pytest.approx(over / interval)


@pytest.mark.parametrize(("last", "overdue"), [(20, 0), (21, 0), (22, 1)])
def test_due_today_is_not_overdue(last: int, overdue: int) -> None:
    """The due day is day 0."""
    standing = standing_of(case("RC2", day=20, first=40, last_visit=last, interval=21))
    assert standing.review.overdue_days == overdue
    assert ("OVD1" in [r.code for r in standing.reasons]) is (overdue > 0)
    assert standing.review.due == on(21 - last)


@pytest.mark.parametrize(
    ("stage", "interval"),
    [
        # practice 3.1 to 3.6, rows "Rev"; PO3 by ruling 27
        *{"RC1": 14, "RC2": 21, "RC3": 28, "RC4": 28}.items(),
        *{"FS2": 28, "FS3": 42}.items(),
        *{"PO1": 14, "PO2": 14, "PO3": 14, "PO4": 21, "PO5": 28}.items(),
        *{"AD1": 14, "AD2": 14, "AD3": 21, "AD4": 28, "AD5": 42}.items(),
        *{"OA1": 21, "OA2": 28, "OA3": 56}.items(),
        *{"FX1": 14, "FX2": 14, "FX3": 21, "FX4": 28}.items(),
    ],
)
def test_interval_of_the_stage(stage: str, interval: int) -> None:
    """Without an interval of its own a visit takes the stage's."""
    assert standing_of(case(stage, day=9)).review.interval == interval


@pytest.mark.parametrize(("seen", "interval"), [(41, 14), (42, 21)])
def test_frozen_shoulder_is_seen_more_often_in_the_first_six_weeks(seen: int, interval: int) -> None:
    """FS1: 21 days, 14 in the first six weeks: by the day of care of the last visit."""
    made = case("FS1", day=60, last_visit=60 - seen)
    assert standing_of(made).review.interval == interval


def test_a_booked_visit_leaves_it_overdue() -> None:
    """4.13 case 40: keeps its place, printed with the booking."""
    made = case("RC2", day=40, first=60, last_visit=30).booked(1, made=-1)
    standing = standing_of(made)
    assert "OVD1" in live_codes(made)
    assert standing.review.booked == TODAY + timedelta(1)


@pytest.mark.parametrize(("start", "end", "over"), [(-15, -3, 3), (-15, -10, 9), (-20, -9, 9)])
def test_after_a_hold_overdue_counts_from_its_end(start: int, end: int, over: int) -> None:
    """4.13 cases 13 and 14: a due date inside the hold moves to its end, else nothing moves."""
    made = case("RC2", day=40, first=60, last_visit=30).hold(start, end)
    standing = standing_of(made)
    assert standing.review.overdue_days == over
    if end > -9:
        assert standing.review.original_due == on(-9)


# --- silence ---------------------------------------------------------------------------------------------


def diary(made: Builder, last: int) -> Builder:
    """A morning told at home some days before the last visit: whoever keeps a diary is missed sooner."""
    return made.morning(last - 3, 2)


@pytest.mark.parametrize(
    ("interval", "threshold"),
    [
        # three quarters of the interval rounded up, floor 10, cap 28 (practice 2.2)
        (7, 10),
        (13, 10),
        (14, 11),
        (15, 12),
        (20, 15),
        (21, 16),
        (28, 21),
        (36, 27),
        (37, 28),
        (38, 28),
        (42, 28),
        (56, 28),
    ],
)
def test_silence_threshold(interval: int, threshold: int) -> None:
    """Silent for N days: true on the N-th day with nothing, not on the day before."""
    for silent in (threshold - 1, threshold, threshold + 2):
        made = diary(case("RC2", day=silent, last_visit=None).visit(-silent, interval), -silent)
        found = [r for r in live(standing_of(made)) if r[0] == "SIL"]
        assert found == ([("SIL", silent, silent - threshold)] if silent >= threshold else [])


def silent(days: int = 30) -> Builder:
    """Nothing since a visit ``days`` ago; interval 56, threshold 28."""
    return diary(case("OA3", day=days, last_visit=None), -days)


def test_any_data_ends_silence() -> None:
    """A check-in, a visit, a contact, an answered message, a score, a measurement (2.2)."""
    assert "SIL" in live_codes(silent())
    for made in (
        silent().session(-5, 3, 2, None),
        silent().summary(-5, -19, "9/14 4 3 2 w"),
        silent().morning(-5, 2),
        silent().visit(-5),
        silent().contact(-5, "spoke"),
        silent().contact(-5, "message answered"),
        silent().score(-5, "WOOS", 60),
        silent().measure(-5, "worst_pain", 3),
    ):
        assert "SIL" not in live_codes(made)


def test_what_is_no_data() -> None:
    """An unanswered call, a booking, a letter, a hold that ended: nobody has heard from the patient."""
    for made in (
        silent().contact(-5, "no answer"),
        silent().summary(-5, -19, "./14"),
        silent().contact(-5, "message left"),
        silent().contact(-5, "wrong number"),
        silent().booked(5, made=-5),
        silent().letter(-5, "progress"),
        silent().attendance(-5, "cancelled by clinic"),
    ):
        assert "SIL" in live_codes(made)


NO_DIARY = [
    *((7, 14), (14, 21), (21, 28), (28, 35), (42, 49)),
    (2, 10),  # the floor is later than the interval and a week
]


@pytest.mark.parametrize(("interval", "threshold"), NO_DIARY)
def test_95_without_a_diary_silence_counts_from_the_interval_and_a_week(
    interval: int, threshold: int
) -> None:
    """max(present figure, review interval + ``silence.no_diary_extra`` = 7)."""
    for days, speaks in ((threshold - 1, False), (threshold, True)):
        made = case("RC2", day=60, last_visit=days, interval=interval, scored=False)
        assert ("SIL" in live_codes(made.session(-days, 3, 2, None))) is speaks


@pytest.mark.parametrize(
    ("day", "kept"),
    [
        (-28, False),  # the newest datum itself, a visit's day
        (-29, False),  # the day before it
        (-30, True),
        (-60, False),  # the day of the visit before
        (-61, False),
        (-59, True),
        (-70, True),  # 42 days up to the newest datum
        (-71, False),
    ],
)
@pytest.mark.parametrize("kind", ["session", "morning"])
def test_95_a_diary_is_what_is_told_between_visits(kind: str, day: int, kept: bool) -> None:
    """Visits 60 and 28 days ago; with a diary silent from day 21, without from day 35."""
    made = case("RC3", day=60, last_visit=28, interval=28, scored=False)
    made = made.session(day, 3, 2, None) if kind == "session" else made.morning(day, 2)
    assert ("SIL" in live_codes(made)) is kept


def test_95_a_morning_nobody_asked_for_is_no_diary() -> None:
    made = case("RC3", day=60, last_visit=28, interval=28, scored=False)
    assert "SIL" not in live_codes(made.morning(-40, None))


def test_95_a_diary_that_falls_silent_still_speaks() -> None:
    """The 42 days end with the newest datum: the visit of 60 days ago and the morning before it."""
    visits_only = case("RC3", day=100, last_visit=60, interval=56, scored=False)
    assert "SIL" not in live_codes(visits_only)
    assert ("SIL", 60, 32) in live(standing_of(visits_only.morning(-80, 2)))


def test_silence_beside_overdue() -> None:
    """Both may be live: overdue and silent is worse than overdue with check-ins (2.2, 2.3 key 6)."""
    made = diary(case("RC2", day=30, last_visit=None), -30)
    assert [c for c in live_codes(made) if c in ("OVD1", "SIL")] == ["OVD1", "SIL"]


# --- missed visits ---------------------------------------------------------------------------------------


def missing(*days: int, **more: object) -> Builder:
    """RC2, review not due, with missed visits; checked in yesterday."""
    made = twos(case("RC2", day=40, last_visit=35, interval=60), -10, 10)
    for day in days:
        made.missed(day)
    return made


@pytest.mark.parametrize(("day", "expected"), [(-6, False), (-7, True), (-8, True)])
def test_one_missed_visit_without_contact_in_seven_days(day: int, expected: bool) -> None:
    """Practice 2.2: one with no contact in 7 days."""
    assert ("DNA" in live_codes(missing(day))) is expected
    if expected:
        assert ("DNA", 1, -day - 7) in live(standing_of(missing(day)))


def test_two_in_a_row_are_a_reason_at_once() -> None:
    """Severity the number in a row; the second one of yesterday, six days after the first, is enough."""
    assert "DNA" not in live_codes(missing(-6))
    assert ("DNA", 2, 1) in live(standing_of(missing(-6, -1)))
    assert reason(standing_of(missing(-20, -12, -1)), "DNA").severity == 3


def test_a_contact_answers_a_missed_visit_and_an_attempt_does_not() -> None:
    """Clears at contact, rebooking or discharge."""
    assert "DNA" not in live_codes(missing(-12, -9).contact(-8, "spoke"))
    assert "DNA" in live_codes(missing(-12, -9).contact(-8, "no answer"))
    assert "DNA" in live_codes(missing(-12, -9).contact(-8, "message left"))
    assert "DNA" not in live_codes(missing(-12, -9).booked(3, made=-8))
    assert "DNA" not in live_codes(missing(-12, -9).visit(-8))


def test_was_not_brought_counts_like_did_not_attend() -> None:
    """A dependent person's missed visit."""
    made = case("RC2", day=40, last_visit=35, interval=60, age_band="under 16")
    assert "DNA" in live_codes(made.missed(-9, "was not brought"))


def test_cancellations_are_not_missed() -> None:
    """Neither by the patient nor by the clinic."""
    made = case("RC2", day=40, last_visit=35, interval=60)
    made.booked(-12).attendance(-12, "cancelled by patient").booked(-9).attendance(-9, "cancelled by clinic")
    assert "DNA" not in live_codes(made)


# --- protected cases out of sight ------------------------------------------------------------------------


def test_any_missed_visit_of_a_protected_case() -> None:
    """Practice 2.2: review overdue by 3 days, or any missed visit, and no contact since."""
    assert "LOST" in live_codes(case("PO2", day=20, last_visit=9).missed(-1))
    assert "LOST" not in live_codes(case("PO2", day=20, last_visit=9))
    assert "LOST" not in live_codes(case("PO2", day=20, last_visit=9).missed(-1).contact(0, "spoke"))


def test_a_visit_ends_it() -> None:
    """Seen: no longer out of sight."""
    assert "LOST" not in live_codes(case("PO2", day=32, last_visit=30).missed(-9).visit(-1))


def test_check_ins_do_not_end_it() -> None:
    """A form sent in is no contact (2.2: somebody spoke, or a written message was answered)."""
    made = case("PO2", day=32, last_visit=30).session(-1, 1, 1, None)
    assert "LOST" in live_codes(made)


def test_a_cancelled_visit_is_not_a_missed_one() -> None:
    """Cancelled by the patient yesterday, review not due: not out of sight."""
    made = case("PO2", day=20, last_visit=9).booked(-1).attendance(-1, "cancelled by patient")
    assert "LOST" not in live_codes(made)


def test_a_referral_waiting_for_its_first_visit() -> None:
    """4.13 case 41: waiting, not staged; neither overdue nor silent, and a red flag speaks all the same."""
    assert standing_of(waiting(registered=60)).status == "waiting"
    assert live_codes(waiting(registered=60)) == []
    flagged = waiting(registered=60).screen(-2, "motor or sensory loss", "yes", source="referral letter")
    assert ("RED", 3, 2) in live(standing_of(flagged))


def test_a_patient_seen_and_never_placed_is_not_lost() -> None:
    """Seen 60 days ago, never put into a stage: something has to speak for it (a blank is a reason)."""
    made = waiting(registered=60).visit(-60).screen_all_no(-60)
    assert live_codes(made) != []


def test_a_stage_the_rule_file_no_longer_has_does_not_lose_the_case() -> None:
    """4.13 case 44: no verdict, and a review overdue or nothing recorded still speaks."""
    made = case("RC2", day=70, last_visit=None).step(-60, "RC9", "forward")
    standing = standing_of(made)
    assert "not in rule file" in standing.stage_name + standing.verdict.line
    assert {"SIL", "OVD1", "OVD2"} & set(live_codes(made))
