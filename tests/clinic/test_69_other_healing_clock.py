"""Healing that the pathway of a case does not count (ruling 69, with 94)."""

from __future__ import annotations

from typing import Any

import pytest

from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.harmless import ever_guarded, harmless_from
from armrise.store.clinic.standing.decisions import silences
from tests.clinic.build import TODAY, Builder, case, codes, on, reason, rules, standing_of
from tests.clinic.build_more import ready_ad1, ready_po3, ready_rc1, ready_rc2, word

NO_FIT = "pathway and healing date do not fit"
DECIDED = "decompression only, no repair, surgeon allows load"


def misfit(made: Builder) -> list[str]:
    """What the verdict says of onsets that do not fit."""
    return [b.observed for b in standing_of(made).verdict.blocks if b.text == NO_FIT]


def fits(made: Builder) -> bool:
    """Neither on the list nor in the verdict."""
    said = [r.sentence for r in standing_of(made).reasons if r.code == "SCR"]
    return not misfit(made) and not any(NO_FIT in sentence for sentence in said)


def test_69_yes_surgery_21_days_ago_and_band_rows() -> None:
    """RC2, surgery 21 days ago, band rows: SCR, LIM 3, never READY."""
    made = ready_rc2(day=40).onset(-21, "surgery").programme(-10, "R1", exercise="band row")
    found = standing_of(made)
    words = "surgery 21 days ago, filed as Rotator-cuff-related shoulder pain"
    assert reason(found, "SCR").sentence.endswith(f"{NO_FIT}: {words}")
    assert reason(found, "LIM").severity == 3
    assert found.verdict.word is not Word.READY
    assert misfit(made) == [words]


@pytest.mark.parametrize(("days", "expected"), [(83, False), (84, True)])
def test_69_a_fracture_until_day_84(days: int, expected: bool) -> None:
    """Yes: RC1, fracture 83 days ago. No: 84."""
    made = ready_rc1().onset(-days, "fracture", history=True)
    assert fits(made) is expected
    assert (word(made) is Word.READY) is expected


@pytest.mark.parametrize(
    ("what", "tear", "days", "expected"),
    [
        ("surgery", None, 139, False),
        ("surgery", None, 140, True),
        ("surgery", "large", 140, False),
        ("surgery", "large", 167, False),
        ("surgery", "large", 168, True),
        ("dislocation", None, 111, False),
        ("dislocation", None, 112, True),
    ],
)
def test_69_until_the_last_stage_of_its_own_pathway_opens(
    what: str, tear: str | None, days: int, expected: bool
) -> None:
    made = case("RC1", day=20, first=20).onset(-days, what, history=True)
    if tear:
        made.orders(-days, tear_size=tear)
    assert fits(made) is expected


def test_69_no_in_its_own_pathway() -> None:
    assert fits(case("PO3", day=10, onset=60))
    assert fits(case("AD2", day=10, onset=20))
    assert fits(case("FX2", day=10, onset=20))


def test_69_after_a_repair_a_dislocation_too() -> None:
    """A pathway with another clock is one without this clock."""
    assert misfit(ready_po3().onset(-100, "dislocation")) == [
        "dislocation 100 days ago, filed as " + _name("PO")
    ]


def _name(code: str) -> str:
    return rules().pathways[code].name


@pytest.mark.parametrize("stage", ["RC2", "FS1", "OA1"])
@pytest.mark.parametrize(("event", "expected"), [("dislocation", False), ("slipped out of joint", True)])
def test_94_a_dislocation_told_as_an_event_is_an_onset(stage: str, event: str, expected: bool) -> None:
    made = case(stage, day=40).event(-20, event).visit(-19, injury_assessed=True).screen_all_no(-19)
    assert fits(made) is expected


def test_94_in_other_pathways_an_event_is_none() -> None:
    made = case("FX3", day=10, onset=60).event(-20, "dislocation").visit(-19, injury_assessed=True)
    assert fits(made.screen_all_no(-19))


def test_69_counted_from_the_day_it_was_recorded() -> None:
    made = case("RC1", day=20).onset(-30, "fracture", recorded=-4, history=True)
    scr = reason(standing_of(made), "SCR")
    assert (scr.severity, scr.days_open) == (4, 4)
    assert scr.sentence == f"{NO_FIT}: fracture 30 days ago, filed as {_name('RC')}"


# --- what it holds back --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "load_class", "broken"),
    [
        (21, "R1", True),  # PO2 by date
        (21, "P1", False),
        (83, "R1", True),
        (84, "R1", False),  # PO4 opens resisted work
        (41, "A1", True),
        (42, "A1", False),  # PO3 opens assisted movement
    ],
)
def test_69_classes_against_the_stage_of_its_date(days: int, load_class: str, broken: bool) -> None:
    done: dict[str, Any] = {load_class: (1, 5)}
    made = case("RC3", day=30, first=60).onset(-days, "surgery", history=True).session(0, 1, 1, None, **done)
    assert ("LIM" in codes(standing_of(made))) is broken


def test_69_the_stricter_of_both() -> None:
    """RC1 does not hold resisted work; a fracture of 60 days (FX3) allows it by date: the stage says no."""
    allowed = case("RC1", day=20).onset(-60, "fracture").session(0, 1, 1, None, R2=(1, 5))
    assert "LIM" in codes(standing_of(allowed))
    both = case("PO5", day=5, onset=150).onset(-10, "fracture").session(0, 1, 1, None, R1=(1, 5))
    assert "LIM" in codes(standing_of(both))
    assert "LIM" not in codes(standing_of(case("PO5", day=5, onset=150).session(0, 1, 1, None, R1=(1, 5))))


@pytest.mark.parametrize(("ordered", "broken"), [(None, True), (-1, False), (1, True)])
def test_69_an_order_that_names_a_stage_gives_its_date(ordered: int | None, broken: bool) -> None:
    """Day 35 after surgery: assisted movement by the template from day 42, by order a day ago or tomorrow."""
    made = case("RC2", day=40).onset(-35, "surgery").orders(-35, stage3_from=ordered)
    assert ("LIM" in codes(standing_of(made.session(0, 1, 1, None, A1=(1, 5))))) is broken


def test_69_a_broken_limit_says_by_which_clock() -> None:
    made = case("RC2", day=40).onset(-21, "surgery").session(0, 1, 1, None, R1=(1, 5))
    assert reason(standing_of(made), "LIM").sentence.endswith(
        "on Mon 2 Mar, surgery 21 days ago, filed as Rotator-cuff-related shoulder pain"
    )


def test_69_before_the_onset_nothing_was_held_back() -> None:
    made = case("RC3", day=40).session(-12, 1, 1, None, R1=(1, 5)).onset(-10, "fracture")
    assert "LIM" not in codes(standing_of(made))


# --- what ends it --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "note", "expected"),
    [
        (-5, DECIDED, True),
        (-21, DECIDED, True),
        (-22, DECIDED, False),  # before the surgery
        (-5, "no repair", False),  # 9 characters
        (-5, "no repair.", True),  # 10
    ],
)
def test_69_a_decision_about_the_healing_clock(day: int, note: str, expected: bool) -> None:
    """What was done before it is answered as every broken limit is."""
    made = ready_rc2(day=40).onset(-21, "surgery").decision(day, "healing clock", note)
    assert fits(made) is expected
    made.contact(-1, plan_corrected=True)
    assert (word(made) is Word.READY) is expected


def test_69_a_decision_about_something_else_ends_nothing() -> None:
    assert not fits(ready_rc2(day=40).onset(-21, "surgery").decision(-5, "other", DECIDED))


def test_69_a_decision_recorded_before_the_onset_was_known_ends_nothing() -> None:
    made = ready_rc2(day=40).decision(-5, "healing clock", DECIDED).onset(-21, "surgery", recorded=-3)
    assert not fits(made)


def test_69_what_was_decided_lets_load_stand_from_then_on() -> None:
    made = case("RC2", day=40).onset(-21, "surgery").decision(-5, "healing clock", DECIDED)
    assert "LIM" not in codes(standing_of(made.session(-4, 1, 1, None, R1=(1, 5))))
    assert "LIM" in codes(standing_of(made.session(-6, 1, 1, None, R1=(1, 5))))


def test_69_a_new_onset_asks_again() -> None:
    made = ready_rc2(day=40).onset(-21, "surgery").decision(-5, "healing clock", DECIDED)
    assert not fits(made.onset(-2, "surgery"))


def test_69_changing_the_pathway_ends_it() -> None:
    made = case("RC2", day=40).onset(-21, "surgery").orders(-21).step(-5, "PO2", "placing")
    assert fits(made)


def test_69_a_decision_says_what_it_does() -> None:
    view = View.of(case("RC2", day=40).onset(-21, "surgery").record(), rules(), TODAY)
    said = "says how healing counts from then on, in at least 10 characters"
    assert silences(view, "healing clock", TODAY) == said
    other = View.of(ready_ad1().record(), rules(), TODAY)
    assert silences(other, "healing clock", TODAY).startswith("is kept on record: it is not true")


# --- what the reader of the store leaves out ------------------------------------------------------------


def test_69_sessions_after_such_an_onset_are_read_until_it_has_healed() -> None:
    plain = case("RC2", day=40).record()
    assert not ever_guarded(plain, "RC", rules())
    record = case("RC2", day=200).onset(-100, "dislocation").record()
    assert ever_guarded(record, "RC", rules())
    # The last gate of the pathway of a dislocation opens on day 112.
    harmless = harmless_from(record, rules())
    assert harmless is not None
    assert harmless >= on(12)
    told = case("RC2", day=200).event(-100, "dislocation").visit(-99, injury_assessed=True).record()
    assert ever_guarded(told, "RC", rules())
