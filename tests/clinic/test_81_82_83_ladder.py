"""Rulings 81 to 83: movement is not cut, exercises climb a ladder and go back on it, healing bars rungs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.programme import programme_rows
from armrise.store.clinic.programme.proposal import (
    ARC,
    CHANGE,
    CLIMB,
    DELOAD,
    HOLD,
    REDUCE,
    RESTART,
    RUNG_BACK,
    SETS,
)
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from tests.clinic.build import OPENS, TODAY, Builder, case, codes, reason, rules, standing_of
from tests.clinic.programmes import FLARED, accept, brief, did, home, prescribe, propose, start, words

SLIDE, WALK, FREE = "table slide", "wall walk", "free arm lift"
LIGHT, RAISE = "light scaption raise", "scaption raise"
LOWERING, BAND = "band external rotation, lowering only", "band external rotation, arm at side"
CLASS = {
    SLIDE: "A1",
    WALK: "A1",
    FREE: "A2",
    LIGHT: "R1",
    RAISE: "R2",
    LOWERING: "R1",
    BAND: "R1",
}
EASY = (2, 2, 2)
TO_15 = {"reps_low": 10, "reps_high": 15}


def item_of(built: Builder, name: str, day: int = -50, dose: str = "2x10", **more: Any) -> Builder:
    return prescribe(built, day, dose, name, more.pop("klass", CLASS[name]), **{**TO_15, **more})


def over(built: Builder, name: str, *days: int, dose: str = "2x10", later: int = 5) -> Builder:
    """Sessions with pain later over the limit of RC1."""
    for day in days:
        built.session(day, 2, later, 2, did(dose, name, CLASS[name]))
    return built


def flared(built: Builder, name: str, *days: int, dose: str = "2x10", **more: Any) -> Builder:
    for day in days:
        built.session(day, *FLARED, did(dose, name, CLASS[name], **more))
    return built


def watched(built: Builder) -> Builder:
    """Ten degrees of passive flexion lost: WAT."""
    return built.measure(-20, "passive_flexion", 150).measure(-2, "passive_flexion", 140)


# --- 81: mobility is not cut ------------------------------------------------------------------------------


def test_81_a_pair_over_the_limit_makes_the_arc_smaller() -> None:
    """*Yes*: table slide 2 x 10, arc 120, later 5 of 3 twice, WAT live -> ARC 95."""
    built = watched(over(item_of(start("RC1"), SLIDE, arc_to=120, per_week=21), SLIDE, -3, -1))
    assert "WAT" in codes(standing_of(built))
    found = propose(built, SLIDE)
    assert (found.word, found.line) == (ARC, "ARC to 2 x 10, arc to 95 degrees")
    assert (found.not_before, found.condition) == (None, "")
    after = accept(built, found).entries[-1]
    assert isinstance(after, ProgrammeItem)
    assert (after.sets, after.reps, after.per_week, after.arc_to) == (2, 10, 21, 95)


def test_81_a_flare_makes_the_arc_smaller_and_asks_no_rest() -> None:
    found = propose(flared(item_of(start("RC3"), SLIDE, arc_to=120), SLIDE, -1), SLIDE)
    assert (found.word, found.not_before, found.condition) == (ARC, None, "")


def test_81_load_is_cut_as_before() -> None:
    """*No*: band external rotation with WAT live: DELOAD as before."""
    built = watched(flared(item_of(start("RC3"), BAND, dose="3x12", band=2), BAND, -1, dose="3x12", band=2))
    assert brief(propose(built, BAND)) == (DELOAD, "3 x 10, band 1")


def test_81_once_over_the_limit_holds_as_before() -> None:
    found = propose(over(item_of(start("RC1"), SLIDE, arc_to=120), SLIDE, -1), SLIDE)
    assert found.word == HOLD


@pytest.mark.parametrize(("arc", "then"), [(120, 95), (100, 80), (50, 40), (35, 30), (31, 30)])
def test_81_the_arc_is_80_per_cent_rounded_down_to_5_and_30_at_least(arc: int, then: int) -> None:
    found = propose(over(item_of(start("RC1"), SLIDE, arc_to=arc), SLIDE, -3, -1), SLIDE)
    assert found.dose is not None
    assert (found.word, found.dose.arc_to) == (ARC, then)


def test_81_an_arc_of_30_is_as_small_as_it_goes() -> None:
    found = propose(over(item_of(start("RC1"), SLIDE, arc_to=30), SLIDE, -3, -1), SLIDE)
    assert (found.word, found.changes) == (HOLD, False)
    assert "the arc is as small as it goes" in found.reason


def test_81_an_arc_never_ends_before_it_begins() -> None:
    found = propose(over(item_of(start("RC1"), SLIDE, arc_from=40, arc_to=50), SLIDE, -3, -1), SLIDE)
    assert (found.word, found.changes) == (HOLD, False)


def test_81_without_an_arc_it_is_said_and_written_once_more() -> None:
    built = over(item_of(start("RC1"), SLIDE), SLIDE, -3, -1)
    found = propose(built, SLIDE)
    assert (found.line, found.changes) == ("ARC to 2 x 10, smaller arc", True)
    assert propose(accept(built, found), SLIDE).word == HOLD


@pytest.mark.parametrize("arc", [120, None])
def test_81_a_second_pair_goes_a_rung_back_but_never_while_range_is_lost(arc: int | None) -> None:
    """Without STF or WAT after an accepted ARC: RUNG BACK (82); with one only ARC."""
    built = over(item_of(start("RC1"), WALK, arc_to=arc), WALK, -9, -7)
    accept(built, propose(built, WALK, -6), -6)
    again = over(built, WALK, -3, -1)
    found = propose(again, WALK)
    assert (found.word, found.stops) == (RUNG_BACK, True)
    assert found.instead is not None
    assert found.instead.exercise == SLIDE
    assert propose(watched(again), WALK).word == ARC


def test_81_on_the_first_rung_a_set_fewer_and_never_the_exercise() -> None:
    """94: first rung after an accepted ARC: one set fewer, with STF or WAT ARC again."""
    built = over(item_of(start("RC1"), SLIDE, arc_to=120), SLIDE, -9, -7)
    accept(built, propose(built, SLIDE, -6), -6)
    again = over(built, SLIDE, -3, -1)
    assert brief(propose(again, SLIDE)) == (REDUCE, "1 x 10")
    assert propose(watched(again), SLIDE).word == ARC


def test_81_one_set_of_the_first_rung_gets_a_smaller_arc_again() -> None:
    built = over(item_of(start("RC1"), SLIDE, dose="1x10", arc_to=120), SLIDE, -9, -7, dose="1x10")
    accept(built, propose(built, SLIDE, -6), -6)
    found = propose(over(built, SLIDE, -3, -1, dose="1x10"), SLIDE)
    assert found.dose is not None
    assert (found.word, found.dose.arc_to) == (ARC, 75)


def test_81_after_a_pause_movement_restarts_whole_while_range_is_lost() -> None:
    """ "While STF or WAT is live never anything less.\""""
    built = item_of(start("RC1"), SLIDE)
    built.session(-16, *EASY, did("2x10", SLIDE, "A1"))
    assert brief(propose(built, SLIDE)) == (RESTART, "1 x 10")
    assert brief(propose(watched(built), SLIDE)) == (RESTART, "2 x 10")


# --- 82: climbing -----------------------------------------------------------------------------------------


def easy(
    built: Builder, name: str, *days: int, during: int = 2, arc: str | None = "yes", **more: Any
) -> Builder:
    for day in days:
        dose = did("2x10", name, CLASS[name], full_arc=arc, **more)
        built.session(day, during, 2, 2, dose)
    return built


def test_82_an_easy_exercise_climbs() -> None:
    """*Climb*: table slide D-3, D-1, full arc, during 1 and 2, good: wall walk."""
    built = easy(item_of(start("RC3"), SLIDE), SLIDE, -3, during=1)
    found = propose(easy(built, SLIDE, -1), SLIDE)
    assert (found.word, found.line) == (CLIMB, "CLIMB to wall walk, 2 x 10")
    assert found.instead is not None
    assert (found.instead.per_week, found.instead.reps_high, found.instead.load_class) == (21, 15, "A1")


@pytest.mark.parametrize(
    ("days", "more"),
    [
        ((-3, -1), {"during": 3}),
        ((-3, -1), {"arc": "no"}),
        ((-3, -1), {"arc": None}),
        ((-1,), {}),
        ((-9, -1), {}),
        ((-3, -1), {"sets_asked": 3}),
    ],
)
def test_82_what_is_not_easy_does_not_climb(days: tuple[int, ...], more: dict[str, Any]) -> None:
    """*Not*: during 3; arc not full; only one date; more than 7 days apart."""
    built = item_of(start("RC3"), SLIDE, dose="3x10" if "sets_asked" in more else "2x10")
    assert propose(easy(built, SLIDE, *days, **more), SLIDE).word != CLIMB


def test_82_seven_days_apart_still_run() -> None:
    assert propose(easy(item_of(start("RC3"), SLIDE), SLIDE, -8, -1), SLIDE).word == CLIMB


def test_82_an_incomplete_session_breaks_the_two_dates() -> None:
    """*Not*: incomplete."""
    built = easy(item_of(start("RC3"), SLIDE), SLIDE, -5, -3)
    assert propose(built, SLIDE).word == CLIMB
    built.session(-1, 2, None, None, did("2x10", SLIDE, "A1", full_arc="yes"))
    assert propose(built, SLIDE).word != CLIMB


def test_82_dates_before_the_last_change_do_not_count() -> None:
    built = item_of(easy(item_of(start("RC3"), SLIDE, dose="1x10"), SLIDE, -5), SLIDE, -4)
    assert propose(easy(built, SLIDE, -1), SLIDE).word == HOLD


@pytest.mark.parametrize(
    ("change", "word"), [({"tempo": "3-1-2"}, CLIMB), ({"lower_s": 3}, HOLD), ({"assist": "both ways"}, HOLD)]
)
def test_82_a_slower_way_is_another_dose_and_a_tempo_in_words_is_not(
    change: dict[str, Any], word: str
) -> None:
    """Tempo is read no more but printed."""
    built = easy(item_of(start("RC3"), SLIDE), SLIDE, -5)
    assert propose(easy(item_of(built, SLIDE, -4, **change), SLIDE, -3), SLIDE).word == word


def test_82_part_of_the_dose_is_not_the_whole() -> None:
    for told, word in (("whole", CLIMB), ("part", HOLD)):
        built = item_of(start("RC3"), SLIDE)
        for day in (-3, -1):
            untold = did("2x10", SLIDE, "A1", full_arc="yes", sets_asked=2)
            built.session(day, *EASY, _untold(untold), dose=told)
        assert propose(built, SLIDE).word == word


def _untold(done: DoneItem) -> DoneItem:
    return replace(done, sets=None, reps=None)


def test_82_the_next_loaded_rung_starts_at_the_lightest_load_at_home() -> None:
    built = home(easy(item_of(start("RC2"), FREE), FREE, -3, -1), 1.5, 1, 2)
    found = propose(built, FREE)
    assert found.line == "CLIMB to light scaption raise, 2 x 10 at 1 kg"
    unknown = easy(item_of(start("RC2", weights=None), FREE), FREE, -3, -1)
    found = propose(unknown, FREE)
    assert (found.word, found.dose, found.changes) == (CLIMB, None, False)
    assert "record a weight at home to begin light scaption raise" in found.reason


def test_82_a_rung_that_climbs_at_the_top_does_so_where_no_load_is_left() -> None:
    """Where line 10 says CHANGE EXERCISE; the last rung does not climb."""
    top = item_of(start("RC3"), BAND, dose="3x15", band=3)
    for day in (-5, -3, -1):
        top.session(day, 2, 2, 2, did("3x15", BAND, "R1", band=3, full_arc="yes"))
    assert propose(top, BAND).line == "CLIMB to side-lying external rotation, 2 x 10 at 1 kg"
    last = prescribe(start("RC3"), -50, "3x12 @ 4", RAISE, "R2")
    for day in (-5, -3, -1):
        last.session(day, 2, 2, 2, did("3x12 @ 4", RAISE, "R2"))
    assert propose(last, RAISE).word == CHANGE


def test_82_lowering_only_climbs_when_easy() -> None:
    built = item_of(start("RC3"), LOWERING, band=2, arc_from=0, arc_to=70)
    found = propose(easy(built, LOWERING, -3, -1, band=2), LOWERING)
    assert found.line == "CLIMB to band external rotation, arm at side, 2 x 10, band 1"
    assert found.instead is not None
    assert (found.instead.arc_from, found.instead.arc_to, found.instead.assist) == (0, 70, "both ways")


def test_82_a_rung_that_is_in_the_programme_is_not_begun_twice() -> None:
    built = item_of(easy(item_of(start("RC3"), SLIDE), SLIDE, -3, -1), WALK, -50)
    assert propose(built, SLIDE).word == SETS


def test_82_the_old_rung_stops_and_a_climb_is_the_one_change_of_its_date() -> None:
    built = item_of(item_of(start("RC3"), SLIDE), BAND, band=1)
    for day in (-3, -1):
        slide = did("2x10", SLIDE, "A1", full_arc="yes")
        built.session(day, *EASY, slide, did("2x10", BAND, "R1", band=1))
    assert words(built) == {SLIDE: CLIMB, BAND: HOLD}
    accept(built, propose(built, SLIDE))
    assert words(built) == {BAND: HOLD, WALK: HOLD}
    assert propose(built, BAND).reason == f"one change at a time: {WALK} first"


def test_82_a_proposal_as_data_names_what_takes_the_place() -> None:
    built = easy(item_of(start("RC3"), SLIDE, arc_to=90), SLIDE, -3, -1)
    (row,) = programme_rows(View.of(built.record(), rules(), TODAY))
    assert (row["exercise"], row["way"]) == (SLIDE, "arc to 90 degrees")
    assert (row["proposal"]["word"], row["proposal"]["instead"]) == (CLIMB, WALK)
    assert row["proposal"]["dose"]["words"] == "wall walk, 2 x 10"


# --- 82: back ---------------------------------------------------------------------------------------------


def test_82_back_to_the_last_dose_used_there() -> None:
    built = item_of(start("RC3"), SLIDE, -50, "3x12", arc_to=100)
    item_of(built, SLIDE, -20, "3x12", arc_to=100, stopped="easy")
    item_of(built, WALK, -20, arc_to=120)
    flared(built, WALK, -8)
    accept(built, propose(built, WALK, -7), -7)
    found = propose(flared(built, WALK, -1), WALK)
    assert found.line == "RUNG BACK to table slide, 3 x 12"
    assert found.instead is not None
    assert (found.instead.arc_to, found.instead.stopped) == (100, None)
    assert words(accept(built, found)) == {SLIDE: HOLD}


def test_82_a_loaded_rung_goes_back_where_deload_finds_nothing_lighter() -> None:
    one = item_of(start("RC3", weights=(1,)), LIGHT, dose="2x10 @ 1")
    assert propose(flared(one, LIGHT, -1, dose="2x10 @ 1"), LIGHT).word == DELOAD
    least = item_of(start("RC3", weights=(1,)), LIGHT, dose="1x10 @ 1")
    found = propose(flared(least, LIGHT, -1, dose="1x10 @ 1"), LIGHT)
    assert found.line == "RUNG BACK to free arm lift, 2 x 10"


# --- 83: ladder, stages and healing -------------------------------------------------------------------------


def test_83_a_rung_of_a_later_stage_is_named_with_it() -> None:
    """HOLD "next: light scaption raise, with RC2", said before sets rise (94)."""
    found = propose(easy(item_of(start("RC1"), FREE), FREE, -3, -1), FREE)
    assert found.word == HOLD
    assert found.reason.endswith("next: light scaption raise, with RC2")


def test_83_a_rung_that_healing_shuts_is_named_with_its_day() -> None:
    """ "..., from Wed 8 Apr (day 42)": good sessions never open a gate."""
    built = case("PO2", day=4, onset=5).orders(-5, stage2_from=-5).mornings(-12, *[2] * 12)
    found = propose(easy(item_of(built, SLIDE, -4), SLIDE, -3, -1, during=0), SLIDE)
    assert found.word == HOLD
    assert found.reason.endswith("next: wall walk, from Wed 8 Apr (day 42)")


def test_83_an_ordered_bar_shuts_a_rung_until_its_date() -> None:
    built = easy(item_of(start("PO4"), FREE), FREE, -3, -1)
    assert propose(built, FREE).word == CLIMB
    found = propose(built.orders(-1, no_resisted_until=10), FREE)
    assert found.word == HOLD
    assert found.reason.endswith("next: light scaption raise, from Thu 12 Mar (day 154)")


@pytest.mark.parametrize(
    ("field", "name", "arc", "then"),
    [
        ("elevation_limit", SLIDE, None, 90),
        ("external_rotation_limit", LOWERING, 70, 30),
    ],
)
def test_83_an_arc_over_an_order_is_cut_to_it(field: str, name: str, arc: int | None, then: int) -> None:
    """Turn out: rotation, lift: elevation."""
    band = 2 if name == LOWERING else None
    built = easy(item_of(start("OA2"), name, band=band), name, -3, -1, band=band)
    found = propose(built.orders(-1, **{field: then}), name)
    assert found.instead is not None
    assert (found.word, found.instead.arc_to) == (CLIMB, then)
    assert found.reason.endswith(f"; arc to {then} degrees as ordered")


def test_83_an_arc_in_the_programme_is_cut_to_a_new_order() -> None:
    built = item_of(start("OA2"), SLIDE, arc_to=120)
    built.session(-1, *EASY, did("2x10", SLIDE, "A1"))
    assert propose(built.orders(-1, elevation_limit=120), SLIDE).word == HOLD
    found = propose(built.orders(0, elevation_limit=90), SLIDE)
    assert found.line == "ARC to 2 x 10, arc to 90 degrees"


def test_83_a_supported_table_slide_is_passive_after_the_repair() -> None:
    """*No breach*: table slide day 30, also one recorded as assisted movement."""
    built = _operated("PO2", 30).session(0, 0, 0, None, did("2x10", SLIDE, "A1"))
    assert "LIM" not in codes(standing_of(item_of(built, SLIDE, -1)))


def test_83_a_wall_walk_on_day_30_is_a_breach() -> None:
    """*Breach*: wall walk day 30 (2)."""
    built = _operated("PO2", 30).session(0, 0, 0, None, did("2x10", WALK, "A1"))
    assert reason(standing_of(built), "LIM").severity == 2


def test_83_a_table_slide_in_the_first_stage_is_a_breach() -> None:
    """A breach (LIM 2) in PO1."""
    built = _operated("PO1", 10).session(0, 0, 0, None, did("2x10", SLIDE, "A1"))
    assert reason(standing_of(built), "LIM").severity == 2


def test_83_elsewhere_a_table_slide_stays_assisted_movement() -> None:
    view = View.of(item_of(start("RC1"), SLIDE).record(), rules(), TODAY)
    assert [item.load_class for item in view.upto("programme")] == ["A1"]
    view = View.of(item_of(_operated("PO2", 30), SLIDE, -1).record(), rules(), TODAY)
    assert [item.load_class for item in view.upto("programme")] == ["P1"]


@pytest.mark.parametrize(("day", "broken"), [(35, True), (41, True), (42, False)])
def test_83_the_sling_comes_off_on_day_42_without_orders(day: int, broken: bool) -> None:
    """*No breach*: sling off day 42 without orders. *Breach*: day 35 (1)."""
    built = _operated("PO2", day).finding(0, "sling off")
    found = standing_of(built)
    assert ("LIM" in codes(found)) is broken
    if broken:
        assert reason(found, "LIM").severity == 1


def test_83_a_dated_order_about_the_sling_wins() -> None:
    built = _operated("PO2", 35).orders(-35, sling_until=-7).finding(0, "sling off")
    assert "LIM" not in codes(standing_of(built))


def _operated(stage: str, post_op: int) -> Builder:
    return case(stage, day=post_op - OPENS[stage], onset=post_op)
