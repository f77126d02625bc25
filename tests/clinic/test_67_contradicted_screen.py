"""Screen says no, finding says yes (ruling 67, with 94)."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.standing import Word
from armrise.store.record.kinds.safety import SCREEN_ITEMS
from tests.clinic.build import Builder, case, codes, reason, standing_of
from tests.clinic.build_more import ready_rc2, word

CANCER, NERVE, NIGHT = "cancer in the past", "motor or sensory loss", "unrelenting night pain"
WOUND = "wound discharge or fever after surgery"
TRAUMA = "trauma and cannot lift to 90 degrees"
NECK = "neck movement reproduces arm pain with neurological signs"
MOVED, GRIP = "neck movement reproduces pain", "grip weaker than other side"


def again(made: Builder) -> list[str]:
    """Items that the screen is said to contradict a finding in."""
    sentences = [r.sentence for r in standing_of(made).reasons if r.code == "SCR"]
    found = [s for sentence in sentences for s in sentence.split("; screen says")]
    return [i for i in SCREEN_ITEMS if any(f"finding says yes: {i}" in one for one in found)]


def denied(day: int = -20, stage: str = "RC2", **more: Any) -> Builder:
    """A case whose screen of ``day`` was all no."""
    return case(stage, day=40, screened=False, **more).screen_all_no(day)


def test_67_yes_on_one_day() -> None:
    """Screen all no and cancer history yes on one day."""
    made = denied().finding(-20, "cancer history", "yes")
    scr = reason(standing_of(made), "SCR")
    assert scr.sentence == "screen says no, finding says yes: cancer in the past; ask again"
    assert (scr.severity, scr.days_open) == (20, 20)
    assert len(scr.evidence) == 2


def test_67_no_asked_again_with_a_note() -> None:
    """Cancer history yes at D-30, item asked again at D-10 with note "skin, 1998, cured"."""
    made = denied(-30).finding(-30, "cancer history", "yes")
    assert again(made) == [CANCER]
    assert again(made.screen(-10, CANCER, "no", note="skin, 1998, cured")) == []


@pytest.mark.parametrize("seen", [-20, -1])
def test_67_a_finding_dated_on_or_after_the_no(seen: int) -> None:
    assert again(denied(-20).finding(seen, "cancer history", "yes")) == [CANCER]


def test_67_a_finding_from_before_the_item_was_ever_asked() -> None:
    """Safer than the letter: a letter that tells of cancer, then a first list answered "no" throughout."""
    made = denied(-20).finding(-21, "cancer history", "yes")
    assert again(made) == [CANCER]
    assert reason(standing_of(made), "SCR").days_open == 20
    assert again(made.screen(-20, CANCER, "no", note="skin, 1998, cured")) == []
    gone = denied(-20).finding(-22, "cancer history", "yes").finding(-21, "cancer history", "no")
    assert again(gone) == []
    early = case("PO1", day=8, onset=8, screened=False).finding(-2, "wound dry", "no")
    assert again(early.screen_all_no(-1)) == []  # seen on day 6


def test_67_the_screen_of_the_same_visit_entered_after_the_finding() -> None:
    made = case("RC2", day=40, screened=False).finding(-20, "cancer history", "yes").screen_all_no(-20)
    assert again(made) == [CANCER]


def test_67_without_any_no_it_contradicts_nothing() -> None:
    assert again(case("RC2", day=40, screened=False).finding(-5, "cancer history", "yes")) == []
    assert again(denied().finding(-5, "cancer history", "no")) == []


# --- what ends it --------------------------------------------------------------------------------------


def test_94_only_a_note_a_yes_or_the_outcome_ends_it() -> None:
    def made() -> Builder:
        return denied(-30).finding(-25, "cancer history", "yes")

    assert again(made().screen_all_no(-10)) == [CANCER]  # no note
    assert again(made().screen(-10, CANCER, "no")) == [CANCER]
    assert again(made().screen(-10, "all", "no", note="nothing")) == [CANCER]  # the item itself is asked
    assert again(made().screen(-10, CANCER, "declined", note="not today")) == [CANCER]
    assert again(made().finding(-10, "cancer history", "no")) == [CANCER]
    assert again(made().screen(-10, CANCER, "no", note="skin, cured")) == []
    assert again(made().flag_outcome(-10, CANCER)) == []
    assert again(made().flag_outcome(-10, "all")) == []
    assert again(made().flag_outcome(-10, NERVE)) == [CANCER]
    said_yes = made().screen(-10, CANCER, "yes")
    assert again(said_yes) == []
    assert "RED" in codes(standing_of(said_yes))


def test_67_a_note_has_to_be_recorded_after_the_finding() -> None:
    """94: one visit may do both if the note is recorded later."""
    before = denied(-30).screen(-10, CANCER, "no", note="skin").finding(-10, "cancer history", "yes")
    assert again(before) == [CANCER]
    after = denied(-30).finding(-10, "cancer history", "yes").screen(-10, CANCER, "no", note="skin")
    assert again(after) == []
    late = denied(-30).screen(-10, CANCER, "no", note="skin")
    assert again(late.finding(-12, "cancer history", "yes", recorded=-5)) == [CANCER]


def test_67_a_finding_of_later_speaks_again() -> None:
    made = denied(-30).finding(-25, "cancer history", "yes").screen(-20, CANCER, "no", note="skin, cured")
    assert again(made.finding(-3, "cancer history", "yes")) == [CANCER]


# --- the list ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("finding", "answer"), [("badge sensation lost", "yes"), ("deltoid contracts", "no")]
)
def test_67_the_nerve(finding: str, answer: str) -> None:
    assert again(denied().finding(-3, finding, answer)) == [NERVE]
    assert again(denied().finding(-3, finding, "no" if answer == "yes" else "yes")) == []


@pytest.mark.parametrize(("seen", "items"), [(6, []), (7, [WOUND]), (20, [WOUND])])
def test_67_the_wound_from_day_7(seen: int, items: list[str]) -> None:
    made = case("PO1", day=20, onset=20).finding(seen - 20, "wound dry", "no")
    assert again(made) == items


def test_67_cannot_lift_after_an_injury_only() -> None:
    assert again(denied().finding(-3, "can lift to 90 degrees", "no")) == []
    made = denied().event(-10).visit(-9, injury_assessed=True).screen_all_no(-9)
    assert again(made.finding(-3, "can lift to 90 degrees", "no")) == [TRAUMA]
    broken = case("FX2", day=20, onset=40).finding(-3, "can lift to 90 degrees", "no")
    assert again(broken) == [TRAUMA]


def test_67_the_neck_by_both_findings() -> None:
    assert again(denied().finding(-3, MOVED, "yes")) == []
    assert again(denied().finding(-3, GRIP, "yes")) == []
    assert again(denied().finding(-3, MOVED, "yes").finding(-1, GRIP, "yes")) == [NECK]
    over = denied().finding(-9, MOVED, "yes").finding(-5, MOVED, "no").finding(-1, GRIP, "yes")
    assert again(over) == []


def test_67_high_rest_and_night_pain_on_one_day() -> None:
    """VIS cause f: rest 7 and night 8. It stays until the item is asked again, whatever the pain does."""
    made = denied().measure(-9, "rest_pain", 7).measure(-9, "night_pain", 8)
    assert again(made) == [NIGHT]
    assert again(denied().measure(-9, "rest_pain", 6).measure(-9, "night_pain", 8)) == []
    made.measure(-2, "rest_pain", 1).measure(-2, "night_pain", 1)
    assert again(made) == [NIGHT]
    assert again(made.screen(-1, NIGHT, "no", note="slept well")) == []


def test_67_every_item_is_named() -> None:
    made = denied().finding(-3, "cancer history", "yes").finding(-3, "badge sensation lost", "yes")
    assert again(made) == [NERVE, CANCER]


# --- what follows --------------------------------------------------------------------------------------


def test_67_ready_waits() -> None:
    """68.7: "red-flag screen again"."""
    assert word(ready_rc2()) is Word.READY
    verdict = standing_of(ready_rc2().finding(-1, "cancer history", "yes")).verdict
    assert verdict.word is Word.UNKNOWN
    assert verdict.line == "red-flag screen again"
    assert [b.observed for b in verdict.blocks] == [
        "screen says no, finding says yes: cancer in the past; ask again"
    ]


def test_67_a_new_contradiction_is_no_longer_in_hand() -> None:
    made = denied().finding(-9, "cancer history", "yes").in_hand(-5, "SCR", 5)
    assert reason(standing_of(made), "SCR").in_hand
    assert not reason(standing_of(made.finding(-2, "badge sensation lost", "yes")), "SCR").in_hand


@settings(max_examples=25, deadline=None)
@given(order=st.permutations(range(4)))
def test_67_the_order_of_entry_changes_nothing_while_nothing_is_noted(order: list[int]) -> None:
    entries = [
        lambda b: b.screen_all_no(-20, recorded=0),
        lambda b: b.finding(-20, "cancer history", "yes", recorded=0),
        lambda b: b.finding(-5, MOVED, "yes", recorded=0),
        lambda b: b.finding(-5, GRIP, "yes", recorded=0),
    ]
    made = case("RC2", day=40, screened=False)
    for index in order:
        entries[index](made)
    assert again(made) == [CANCER, NECK]
