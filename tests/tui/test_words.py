"""What the screens say. Vocabulary: the clinic's practice notes, sections 1.2 and 7, and its traps."""

from datetime import UTC, date, datetime, timedelta

import pytest
from rich.cells import cell_len

from armrise.store.record.fields import Absence
from armrise.tui.words import standing as words
from tests.tui.conftest import TODAY, a_caseload, a_pain, a_reason, a_review, a_standing


@pytest.mark.parametrize(
    ("due_in", "interval", "long", "short"),
    [
        (3, 14, "due in 3 days", "due in 3 d"),
        (1, 14, "due in 1 day", "due in 1 d"),
        (0, 14, "due today", "due today"),
        (-1, 14, "1 day overdue, of 14", "1 d over of 14"),
        (-9, 21, "9 days overdue, of 21", "9 d over of 21"),
        (None, 21, "none due", "none due"),
    ],
)
def test_review_is_said_against_its_interval(due_in, interval, long, short):
    case = a_standing("NV-1", review=a_review(due_in, interval))
    assert (words.review_words(case), words.review_shortly(case)) == (long, short)


def test_none_booked_is_said_in_words():
    assert words.booked(a_standing("NV-1")) == "none booked"
    assert words.booked(a_standing("NV-1", review=a_review(3, 14, 3))) == "Thu 5 Mar"
    assert words.booked(a_standing("NV-1", review=a_review(3, 14, 0))) == "booked today"


def test_a_missing_score_is_never_a_zero_and_the_four_absences_differ():
    marks = [words.triple(a_pain(a, a, a)) for a in Absence]
    assert len(set(marks)) == 4
    assert "0" not in marks
    assert words.triple(a_pain(0, Absence.NOT_ASKED, Absence.DECLINED)) == "0/?/d"
    assert words.triple(a_pain()) == "none"
    assert [words.scores(a_pain(a, a, a))[0] for a in Absence] == [a.value for a in Absence]


def test_trend_shows_a_gap_as_a_gap_and_every_step_from_one_to_seven():
    assert words.trend((1, None, 3), 7) == "▁·▃"
    assert len({words.trend((n,), 1) for n in range(1, 8)}) == 7
    assert words.trend((0, None, 10), 7, ascii_only=True) == "0.X"
    assert words.trend((1, 2, 3), 2, ascii_only=True) == "23"
    assert words.trend((), 5) == ""


def test_days_name_the_usual():
    case = a_standing("NV-1", days_in_stage=22, usual_days=35)
    assert words.days_in_stage(case) == "day 22 of usual 35"
    assert words.days_shortly(case) == "22 of 35"
    assert words.days_in_stage(a_standing("NV-1", days_in_stage=None, status="waiting")) == "waiting"


def test_a_reason_in_hand_says_until_when_and_what_was_done():
    reason = a_reason("possible red flag", "possible red flag: mass", hand=4, action="referral sent")
    assert (
        words.reason_line(reason, TODAY) == "in hand until Fri 6 Mar: possible red flag: mass (referral sent)"
    )
    case = a_standing("NV-1", reasons=(reason,))
    assert words.why(case).startswith("in hand until Fri 6 Mar")


def test_the_name_leads_a_sentence_that_does_not_say_it():
    assert words.named(a_reason("new injury", "fell 2 days ago")) == "new injury: fell 2 days ago"
    assert words.named(a_reason("new injury", "new injury 2 days ago")) == "new injury 2 days ago"


def test_dates_carry_the_year_when_it_is_another():
    assert words.day(date(2027, 1, 4), TODAY) == "Mon 4 Jan 2027"
    assert words.day(date(2026, 3, 6), TODAY) == "Fri 6 Mar"
    assert words.data_until(datetime(2026, 3, 2, 8, 5, tzinfo=UTC), TODAY) == "data to 08:05"
    assert words.data_until(datetime(2026, 3, 1, 8, 5, tzinfo=UTC), TODAY) == "data to Sun 1 Mar 08:05"
    assert words.age(timedelta(days=2, hours=3)) == "2 days"


@pytest.mark.parametrize(
    "text", ["", "BY-1", "a much longer text than that", "Ärmel – 肩の痛み", "肩肩肩肩肩肩肩"]
)
@pytest.mark.parametrize("width", [0, 1, 2, 5, 12])
def test_a_text_is_cut_or_filled_to_its_cells(text, width):
    assert cell_len(words.fit(text, width)) == width
    assert cell_len(words.fit(text, width, right=True)) == width


def test_ascii_keeps_every_fact():
    said = words.plain("60° → 45°, ≥ 70 % – “felt easy”")
    assert said.isascii()
    assert said == '60 deg -> 45 deg, >= 70 % - "felt easy"'


def test_no_trap_word_is_ever_said():
    """The traps of the practice notes, section 7: no PROM, no DNA, no bare L or R, no non-attender."""
    for case in a_caseload():
        said = " ".join([words.why(case), words.review_words(case), words.booked(case), case.side])
        for trap in ("PROM", "DNA", " L ", " R ", "non-attender", "non-compliant", "OK"):
            assert trap not in f" {said} "


def test_counts_keep_on_hold_and_closed_apart():
    found = words.counts(a_caseload())
    assert words.statuses(found) == "12 active, 1 waiting, 1 on hold, 1 closed but owing"
    assert [found[tier] for tier in words.TIER_HEADS] == [3, 2, 3, 2, 5]


def test_the_marks_of_the_list_are_letters_of_their_own_in_plain_letters():
    """ "?" is a score nobody asked for: no mark may read like it."""
    assert words.plain("✓ something was written, • something came in") == (
        "+ something was written, . something came in"
    )
