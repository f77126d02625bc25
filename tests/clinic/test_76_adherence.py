"""Ruling 76 of the practice notes with 94 and 95: sessions done of sessions asked, and "seldom done"."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.decisions import silences
from armrise.store.clinic.standing.explain import explain
from armrise.store.clinic.verdict.adherence import adherence
from tests.clinic.build import TODAY, Builder, case, item, live, reason, rules, standing_of
from tests.clinic.build_more import MET, NOT_MET, UNKNOWN, criterion, live_codes

LAST = range(-6, 1)
"""The days of the newest week, and of the one before it."""
BEFORE = range(-13, -6)


def asked(per_week: int | None, *, since: int = -30, **more: Any) -> Builder:
    """OA2 with one exercise asked for so often a week."""
    return case("OA2", day=40, last_visit=14).programme(since, "A1", per_week=per_week, **more)


def doing(made: Builder, days: Iterable[int], **more: Any) -> Builder:
    """One session on each of these days, with the usual exercise and no pain told."""
    for day in days:
        made.session(day, None, None, None, item("A1"), **more)
    return made


def per_cent(made: Builder) -> int | None:
    found = adherence(View.of(made.record(), rules(), TODAY))
    return None if found is None else found.percent


# --- counted --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("times", "expected"), [(3, 100), (2, 66), (None, 100), (4, 100), (1, 33)])
def test_76_three_times_daily(times: int | None, expected: int) -> None:
    """per_week 21: 42 of 42, and 28 of 42. The only session of a date of which nobody said how often stands
    for as often as asked."""
    assert per_cent(doing(asked(21), [*BEFORE, *LAST], times=times)) == expected


def test_76_several_sessions_of_a_date_count_each() -> None:
    made = doing(doing(asked(21), [*BEFORE, *LAST]), [*BEFORE, *LAST], ordinal=2)
    assert per_cent(made) == 66
    assert per_cent(doing(made, [*BEFORE, *LAST], ordinal=3, times=6)) == 100


@pytest.mark.parametrize(("done", "expected"), [(5, 100), (3, 100), (2, 66), (1, 33)])
def test_76_no_week_counts_more_than_asked(done: int, expected: int) -> None:
    """per_week 3, done on 5 days in each week: 100 %, and never 166."""
    assert per_cent(doing(asked(3), [*list(BEFORE)[:done], *list(LAST)[:done]])) == expected


def test_76_more_in_one_week_makes_up_for_nothing() -> None:
    assert per_cent(doing(asked(3), [*list(BEFORE)[:5], *list(LAST)[:1]])) == 66


@pytest.mark.parametrize(
    ("before", "last", "expected"),
    [(2, 3, 35), (2, 4, 42), (7, 7, 100), (1, 1, 14), (0, 7, None), (7, 0, None)],
)
def test_76_daily(before: int, last: int, expected: int | None) -> None:
    """per_week 7, 2 and 3 days: 35 %. Counted where each of the two weeks holds a session."""
    assert per_cent(doing(asked(7), [*list(BEFORE)[:before], *list(LAST)[:last]])) == expected


@pytest.mark.parametrize(
    ("days", "expected"),
    [((-14, -6), None), ((-13, -6), 14), ((-13, 0), 14), ((-7, -6), 14), ((-7, -8), None)],
)
def test_76_the_weeks_are_the_newest_fourteen_days(days: tuple[int, ...], expected: int | None) -> None:
    assert per_cent(doing(asked(7), days)) == expected


def test_76_the_share_is_the_mean_of_the_exercises() -> None:
    """One done daily, one never, one without a frequency: 50 %."""
    made = doing(asked(7), [*BEFORE, *LAST]).programme(-30, "A1", exercise="other", per_week=7)
    assert per_cent(made.programme(-30, "A1", exercise="at will")) == 50


def test_76_a_session_without_exercises_counts_for_every_one() -> None:
    made = asked(7).programme(-30, "A1", exercise="other", per_week=7)
    for day in (*BEFORE, *LAST):
        made.session(day, None, None, None, bare=True)
    assert per_cent(made) == 100


def test_76_an_exercise_left_out_was_not_done() -> None:
    made = asked(7)
    for day in (*BEFORE, *LAST):
        made.session(day, None, None, None, item("A1", 0, sets_asked=3))
    assert per_cent(made) == 0


@pytest.mark.parametrize(("since", "expected"), [(-13, 57), (-12, 100), (-6, 100), (-5, None)])
def test_76_an_exercise_counts_from_its_first_whole_week(since: int, expected: int | None) -> None:
    """Done on D-13 and daily in the newest week: 8 of 14, or 7 of 7 where the first week was not whole."""
    made = case("OA2", day=40, last_visit=14).programme(since, "A1", per_week=7)
    assert per_cent(doing(made, [-13, *LAST])) == expected


@pytest.mark.parametrize(("changed", "expected"), [(-14, 100), (-3, None), (-10, 100)])
def test_94_an_exercise_counts_anew_from_any_change_of_its_frequency(
    changed: int, expected: int | None
) -> None:
    made = doing(asked(21), [*BEFORE, *LAST], times=1).programme(changed, "A1", per_week=7)
    assert per_cent(made) == expected


def test_94_another_dose_at_the_same_frequency_changes_nothing() -> None:
    assert per_cent(doing(asked(7), [*BEFORE, *LAST]).programme(-3, "A1", 2, per_week=7)) == 100


def test_76_what_was_stopped_and_begun_again_counts_anew() -> None:
    made = (
        doing(asked(7), [*BEFORE, *LAST]).programme(-5, "A1", stopped="hurts").programme(-4, "A1", per_week=7)
    )
    assert per_cent(made) is None
    assert per_cent(doing(asked(7), [*BEFORE, *LAST]).programme(-5, "A1", stopped="hurts")) is None


def test_76_without_a_frequency_nothing_is_counted() -> None:
    assert per_cent(doing(asked(None), [*BEFORE, *LAST])) is None


# --- told -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("day", "expected"), [(-14, 80), (-15, None)])
def test_76_a_percentage_told_counts_14_days(day: int, expected: int | None) -> None:
    assert per_cent(asked(7).measure(day, "adherence", 80)) == expected


@pytest.mark.parametrize(("day", "expected"), [(-28, 64), (-29, None)])
def test_76_a_summary_counts_28_days(day: int, expected: int | None) -> None:
    """9 of 14 days."""
    assert per_cent(asked(7).summary(day, day - 14, "9/14")) == expected


@pytest.mark.parametrize(("summed", "told", "expected"), [(-3, -2, 80), (-2, -3, 64), (-2, -2, 64)])
def test_76_the_newest_told_counts(summed: int, told: int, expected: int) -> None:
    """Of one date the lower: the safer reading."""
    assert per_cent(asked(7).summary(summed, -17, "9/14").measure(told, "adherence", 80)) == expected


def test_76_told_never_overrides_counted() -> None:
    made = doing(asked(7), [-8, -1]).summary(0, -14, "14/14").measure(0, "adherence", 100)
    assert per_cent(made) == 14


@pytest.mark.parametrize("line", ["9/. 4", "./14 4", ". 4"])
def test_76_a_summary_without_days_says_nothing(line: str) -> None:
    assert per_cent(asked(7).summary(0, -14, line)) is None


@pytest.mark.parametrize(("line", "expected"), [("10/14", MET), ("9/14", NOT_MET), (". 4", UNKNOWN)])
def test_76_an_exit_that_asks_for_it_reads_the_summary(line: str, expected: Truth) -> None:
    """OA2: at least 70 %."""
    found = criterion(standing_of(asked(7).summary(0, -14, line)), "70 %")
    assert found.state is expected
    assert ("as told" in found.observed) is (expected is not UNKNOWN)


def test_76_an_exit_that_asks_for_it_reads_what_is_counted() -> None:
    assert criterion(standing_of(doing(asked(7), [*BEFORE, *LAST])), "70 %").observed == "100 %"


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (doing(asked(7), [-8, -2, -1]), "few sessions: 3 in 14 days"),
        (asked(7).summary(0, -14, "6/14"), "few sessions: 6 of 14 days, as told"),
        (asked(7).measure(0, "adherence", 40), "few sessions: 40 per cent, as told"),
    ],
)
def test_76_few_sessions_is_a_caution(made: Builder, said: str) -> None:
    assert said in standing_of(made).cautions


def test_76_from_half_of_it_on_it_is_not() -> None:
    assert not [c for c in standing_of(asked(7).summary(0, -14, "7/14")).cautions if "few sessions" in c]


def test_76_the_case_shows_it() -> None:
    shown = explain(asked(7).summary(0, -14, "9/14").record(), rules(), TODAY)["adherence"]
    assert shown == {
        "percent": 64,
        "on": "2026-03-02",
        "as_told": True,
        "words": "9 of 14 days, as told",
        "diary_kept": False,
    }


# --- seldom done ----------------------------------------------------------------------------------------


def low(made: Builder) -> tuple[int, int] | None:
    """Severity and days open of "seldom done"."""
    return next(((s, d) for c, s, d in live(standing_of(made)) if c == "LOW"), None)


@pytest.mark.parametrize(
    ("before", "last", "expected"),
    [
        (2, 2, (72, 0)),  # ruling 95: 28 % in each week
        (2, 3, None),  # ruling 95: 42 % in one
        (3, 2, None),
        (2, 4, None),  # ruling 76
        (1, 1, (86, 0)),
        (0, 1, None),  # a week without any session: nothing recorded, and not this
        (1, 0, None),
    ],
)
def test_95_seldom_done_is_below_35_per_cent_in_each_of_two_weeks(
    before: int, last: int, expected: tuple[int, int] | None
) -> None:
    """per_week 7, sessions at the beginning of each week."""
    made = doing(asked(7), [*list(BEFORE)[:before], *list(LAST)[:last]])
    found = low(made)
    assert (found and found[0]) == (expected and expected[0])


def test_95_its_words_name_the_lowest_exercise() -> None:
    made = doing(asked(7), [-13, -12, -6, -5]).programme(-30, "A1", exercise="other", per_week=7)
    found = reason(standing_of(made), "LOW")
    assert found.sentence == "seldom done or seldom recorded: 0 of 14 asked in two weeks (other)"
    assert (found.severity, found.name, found.rank, found.tier) == (100, "seldom done", 20, "move on")
    alone = reason(standing_of(doing(asked(7), [-13, -12, -6, -5])), "LOW")
    assert alone.sentence == "seldom done or seldom recorded: 4 of 14 asked in two weeks (exercise A1)"


def test_95_every_exercise_has_to_be_seldom_done() -> None:
    made = doing(asked(7), [-13, -12, -6, -5]).programme(-30, "A1", exercise="other", per_week=2)
    for day in (-13, -6):
        made.session(day, None, None, None, item("A1", exercise="other"), ordinal=2)
    assert low(made) is None


@pytest.mark.parametrize(("since", "expected"), [(-13, 72), (-12, None)])
def test_76_an_exercise_in_force_through_both_weeks(since: int, expected: int | None) -> None:
    found = low(doing(asked(7, since=since), [-13, -12, -6, -5]))
    assert (found and found[0]) == expected


def test_76_a_newer_exercise_done_often_does_not_hide_it() -> None:
    made = doing(asked(7), [-13, -12, -6, -5]).programme(-10, "A1", exercise="other", per_week=7)
    assert low(made) is not None


@pytest.mark.parametrize(("start", "end", "expected"), [(-20, -13, True), (-20, -12, False), (-1, 5, False)])
def test_76_no_hold_in_the_weeks(start: int, end: int, expected: bool) -> None:
    """A hold ends before its last date; one in force today hides it anyway."""
    assert (low(doing(asked(7), [-13, -12, -6, -5]).hold(start, end)) is not None) is expected


def test_94_days_open_count_from_the_end_of_the_second_week() -> None:
    """Two sessions a week since D-40, asked for daily since D-18: two whole weeks on D-5."""
    days = [d for d in range(-39, 1) if d % 7 in (0, 3)]
    assert low(doing(asked(7, since=-18), days)) == (72, 5)


@pytest.mark.parametrize(
    ("changed", "live"), [({"per_week": 3}, False), ({"per_week": 14}, False), ({"per_week": 7}, True)]
)
def test_76_another_frequency_counts_anew(changed: dict[str, Any], live: bool) -> None:
    made = doing(asked(7), [-13, -12, -6, -5]).programme(0, "A1", **changed)
    assert ("LOW" in live_codes(made)) is live


@pytest.mark.parametrize(("day", "live"), [(-27, False), (0, False), (-28, True)])
def test_76_a_decision_silences_it_for_28_days(day: int, live: bool) -> None:
    seldom = doing(asked(7), [-13, -12, -6, -5])
    assert ("LOW" in live_codes(seldom.decision(day, "seldom done"))) is live


def test_76_what_a_decision_does_is_said_before_it_is_written() -> None:
    seen = View.of(asked(7).record(), rules(), TODAY)
    said = silences(seen, "seldom done", TODAY)
    assert said == 'silences "seldom done" for 28 days, until Mon 30 Mar 2026'


def test_76_what_is_offered_with_it() -> None:
    offered = "seldom done: offer fewer times, or drop one exercise"
    assert offered in standing_of(doing(asked(7), [-13, -12, -6, -5])).cautions
    assert offered not in standing_of(doing(asked(7), [*BEFORE, *LAST])).cautions


# --- seldom done, as told -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "days", "expected"),
    [
        ("6/14", 14, (58, 0)),  # 42 %
        ("7/14", 14, None),  # 50 %
        ("6/13", 13, None),  # a shorter period
        ("0/14", 14, (100, 0)),
        ("./14", 14, None),
    ],
)
def test_95_a_summary_keeps_50_per_cent(line: str, days: int, expected: tuple[int, int] | None) -> None:
    assert low(asked(7).summary(0, -days, line)) == expected


def test_76_seldom_as_told_in_words_and_days() -> None:
    made = asked(7).summary(-4, -18, "6/14")
    assert low(made) == (58, 4)
    found = reason(standing_of(made), "LOW").sentence
    assert found == "seldom done or seldom recorded: 6 of 14 days, as told"


@pytest.mark.parametrize(("day", "live"), [(-28, True), (-29, False)])
def test_76_seldom_as_told_counts_28_days(day: int, live: bool) -> None:
    assert ("LOW" in live_codes(asked(7, since=-80).summary(day, day - 14, "6/14"))) is live


def test_76_what_is_counted_speaks_before_what_is_told() -> None:
    made = doing(asked(7), [*BEFORE, *LAST]).summary(0, -14, "6/14")
    assert low(made) is None


@pytest.mark.parametrize(
    ("answer", "live"),
    [
        (lambda m: m.summary(0, -7, "4/7"), False),
        (lambda m: m.programme(-7, "A1", per_week=3), False),
        (lambda m: m.programme(-7, "A1", stopped="dropped"), False),
        (lambda m: m.programme(-8, "A1", per_week=3), True),
        (lambda m: m.programme(-7, "A1", per_week=14), True),
        (lambda m: m.decision(-1, "seldom done"), False),
        (lambda m: doing(m, [-6, -4, -2]), False),  # three of seven days, in a whole week after it
        (lambda m: doing(m, [-6, -4]), True),
        (lambda m: doing(m, [-7, -6, -5]), True),  # the day of the telling lies in no week after it
        (lambda m: m.hold(-10, -8, named="TK"), False),
        (lambda m: m, True),
    ],
)
def test_76_what_ends_seldom_as_told(answer: Any, live: bool) -> None:
    """Told on D-7 for the fortnight before it."""
    made = asked(7).summary(-7, -21, "6/14")
    assert ("LOW" in live_codes(answer(made))) is live
