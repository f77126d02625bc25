"""The order of verdicts and of their lines (ruling 68, with 94)."""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.record.words import words_date
from tests.clinic.build import Builder, case, on, standing_of
from tests.clinic.build_more import ready_rc1, ready_rc2, twos, word

BADGE, DELTOID, WEAK = "badge sensation lost", "deltoid contracts", "weakness after injury"
FLEXION, PASSIVE = "active_flexion", "passive_flexion"


def flaring(made: Builder) -> Builder:
    """Two flares in a row."""
    return twos(made).session(-2, 9, 7, 6).session(-1, 9, 7, 6)


def blocks(made: Builder, state: Truth) -> list[str]:
    return [b.text for b in standing_of(made).verdict.blocks if b.state is state]


# --- the worked examples ------------------------------------------------------------------------------------


def test_68_badge_lost_and_two_flares() -> None:
    """NOT YET, first "finding to act on": in a first stage (94)."""
    verdict = standing_of(flaring(case("AD1", day=17, onset=17)).finding(-1, BADGE, "yes")).verdict
    assert verdict.word is Word.NOT_YET
    assert verdict.line.startswith("finding to act on: feeling over the badge area lost")


def test_94_badge_lost_and_two_flares_later_on() -> None:
    """NOT YET with a loaded item in force, else STEP BACK."""
    made = flaring(case("AD2", day=10, onset=20)).finding(-1, BADGE, "yes")
    assert word(made) is Word.STEP_BACK
    loaded = made.programme(-9, "I1", exercise="firm hold")
    assert word(loaded) is Word.NOT_YET
    assert standing_of(loaded).verdict.line.startswith("finding to act on")


def test_68_lift_lost_after_a_repair_and_two_flares() -> None:
    """Lift lost 40 after a repair and two flares: REFER."""
    made = case("PO4", day=66, onset=150).measure(-30, FLEXION, 150).measure(-30, PASSIVE, 165)
    made.measure(-1, FLEXION, 110).measure(-1, PASSIVE, 165)
    verdict = standing_of(flaring(made)).verdict
    assert verdict.word is Word.REFER
    assert verdict.line.startswith("lift or strength lost after the repair")


def test_68_night_pain_rising_and_the_score_improved() -> None:
    """NOT YET "worse at visits"."""
    made = ready_rc1().measure(-9, "night_pain", 0).measure(-1, "night_pain", 6)
    verdict = standing_of(made).verdict
    assert verdict.word is Word.NOT_YET
    assert verdict.line.startswith("worse at visits: ")


# --- which comes first --------------------------------------------------------------------------------------


def test_68_a_red_flag_and_an_injury_before_a_finding() -> None:
    made = ready_rc2().finding(-1, WEAK, "yes")
    assert standing_of(made).verdict.rule == "image cuff"
    assert standing_of(made.event(0)).verdict.line.startswith("new injury not assessed")
    assert standing_of(made.screen(-1, "new lump or weight loss", "yes")).verdict.rule == "possible red flag"


def test_68_a_hold_and_a_closed_case_before_a_finding() -> None:
    assert word(ready_rc2().finding(-1, WEAK, "yes").hold(-1, 10)) is Word.ON_HOLD
    assert word(ready_rc2().finding(-1, WEAK, "yes").discharge(0)) is Word.NONE


def test_68_triggers_of_the_pathway_file_before_those_of_all() -> None:
    """File order: the nerve stands before bony, both before weakness, which is of all pathways."""
    made = case("AD1", day=25, onset=25).finding(-1, WEAK, "yes")
    assert standing_of(made).verdict.rule == "image cuff"
    assert standing_of(made.finding(-1, "bony lesion on imaging", "yes")).verdict.rule == "bony"
    assert standing_of(made.finding(-1, BADGE, "yes")).verdict.rule == "nerve"


def test_68_a_finding_before_lift_lost_before_worse_before_plateau() -> None:
    made = case("FS1", day=100, last_visit=1, scored=False).score(-90, "SPADI", 30).score(-1, "SPADI", 90)
    made.measure(-60, "night_pain", 3).measure(-1, "night_pain", 3)
    made.visit(0)
    assert standing_of(made).verdict.rule == "worse, or not responding"
    made.measure(-60, FLEXION, 165).measure(-60, "external_rotation_strength", 10, unit="kg")
    made.measure(-60, PASSIVE, 165).measure(-1, PASSIVE, 165)
    made.measure(-1, FLEXION, 110).measure(-1, "external_rotation_strength", 5, unit="kg")
    assert standing_of(made).verdict.rule == "losing lift or strength"
    assert standing_of(made.finding(-1, WEAK, "yes")).verdict.rule == "image cuff"


def test_68_plateau_is_a_verdict_and_no_reason() -> None:
    made = case("FS1", day=100, scored=True).measure(-60, "night_pain", 3).measure(-1, "night_pain", 3)
    found = standing_of(made)
    assert (found.verdict.word, found.verdict.rule) == (Word.REFER, "plateau")
    assert "FND" not in [r.code for r in found.reasons]


def test_68_refer_before_step_back() -> None:
    made = flaring(case("RC2", day=40)).finding(-1, WEAK, "yes")
    assert word(made) is Word.REFER
    assert word(flaring(case("RC2", day=40))) is Word.STEP_BACK


# --- the lines of NOT YET and UNKNOWN -----------------------------------------------------------------------


def test_68_the_lines_of_not_yet() -> None:
    made = flaring(case("AD1", day=30, onset=30)).finding(-1, BADGE, "yes")
    made.measure(-20, "passive_external_rotation", 60).measure(-1, "passive_external_rotation", 20)
    made.measure(-20, FLEXION, 165).measure(-1, FLEXION, 110).measure(-1, PASSIVE, 165)
    made.measure(-10, "night_pain", 0).measure(-1, "night_pain", 6)
    made.screen(-1, "cancer in the past", "yes").session(-1, 9, 7, 6, X1=(1, 5))
    assert blocks(made, Truth.NOT_MET) == [
        "limit breach open: stop the forbidden load",
        "red-flag query open",
        "finding to act on",
        "finding to act on",
        "losing lift or strength",
        "reduce load (no earlier stage)",
        "worse at visits",
        "range being lost",
    ]


def test_68_the_lines_of_unknown() -> None:
    made = case("PO1", day=20, onset=-1, first=20, last_visit=None, screened=False, ordered=False)
    made.screen(-20, "cancer in the past", "no").finding(-20, "cancer history", "yes")
    made.onset(-20, "fracture")
    assert blocks(made, Truth.UNKNOWN) == [
        "pathway and healing date do not fit",
        f"not seen since {words_date(on(-20))}: see before stepping",
        "red-flag screen again",
        "red-flag screen incomplete",
        "surgeon's orders missing",
        "surgery date missing",
    ]


def test_68_look_again_before_not_seen() -> None:
    made = case("AD1", day=20, onset=20, last_visit=None).finding(-15, "can lift to 90 degrees", "no")
    assert blocks(made, Truth.UNKNOWN) == [
        "look again: can lift to 90 degrees",
        "not seen since day 0: see before stepping",
        "red-flag screen again",
    ]


def test_68_what_has_to_be_seen_is_said_before_what_has_to_be_recorded() -> None:
    made = ready_rc2(screened=False).screen(-1, "cancer in the past", "no").finding(-1, "cancer history")
    verdict = standing_of(made).verdict
    assert verdict.word is Word.UNKNOWN
    assert verdict.line == "red-flag screen again; to record: red-flag screen"
    assert verdict.also_missing == ("red-flag screen again", "red-flag screen")


def test_68_what_two_things_ask_for_is_said_once() -> None:
    """An item to be asked again and the whole list again, by rest and night pain both high on one day."""
    verdict = standing_of(ready_rc2().measure(-1, "rest_pain", 7).measure(-1, "night_pain", 8)).verdict
    assert verdict.also_missing == ("red-flag screen again",)


@pytest.mark.parametrize("state", [Truth.NOT_MET, Truth.UNKNOWN])
def test_68_a_ready_case_has_no_line(state: Truth) -> None:
    assert blocks(ready_rc2(), state) == []
    assert word(ready_rc2()) is Word.READY
