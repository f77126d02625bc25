"""How fresh the red-flag screen is (ruling 71, with 94 and 95): full screens, the one question, once more."""

from __future__ import annotations

from typing import Any

import pytest

from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.freshness import newest_full
from armrise.store.record.kinds.safety import NOT_NAMED
from tests.clinic.build import TODAY, Builder, case, codes, live, on, reason, rules, standing_of
from tests.clinic.build_more import always_asked, ready_rc1

NIGHT = "unrelenting night pain"
ITEMS = always_asked()


def screened(*full: int, no: tuple[int, ...] = (), yes: tuple[int, ...] = (), **more: Any) -> Builder:
    """A case that is ready but for the screen: full screens and answers to the question on these days."""
    made = ready_rc1(day=210, screened=False, **more)
    for day in full:
        made.screen_all_no(day)
    for day in no:
        made.contact(day, anything_new="no")
    for day in yes:
        made.contact(day, anything_new="yes")
    return made


def withheld(made: Builder) -> str:
    """What READY lacks, empty when it is READY."""
    found = standing_of(made).verdict
    return "" if found.word is Word.READY else found.line


def full_on(made: Builder) -> int | None:
    """Days from today of the newest full screen."""
    found = newest_full(View.of(made.record(), rules(), TODAY))
    return (found.on - TODAY).days if found else None


# --- the worked examples ------------------------------------------------------------------------------------


def test_71_yes_withheld_full_screen_of_200_days_ago() -> None:
    assert withheld(screened(-200)) == "to record: red-flag screen, in full"


def test_71_yes_withheld_question_never_asked() -> None:
    assert withheld(screened(-60)) == "to record: red-flag question"


@pytest.mark.parametrize("made", [lambda: screened(-60, no=(-20,)), lambda: screened(-40)])
def test_71_no_fresh(made: Any) -> None:
    """Full D-60 and "no" D-20; full D-40 alone."""
    assert withheld(made()) == ""


# --- fresh, both sides of each figure -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("full", "no", "lacks"),
    [
        (-42, (), ""),
        (-43, (), "red-flag question"),
        (-84, (-42,), ""),
        (-84, (-43,), "red-flag question"),
        (-84, (), "red-flag question"),
        (-85, (-1,), "red-flag screen, in full"),
    ],
)
def test_71_days_of_a_full_screen_and_of_the_question(full: int, no: tuple[int, ...], lacks: str) -> None:
    assert withheld(screened(full, no=no)) == (f"to record: {lacks}" if lacks else "")


def test_71_a_yes_and_a_question_not_asked_keep_nothing_fresh() -> None:
    made = screened(-60).contact(-5).contact(-4, anything_new="yes").flag_outcome(-3, NOT_NAMED)
    assert withheld(made) == "to record: red-flag question"


@pytest.mark.parametrize(("last", "full"), [(-3, -10), (-2, None)])
def test_71_items_of_seven_days_are_a_full_screen_dated_as_the_oldest(last: int, full: int | None) -> None:
    made = case("RC2", day=20, screened=False).screen(-10, ITEMS[0], "no")
    for item in ITEMS[1:]:
        made.screen(last, item, "declined" if item == NIGHT else "no")
    assert full_on(made) == full


def test_71_not_asked_is_no_answer_of_a_full_screen() -> None:
    made = case("RC2", day=20, screened=False)
    for item in ITEMS:
        made.screen(-3, item, "not asked" if item == NIGHT else "no")
    assert full_on(made) is None
    assert full_on(made.screen(-1, NIGHT, "yes")) == -3


def test_94_without_any_full_screen_the_safety_answers_speak_and_not_the_question() -> None:
    """Every item answered, but over three weeks: no full screen."""
    made = case("RC2", day=80, screened=False).screen(-60, ITEMS[0], "no")
    for item in ITEMS[1:]:
        made.screen(-40, item, "no")
    found = standing_of(made)
    assert reason(found, "SCR").sentence == "red-flag screen never asked in full"
    assert "ASK" not in codes(found)
    assert withheld(made) != ""


# --- the question due ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("full", "no", "days"),
    [
        (-56, (), 0),  # last fresh day D-14
        (-57, (), 15),  # last fresh day D-15
        (-80, (-57,), 15),
        (-80, (-56,), 0),
        (-99, (-57,), 15),  # the screen itself lasts until D-15
        (-99, (-98,), 56),  # question until D-56
        (-200, (-1,), 158),  # a "no" after the screen has lapsed keeps nothing fresh
    ],
)
def test_94_live_from_the_15th_day_after_the_last_fresh_one(
    full: int, no: tuple[int, ...], days: int
) -> None:
    found = standing_of(screened(full, no=no))
    assert [row for row in live(found) if row[0] == "ASK"] == ([("ASK", days, days)] if days else [])
    if days:
        assert (reason(found, "ASK").rank, reason(found, "ASK").tier) == (19, "move on")


def test_71_what_the_reason_says() -> None:
    question = reason(standing_of(screened(-80, no=(-57,))), "ASK")
    assert (question.name, question.sentence) == (
        "red-flag question due",
        "red-flag question: screened Fri 12 Dec, nothing new on Sun 4 Jan",
    )
    full = reason(standing_of(screened(-120)), "ASK").sentence
    assert full == "red-flag screen, in full: screened Sun 2 Nov, not asked since"


def test_71_a_hold_and_a_discharge_hide_it_and_age_is_no_safety_answer() -> None:
    assert "ASK" in codes(standing_of(screened(-120)))
    assert "ASK" not in codes(standing_of(screened(-120).hold(-3, 9)))
    assert "ASK" not in codes(standing_of(screened(-120).discharge(-1)))
    assert "SCR" not in codes(standing_of(screened(-120)))


# --- the full screen again ----------------------------------------------------------------------------------


def risen(*values: tuple[int, int], name: str = "night_pain") -> Builder:
    """A case of long standing with values of one series, screened in full at the first visit."""
    made = case("RC2", day=80, last_visit=2)
    for day, value in values:
        made.measure(day, name, value)
    return made


RISEN = ((-21, 2), (-12, 3), (-3, 5))


def test_71_worse_at_visits_at_night_asks_again() -> None:
    found = standing_of(risen(*RISEN))
    assert [row for row in live(found) if row[0] == "SCR"] == [("SCR", 3, 3)]
    assert reason(found, "SCR").sentence == "red-flag screen again, in full: worse at visits"
    assert "red-flag screen again" in [block.text for block in found.verdict.blocks]


@pytest.mark.parametrize(("day", "again"), [(-4, True), (-3, False), (-1, False)])
def test_71_until_a_full_screen_dated_on_or_after(day: int, again: bool) -> None:
    found = standing_of(risen(*RISEN).screen_all_no(day))
    assert ("SCR" in codes(found)) is again


def test_71_or_until_the_value_is_back_and_not_by_a_decision() -> None:
    decided = standing_of(risen(*RISEN).decision(-1, "worse at visits"))
    assert ("VIS" in codes(decided), "SCR" in codes(decided)) == (False, True)
    assert "SCR" not in codes(standing_of(risen(*RISEN, (-1, 3))))


def test_71_worst_pain_alone_asks_no_screen() -> None:
    """Only causes a, b and f, of rest and night."""
    found = standing_of(risen((-30, 2), (-20, 6), (-3, 6), name="worst_pain"))
    assert ("VIS" in codes(found), "SCR" in codes(found)) == (True, False)


def test_71_worse_by_score_asks_again_and_a_decision_does_not_end_it() -> None:
    made = case("RC2", day=30, scored=False).score(-30, "SPADI", 40).score(-3, "SPADI", 70)
    found = standing_of(made)
    assert "WRS" in codes(found)
    assert reason(found, "SCR").sentence == "red-flag screen again, in full: worse, or not responding"
    decided = standing_of(made.visit(0, decision=True, answers="worse, or not responding"))
    assert ("WRS" in codes(decided), "SCR" in codes(decided)) == (False, True)


# --- something new, not named -------------------------------------------------------------------------------


def flagged(made: Builder, today: int = 0) -> bool:
    """Whether "something new told, not named" is open."""
    found = [r for r in standing_of(made, on(today)).reasons if r.code == "RED"]
    return any(NOT_NAMED in r.sentence for r in found)


def told(day: int = -10, **more: Any) -> Builder:
    """A case that told something new."""
    return case("RC2", day=40, last_visit=20).contact(day, anything_new="yes", **more)


def test_71_a_yes_that_nobody_names_is_a_red_flag_at_once() -> None:
    found = standing_of(told(0))
    assert (reason(found, "RED").severity, reason(found, "RED").days_open) == (2, 0)
    assert found.verdict.word is Word.REFER
    assert found.verdict.line == f"urgent: possible red flag, {NOT_NAMED}"
    assert flagged(case("RC2", day=40, last_visit=20).visit(-3, anything_new="yes"))


def test_71_a_no_and_a_question_not_asked_are_none() -> None:
    made = case("RC2", day=40, last_visit=20).contact(-3, anything_new="no").contact(-2).visit(-1)
    assert not flagged(made)


@pytest.mark.parametrize(("day", "open_still"), [(-11, True), (-10, False), (-3, False), (-2, True)])
def test_94_named_within_seven_days_after_the_yes(day: int, open_still: bool) -> None:
    assert flagged(told().screen(day, NIGHT, "yes")) is open_still
    assert flagged(told().event(day, "fall")) is open_still


def test_71_named_it_is_that_item() -> None:
    found = reason(standing_of(told().screen(-9, NIGHT, "yes")), "RED")
    assert NIGHT in found.sentence
    assert NOT_NAMED not in found.sentence


def test_71_what_was_recorded_before_the_yes_names_and_ends_nothing() -> None:
    """Told late: of D-10, recorded today."""
    assert flagged(told(recorded=0).screen(-9, NIGHT, "yes"))
    assert flagged(told(recorded=0).screen_all_no(-9))


@pytest.mark.parametrize(("day", "open_still"), [(-10, True), (-9, False), (-1, False)])
def test_71_a_full_screen_of_a_later_day_ends_it(day: int, open_still: bool) -> None:
    assert flagged(told().screen_all_no(day)) is open_still


def test_71_its_flag_outcome_ends_it_and_a_later_no_does_not() -> None:
    assert flagged(told().contact(-1, anything_new="no"))
    assert flagged(told().flag_outcome(-1, NIGHT))
    assert not flagged(told().flag_outcome(-1, NOT_NAMED))
    assert not flagged(told().flag_outcome(-1))
