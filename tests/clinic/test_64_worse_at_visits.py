"""Worse at visits (ruling 64, with 94 and 95): pain and waking, against the best of the same series."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.clinic.standing.decisions import silences
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.fields import Absence
from tests.clinic.build import TODAY, Builder, case, codes, on, reason, rules, standing_of

REST, NIGHT, WORST, WAKING = "rest_pain", "night_pain", "worst_pain", "night_waking"


def told(name: str, *values: tuple[int, Any], stage: str = "RC2", day: int = 100, **more: Any) -> Builder:
    """A case of long standing with values of one series, as (day, value)."""
    made = case(stage, day=day, **more)
    for on_day, value in values:
        made.measure(on_day, name, value)
    return made


def severity(made: Builder, today: int = 0) -> int:
    """Severity of "worse at visits", 0 when it is not live."""
    found = [r for r in standing_of(made, on(today)).reasons if r.code == "VIS"]
    return found[0].severity if found else 0


def causes(made: Builder) -> set[str]:
    """The letters of the causes that are true."""
    found = worse_at_visits(View.of(made.record(), rules(), TODAY))
    return {letter for letter, _ in found.causes} if found else set()


# --- the worked examples ------------------------------------------------------------------------------------


def test_64_yes_rest_confirmed_a_week_apart() -> None:
    made = told(REST, (-42, 1), (-21, 3), (-10, 3))
    assert (severity(made), causes(made)) == (1, {"b"})


@pytest.mark.parametrize("values", [((-21, 2), (-12, 3), (-3, 5)), ((-21, 2), (-3, 6))])
def test_95_yes_night_at_once(values: tuple[tuple[int, int], ...]) -> None:
    """Ruling 95, cause a: night 2, 3, 5; night 2, 6."""
    made = told(NIGHT, *values)
    assert (severity(made), causes(made)) == (2, {"a"})


def test_95_no_night_three_above_alone() -> None:
    """Ruling 95 stands over the example of 64: night 2, then 5 alone."""
    assert severity(told(NIGHT, (-21, 2), (-3, 5))) == 0


def test_64_yes_waking_at_the_third_visit() -> None:
    made = told(WAKING, (-42, 0), (-21, 2), (-3, 4))
    assert (severity(made), causes(made)) == (1, {"e"})
    assert severity(made, today=-4) == 0


@pytest.mark.parametrize(
    ("name", "values"),
    [
        (REST, ((-14, 1), (-3, 3))),  # once two above
        (WORST, ((-14, 4), (-3, 7))),  # once three above
    ],
)
def test_64_no(name: str, values: tuple[tuple[int, int], ...]) -> None:
    assert severity(told(name, *values)) == 0


def test_64_no_rest_6_and_night_8_on_one_day() -> None:
    assert severity(told(REST, (-3, 6)).measure(-3, NIGHT, 8)) == 0


def test_64_no_masked_value_is_never_the_best() -> None:
    """Night 1 under an injection at D-20, 4 today, best unmasked 4."""
    made = told(NIGHT, (-40, 4), (-20, 1), (0, 4)).medicine(-30, "injection")
    assert severity(made) == 0
    assert severity(told(NIGHT, (-40, 4), (-20, 1), (-10, 2), (0, 4))) == 2


# --- each side of every boundary ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (((-30, 2), (-20, 3), (-1, 5)), 2),  # three above, one in between a point above
        (((-30, 2), (-20, 2), (-1, 5)), 0),  # of equals the newest is best: nothing after it
        (((-30, 2), (-20, 3), (-1, 4)), 0),  # two above, and not two above before
        (((-30, 2), (-20, 4), (-1, 4)), 1),  # confirmed
        (((-30, 2), (-20, 4), (-1, 3)), 0),
        (((-30, 2), (-8, 4), (-1, 4)), 1),  # seven days apart
        (((-30, 2), (-7, 4), (-1, 4)), 0),  # six
        (((-30, 4), (-20, 2), (-1, 4)), 0),  # the high value came before the best
        (((-30, 2), (-1, 6)), 2),  # four above
    ],
)
@pytest.mark.parametrize("name", [REST, NIGHT])
def test_64_a_and_b_each_side(name: str, values: tuple[tuple[int, int], ...], expected: int) -> None:
    assert severity(told(name, *values)) == expected


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (((-30, 2), (-20, 5), (-1, 5)), 1),
        (((-30, 2), (-20, 5), (-1, 4)), 0),
        (((-30, 2), (-20, 4), (-1, 5)), 0),
        (((-30, 2), (-7, 5), (-1, 5)), 0),
        (((-30, 2), (-1, 9)), 0),  # once, however high
    ],
)
def test_64_c_worst_pain_each_side(values: tuple[tuple[int, int], ...], expected: int) -> None:
    assert severity(told(WORST, *values)) == expected


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (((-60, 0), (-40, 2), (-30, 3)), 1),
        (((-60, 0), (-40, 1), (-30, 3)), 0),
        (((-60, 0), (-40, 2), (-30, 2)), 0),
        (((-60, 1), (-40, 3), (-30, 3)), 0),
        (((-60, 0), (-30, 7)), 0),  # without a value between
    ],
)
def test_64_e_waking_each_side(values: tuple[tuple[int, int], ...], expected: int) -> None:
    """Older than a value of night waking counts for a flare, so that this reason alone can speak."""
    assert severity(told(WAKING, *values)) == expected


@pytest.mark.parametrize(("rest", "night", "expected"), [(7, 8, 2), (6, 8, 0), (7, 7, 0), (9, 9, 2)])
def test_64_f_both_high_on_one_day(rest: int, night: int, expected: int) -> None:
    assert severity(told(REST, (-3, rest)).measure(-3, NIGHT, night)) == expected


def test_64_f_is_of_one_day() -> None:
    assert severity(told(REST, (-3, 9)).measure(-2, NIGHT, 9)) == 0


def usual(*values: tuple[int, int], stage: str = "RC2") -> Builder:
    """Visits that told the usual morning pain, as (day, points)."""
    made = case(stage, day=100, last_visit=None)
    for day, points in values:
        made.visit(day, usual_morning=points)
    return made


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (((-90, 1), (-80, 2), (-70, 4)), {"d"}),
        (((-90, 1), (-70, 5)), {"d"}),
        (((-90, 1), (-80, 3), (-70, 3)), {"d"}),
        (((-90, 1), (-70, 4)), set[str]()),
        (((-90, 1), (-70, 3)), set[str]()),
    ],
)
def test_64_d_usual_morning_as_a_and_b(values: tuple[tuple[int, int], ...], expected: set[str]) -> None:
    """Older than a usual morning stands as a baseline, so that no flare speaks of it."""
    assert causes(usual(*values)) == expected


def test_64_d_is_silent_while_the_flare_says_it() -> None:
    """Ruling 94: FLA (d) speaks first where two typed usual mornings already make creep."""
    made = usual((-20, 1), (-2, 5))
    assert codes(standing_of(made)).count("FLA") == 1
    assert "VIS" not in codes(standing_of(made))


def test_64_e_is_silent_while_the_flare_says_it() -> None:
    made = told(WAKING, (-42, 0), (-21, 2), (-3, 5))
    assert [code for code in codes(standing_of(made)) if code in ("FLA", "VIS")] == ["FLA"]
    assert severity(made.measure(-2, REST, 7).measure(-2, NIGHT, 8)) == 2  # what else is true still speaks


# --- which values -------------------------------------------------------------------------------------------


def test_64_of_two_values_of_a_date_the_higher() -> None:
    assert severity(told(NIGHT, (-30, 2), (-30, 4), (-1, 6))) == 0
    assert severity(told(NIGHT, (-30, 2), (-1, 3), (-1, 6))) == 2


def test_64_repeated_absent_and_other_side_are_no_values() -> None:
    made = told(NIGHT, (-30, 2), (-20, Absence.DECLINED)).measure(-1, NIGHT, 6, repeated=True)
    assert severity(made.measure(-1, NIGHT, 9, other=True)) == 0


@pytest.mark.parametrize(
    ("medicine", "change", "on_day", "expected"),
    [
        ("injection", "new", -42, 0),  # masked through day 42
        ("injection", "new", -43, 2),
        ("injection", "new", -1, 0),
        ("injection", "new", 0, 2),  # ruling 94: from the day after it
        ("injection", "stopped", -10, 2),
        ("analgesic", "stronger", -14, 0),
        ("analgesic", "stronger", -15, 2),
        ("analgesic", "unchanged", -10, 2),
    ],
)
def test_64_masking_each_side(medicine: str, change: str, on_day: int, expected: int) -> None:
    """The low value of D-20 is the best unless masked; ``on_day`` counts from it. In every pathway."""
    made = told(NIGHT, (-60, 5), (-20, 1), (-3, 5)).medicine(-20 + on_day, medicine, change)
    assert severity(made) == expected


def test_64_a_masked_value_may_be_the_newest() -> None:
    made = told(NIGHT, (-60, 1), (-3, 5)).medicine(-10, "injection")
    assert severity(made) == 2


# --- where the series starts --------------------------------------------------------------------------------

RISE = ((-40, 1), (-3, 6))


def test_64_starts_at_the_reopening() -> None:
    made = told(NIGHT, *RISE)
    assert severity(made) == 2
    assert severity(made.discharge(-30).reopen(-20)) == 0


def test_64_starts_at_the_visit_that_assessed_an_injury() -> None:
    made = told(NIGHT, *RISE).event(-35)
    assert severity(made) == 2
    assert severity(made.visit(-20, injury_assessed=True).screen_all_no(-20)) == 0


@pytest.mark.parametrize(("on_day", "expected"), [(-54, 2), (-53, 0)])
@pytest.mark.parametrize("what", ["surgery", "fracture", "dislocation"])
def test_64_starts_when_tissue_has_settled(what: str, on_day: int, expected: int) -> None:
    """Fourteen days after it: the low value of D-40 is of day 14, or of day 13."""
    assert severity(told(NIGHT, *RISE).onset(on_day, what)) == expected


@pytest.mark.parametrize(("event", "expected"), [("dislocation", 0), ("slipped out of joint", 2)])
def test_94_a_dislocation_told_as_an_event_is_an_onset(event: str, expected: int) -> None:
    """Ruling 94 (69): in RC, FS and OA; "slipped out" is none."""
    assert severity(told(NIGHT, *RISE).event(-45, event)) == expected


def test_94_an_event_is_no_onset_where_healing_is_counted() -> None:
    assert severity(told(NIGHT, *RISE, stage="AD5", day=60).event(-45, "dislocation")) == 2


def test_64_what_was_told_before_the_first_visit_is_no_value() -> None:
    assert severity(told(NIGHT, (-101, 1), (-3, 6))) == 0
    assert severity(told(NIGHT, (-100, 1), (-3, 6))) == 2


# --- how it ends --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("newest", "expected"), [(3, 0), (4, 2), (1, 0)])
def test_64_ends_within_a_point_of_the_best(newest: int, expected: int) -> None:
    """Till then the severity is the highest reached."""
    assert severity(told(NIGHT, (-60, 2), (-40, 6), (-3, newest))) == expected


def test_64_ends_only_when_every_cause_is_back() -> None:
    made = told(NIGHT, (-60, 2), (-40, 6), (-3, 2)).measure(-60, WORST, 3)
    made.measure(-40, WORST, 6).measure(-30, WORST, 6).measure(-3, WORST, 5)
    assert severity(made) == 2
    assert severity(made.measure(-2, WORST, 4)) == 0


@pytest.mark.parametrize(("rest", "night", "expected"), [(6, 9, 0), (8, 7, 0), (7, 8, 2)])
def test_64_f_ends_below_either_figure(rest: int, night: int, expected: int) -> None:
    made = told(REST, (-30, 9)).measure(-30, NIGHT, 9)
    assert severity(made.measure(-3, REST, rest).measure(-3, NIGHT, night)) == expected


def test_64_age_alone_never_ends_it() -> None:
    assert severity(told(NIGHT, (-95, 1), (-90, 6))) == 2


def test_64_a_masked_value_never_ends_it() -> None:
    made = told(NIGHT, (-60, 2), (-40, 6), (-3, 2)).medicine(-20, "injection")
    assert severity(made) == 2
    assert "now 2 (may be masked)" in reason(standing_of(made), "VIS").sentence


@pytest.mark.parametrize("day", [-3, -1])
@pytest.mark.parametrize("how", ["decision", "referral", "visit"])
def test_64_ends_by_an_entry_about_it(how: str, day: int) -> None:
    made = told(NIGHT, (-21, 2), (-3, 6))
    if how == "visit":
        made.visit(day, decision=True, answers="worse at visits")
    else:
        getattr(made, how)(day, "worse at visits")
    assert severity(made) == 0


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (-3, "ends it: the values so far count as the best from then on"),
        (-4, "is kept on record: it is not true on that day, so it answers nothing later"),
    ],
)
def test_64_a_decision_says_what_it_ends(day: int, said: str) -> None:
    view = View.of(told(NIGHT, (-21, 2), (-3, 6)).record(), rules(), TODAY)
    assert silences(view, "worse at visits", on(day)) == said


def test_64_other_answers_do_not_end_it() -> None:
    made = told(NIGHT, (-21, 2), (-3, 6)).decision(-4, "worse at visits").decision(-1, "losing range")
    made.visit(-1, answers="worse at visits").visit(-1, decision=True, answers="stalled")
    assert severity(made) == 2


def test_64_an_answer_cannot_know_of_what_was_told_later() -> None:
    made = told(NIGHT, (-21, 2)).decision(-3, "worse at visits")
    assert severity(made.measure(-4, NIGHT, 6, recorded=-1)) == 2


@pytest.mark.parametrize(
    ("later", "expected"),
    [
        (((-2, 6),), 0),
        (((-2, 7), (-1, 8)), 0),  # two above the answered 6, and not told twice
        (((-20, 7), (-2, 9)), 2),  # three above with one between
        (((-20, 4), (-2, 8)), 2),  # a lower one came: the best is 4 again
        (((-20, 4), (-2, 5)), 0),
    ],
)
def test_64_what_was_answered_counts_as_the_best(later: tuple[tuple[int, int], ...], expected: int) -> None:
    made = told(NIGHT, (-60, 2), (-40, 6)).decision(-39, "worse at visits")
    for day, value in later:
        made.measure(day, NIGHT, value)
    assert severity(made) == expected


def test_94_f_is_live_again_at_a_new_date_after_an_answer() -> None:
    made = told(REST, (-30, 9)).measure(-30, NIGHT, 9).decision(-29, "worse at visits")
    assert severity(made) == 0
    assert severity(made.measure(-3, REST, 8).measure(-3, NIGHT, 8)) == 2


# --- in hand, on hold, where it stands ----------------------------------------------------------------------


def in_hand(made: Builder) -> bool:
    return reason(standing_of(made), "VIS").in_hand_until is not None


def test_63_in_hand_at_most_14_days() -> None:
    made = told(NIGHT, (-40, 2), (-20, 6)).in_hand(-13, "VIS", 30)
    assert in_hand(made)
    assert not in_hand(told(NIGHT, (-40, 2), (-20, 6)).in_hand(-14, "VIS", 30))


def test_63_growth_is_new_evidence() -> None:
    """Confirmed by two (1), in hand, then a rise at once (2)."""
    made = told(NIGHT, (-40, 2), (-20, 4), (-10, 4)).in_hand(-9, "VIS", 5)
    assert in_hand(made)
    grown = reason(standing_of(made.measure(-2, NIGHT, 5)), "VIS")
    assert (grown.in_hand_until, grown.severity, grown.days_open) == (None, 2, 2)


def test_64_the_days_it_has_been_true() -> None:
    found = reason(standing_of(told(NIGHT, (-40, 2), (-20, 4), (-10, 4), (-3, 4))), "VIS")
    assert (found.days_open, found.rank, found.tier) == (10, 10, "harm if left")


def test_64_the_days_since_the_flare_no_longer_says_it() -> None:
    """A flare says it until the value is stale; the day after, this one begins."""
    made = told(WAKING, (-90, 0), (-80, 2), (-70, 5))
    view = View.of(made.record(), rules(), TODAY)
    flared = [day for day in range(-70, 1) if flare_state(view.at(on(day)))]
    assert flared
    assert reason(standing_of(made), "VIS").days_open == -(flared[-1] + 1)


def test_64_values_are_read_however_old() -> None:
    """The list reads a window of sessions; it needs no full history for this."""
    record = told(NIGHT, (-95, 2), (-90, 6), day=200, first=200).record()
    found = worse_at_visits(View.of(replace(record, known_from=on(-20)), rules(), TODAY))
    assert found is not None
    assert found.since == on(-90)


def test_63_a_hold_never_hides_it() -> None:
    assert severity(told(NIGHT, (-21, 2), (-3, 6)).hold(-1, 10)) == 2


def test_63_a_closed_case_does_not_carry_it() -> None:
    assert severity(told(NIGHT, (-21, 2), (-3, 6)).discharge(-1)) == 0


def test_64_words() -> None:
    found = reason(standing_of(told(NIGHT, (-24, 2), (-12, 3), (-3, 5))), "VIS")
    assert found.sentence == "night pain 2 to 5 (best 2 on Fri 6 Feb)"
    assert len(found.evidence) == 3
    both = told(REST, (-3, 9)).measure(-3, NIGHT, 9)
    assert reason(standing_of(both), "VIS").sentence == "rest pain 9 and night pain 9 on one day"


def test_68_not_yet_worse_at_visits_in_hand_or_not() -> None:
    """Example of ruling 68: night rising and score improved. What is in hand still withholds the verdict."""
    line = "worse at visits: night pain 2 to 6 (best 2 on Mon 9 Feb)"
    made = told(NIGHT, (-21, 2), (-3, 6))
    for standing in (standing_of(made), standing_of(made.in_hand(-1, "VIS", 5))):
        assert standing.verdict.word.value == "NOT YET"
        assert standing.verdict.line.startswith(line)


@given(st.permutations(range(6)))
@settings(max_examples=20, deadline=None)
def test_64_the_order_of_entry_changes_nothing(order: list[int]) -> None:
    values = [(-60, REST, 2), (-60, NIGHT, 2), (-40, NIGHT, 6), (-20, REST, 4), (-5, REST, 4), (-5, NIGHT, 5)]
    made = case("RC2", day=100)
    for at in order:
        day, name, value = values[at]
        made.measure(day, name, value)
    found = reason(standing_of(made), "VIS")
    assert (found.severity, found.days_open) == (2, 40)
    assert found.sentence == (
        "rest pain 2 to 4 (best 2 on Thu 1 Jan); night pain 2 to 5 (best 2 on Thu 1 Jan)"
    )


@st.composite
def courses(draw: Any) -> Builder:
    """Values of every series, answers and medicines on random days."""
    made = case("RC2", day=120, last_visit=None)
    for _ in range(draw(st.integers(3, 14))):
        day, value = -draw(st.integers(0, 119)), draw(st.integers(0, 10))
        what = draw(st.sampled_from([REST, NIGHT, WORST, WAKING, "usual", "answer", "medicine"]))
        if what == "usual":
            made.visit(day, usual_morning=value)
        elif what == "answer":
            made.decision(day, "worse at visits", recorded=draw(st.sampled_from([day, 0])))
        elif what == "medicine":
            made.medicine(day, draw(st.sampled_from(["injection", "analgesic"])))
        else:
            made.measure(day, what, min(value, 7) if what == WAKING else value)
    return made


def unsorted(made: Builder) -> CaseRecord:
    """The record with its entries as they lie, not by date."""
    kinds: dict[str, list[Any]] = {}
    for entry in made.entries:
        kinds.setdefault(FIELD_OF_KIND[entry.KIND], []).append(entry)
    return replace(made.record(), **{name: tuple(found) for name, found in kinds.items()})


@given(courses(), st.randoms())
@settings(max_examples=150, deadline=None)
def test_64_days_open_by_looking_back_and_in_any_order(made: Builder, shuffle: Any) -> None:
    """Since when follows from the values as from looking at one earlier day after another (ruling 22)."""
    view = View.of(made.record(), rules(), TODAY)
    found = worse_at_visits(view)
    if found and found.since:
        day = TODAY
        while worse_at_visits(view.at(day - timedelta(days=1))):
            day -= timedelta(days=1)
        assert found.since == day
    shuffle.shuffle(made.entries)
    assert worse_at_visits(View.of(unsorted(made), rules(), TODAY)) == found
