"""More faults found when the third round of rules was read: silence, discharge, apprehension, plateau, age.

The letters are those of the list of faults; rulings are those of the practice notes.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from armrise.store.clinic.case.standing import Truth
from armrise.store.record.fields import Absence
from tests.clinic.build import Builder, case, codes, live, on, reason, standing_of
from tests.clinic.build_more import MET, UNKNOWN

# --- (c) only real values end "nothing recorded" (92; ruling 13) --------------------------------------


def silent() -> Builder:
    """RC2 with a diary, last told of 20 days ago; three quarters of its interval are 11 days."""
    return case("RC2", day=60, last_visit=20, interval=14).morning(-23, 2)


@pytest.mark.parametrize(
    "told",
    [
        lambda m: m.measure(-2, "worst_pain", 3, repeated=True),
        lambda m: m.measure(-2, "worst_pain", Absence.NOT_ASKED),
        lambda m: m.measure(-2, "passive_flexion", Absence.NOT_MEASURED),
        lambda m: m.measure(-2, "external_rotation_strength", Absence.PROHIBITED),
        lambda m: m.score(-2, "SPADI", Absence.DECLINED),
        lambda m: m.score(-2, "SPADI", None),
        lambda m: m.morning(-2, None),
        lambda m: m.finding(-2, "shrug seen", "not asked"),
        lambda m: m.screen(-2, "motor or sensory loss", "not asked"),
        lambda m: m.contact(-2, "no answer"),
    ],
)
def test_what_is_no_value_ends_no_silence(told: Callable[[Builder], Builder]) -> None:
    """Repeated or absent: somebody typed, nobody told anything."""
    standing = standing_of(told(silent()))
    assert ("SIL", 20) in [(c, s) for c, s, _ in live(standing)]
    assert standing.last_data == on(-20)


@pytest.mark.parametrize(
    "told",
    [
        lambda m: m.measure(-2, "worst_pain", 0),
        lambda m: m.score(-2, "SPADI", 20),
        lambda m: m.morning(-2, 0),
        lambda m: m.finding(-2, "shrug seen", "no"),
        lambda m: m.contact(-2, "message received").contact(-2),
    ],
)
def test_a_value_ends_silence(told: Callable[[Builder], Builder]) -> None:
    """Zero and "no" are values."""
    assert standing_of(told(silent())).last_data == on(-2)
    assert "SIL" not in codes(standing_of(told(silent())))


# --- (e) what is told after a discharge about a day before it (rulings 58, 84) ------------------------


def discharged(day: int = -10) -> Builder:
    return case("RC2", day=60, last_visit=20).discharge(day, letter=False)


def test_a_session_told_after_the_discharge_about_a_day_before_it_is_a_message() -> None:
    """Discharged on D-10; told on D-3 of a session of D-12: open since it was told."""
    found = standing_of(discharged().session(-12, 3, 2, None, recorded=-3))
    assert live(found) == [("MSG", 3, 3)]
    assert reason(found, "MSG").sentence == "message 3 days ago (Fri), not answered"
    assert live(standing_of(discharged().morning(-10, 4, recorded=-3))) == [("MSG", 3, 3)]
    assert live(standing_of(discharged().session(-8, 3, 2, None, recorded=-3))) == [("MSG", 8, 8)]


def test_what_the_discharge_could_know_is_no_message() -> None:
    made = case("RC2", day=60, last_visit=20).session(-12, 3, 2, None).discharge(-10, letter=False)
    assert live(standing_of(made)) == []


def test_a_message_about_a_day_before_the_discharge_is_answered_like_any() -> None:
    """A contact after it was told ends it; one from before it was told does not."""
    made = discharged().contact(-5).session(-12, 3, 2, None, recorded=-3)
    assert codes(standing_of(made)) == ["MSG"]
    assert codes(standing_of(made.contact(-2))) == []


# --- (d) what was said of apprehension goes stale after 28 days (92) ----------------------------------


@pytest.mark.parametrize(("told", "state"), [(-28, MET), (-29, UNKNOWN)])
@pytest.mark.parametrize(
    ("stage", "name", "answer", "text"),
    [
        ("AD2", "apprehension in daily use", "no", "no apprehension in daily use"),
        ("AD3", "apprehension accepted", "yes", "no apprehension on testing, or unchanged and accepted"),
    ],
)
def test_92_apprehension_goes_stale(
    told: int, state: Truth, stage: str, name: str, answer: str, text: str
) -> None:
    """A yes of four weeks ago is one; a day later the shoulder is asked about again."""
    standing = standing_of(case(stage, day=40).finding(told, name, answer))
    (found,) = [c for c in standing.verdict.criteria if c.text == text]
    assert found.state is state


# --- (f) a plateau and "long in stage" count by one clock (92) ----------------------------------------


def flat_night_pain(made: Builder, last: int = -2) -> Builder:
    """Night pain 4 for seven weeks, the newest on day ``last``."""
    for back in (-50, -42, -30, last):
        made.measure(back, "night_pain", 4)
    return made


def plateau(made: Builder) -> bool:
    return standing_of(made).verdict.rule == "plateau"


@pytest.mark.parametrize(("day", "expected"), [(94, False), (95, True)])
def test_92_a_hold_is_no_time_for_a_plateau(day: int, expected: bool) -> None:
    """FS1 with ten days on hold: the 84 stall days are passed on day 95, as for "long in stage"."""
    made = flat_night_pain(case("FS1", day=day)).hold(-30, -20)
    assert plateau(made) is expected
    assert ("STL" in codes(standing_of(made))) is expected


@pytest.mark.parametrize(("day", "expected"), [(90, False), (91, True)])
def test_92_an_earlier_stay_counts_for_a_plateau(day: int, expected: bool) -> None:
    """Ten days in FS1, six in FS2, stepped back: the days of both stays."""
    made = flat_night_pain(case("FS1", day=day)).step(10 - day, "FS2").step(16 - day, "FS1")
    assert plateau(made) is expected
    assert ("STL" in codes(standing_of(made))) is expected


def test_92_what_was_decided_in_an_earlier_stay_answers_the_plateau() -> None:
    """One clock, one stage: the answer of ruling 14 holds for both stays."""
    made = flat_night_pain(case("FS1", day=120).measure(-65, "night_pain", 4)).decision(-20, "plateau")
    assert not plateau(made.step(-10, "FS2").step(-4, "FS1"))


@pytest.mark.parametrize(("last", "expected"), [(-28, True), (-29, False)])
def test_92_a_plateau_needs_a_value_that_is_not_stale(last: int, expected: bool) -> None:
    """Night pain goes stale after 28 days in FS1 (ruling 87); an old value shows no plateau of today."""
    assert plateau(flat_night_pain(case("FS1", day=92), last)) is expected


# --- (h) the age of "safety answers missing" (rulings 22, 25) -----------------------------------------


def test_orders_are_missing_from_the_first_visit_after_the_surgery() -> None:
    """A visit before the surgery could have none; without a visit since, from the surgery."""
    seen = case("PO1", day=5, first=20, onset=5, ordered=False, last_visit=2)
    assert ("SCR", 2, 2) in live(standing_of(seen))
    unseen = case("PO1", day=5, first=20, onset=5, ordered=False, last_visit=None)
    assert ("SCR", 5, 5) in live(standing_of(unseen))


def test_orders_are_missing_before_anybody_was_seen_after_the_surgery() -> None:
    """RC, operated on and placed, not seen since: the orders are owed all the same."""
    made = case("RC2", day=60, last_visit=20).onset(-6, "surgery").step(-6, "PO1", "placing")
    assert ("SCR", 6, 6) in live(standing_of(made))


def test_a_screen_never_asked_is_as_old_before_and_after_a_surgery_or_an_injury() -> None:
    """Owed since the first visit: an injury assessed, or another pathway, makes the lack no younger."""
    made = case("RC2", day=30, screened=False).event(-6).visit(-4, injury_assessed=True)
    assert ("SCR", 30, 30) in live(standing_of(made))
    operated = case("RC2", day=60, screened=False).onset(-6, "surgery").orders(-6).step(-6, "PO1", "placing")
    assert ("SCR", 60, 60) in live(standing_of(operated.visit(-3)))


def test_a_screen_owed_again_counts_from_the_visit_that_assessed_the_injury() -> None:
    """Asked at the first visit, owed again since the injury was assessed (ruling 25), until it is asked."""
    made = case("RC2", day=30).event(-6).visit(-4, injury_assessed=True)
    assert ("SCR", 4, 4) in live(standing_of(made))
    assert "SCR" not in codes(standing_of(made.screen_all_no(-4)))


# --- ruling 92: the sling while the surgery date is missing -------------------------------------------


def test_92_sling_off_without_a_surgery_date_is_a_breach_of_the_first_stage() -> None:
    """LIM 1; an ordered date that is past allows it, one ahead says until when."""
    made = case("PO2", day=40, onset=-1).session(-2, 1, 1, None, P0=(3, 10), sling_off=True)
    found = reason(standing_of(made), "LIM")
    assert (found.severity, found.sentence) == (1, "sling off on Sat 28 Feb, surgery date missing")
    assert "LIM" not in codes(standing_of(made.orders(-20, sling_until=-10)))
    worn = case("PO2", day=40, onset=-1).orders(-20, sling_until=5).finding(-2, "sling off")
    assert "to be worn until" in reason(standing_of(worn), "LIM").sentence


def test_92_no_sling_is_worn_in_other_pathways() -> None:
    made = case("FX2", day=20, onset=-1).session(-2, 1, 1, None, sling_off=True)
    assert not [r for r in standing_of(made).reasons if "sling" in r.sentence]


# --- classes of load in words -------------------------------------------------------------------------


def test_what_good_sessions_are_needed_of_is_said_in_words() -> None:
    """No code of a class on a screen."""
    said = [(each.what, each.needed) for each in standing_of(case("RC2", day=40)).verdict.criteria]
    assert ("good sessions of light resisted work", "3 at 3 x 10 or more") in said
