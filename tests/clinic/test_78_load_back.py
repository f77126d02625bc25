"""Ruling 78: with a flare that does not settle verdict and dose agree, and load comes back before a stage."""

from __future__ import annotations

from datetime import timedelta

import pytest

from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.programme.proposal import DELOAD, HOLD
from armrise.store.record.kinds.programme import LOAD_CLASSES
from tests.clinic.build import TODAY, Builder, reason, standing_of
from tests.clinic.programmes import FLARED, GOOD, ROTATION, ROW, did, prescribe, propose, start

RAISE = "scaption raise"


def two_loads(stage: str = "RC3") -> Builder:
    """Two loads raised five days ago."""
    built = prescribe(prescribe(start(stage), -50, "3x8 @ 1.5", RAISE, "R2"), -50, "3x10", ROW, band=2)
    return prescribe(prescribe(built, -5, "3x8 @ 2", RAISE, "R2"), -5, "3x10", ROW, band=3)


def flares(built: Builder, *days: int) -> Builder:
    for day in days:
        built.session(day, *FLARED, did("3x8 @ 2", RAISE, "R2"), did("3x10", ROW, band=3))
    return built


def lines(standing: Standing) -> list[str]:
    """The blocks of the verdict, a line each."""
    return [f"{block.text}: {block.observed}" for block in standing.verdict.blocks]


def test_78_load_back_before_a_step_back() -> None:
    """*Load back*: RC3, two loads raised D-5, flares D-3, D-2; also 5.4, row RC3 day 30."""
    built = flares(two_loads(), -3, -2)
    found = standing_of(built)
    assert found.verdict.word is Word.NOT_YET
    said = "load back first: scaption raise to 3 x 8 at 1.5 kg, band row to 3 x 8, band 2"
    assert found.verdict.line.startswith(said)
    assert lines(found)[0] == said
    assert lines(found)[1].startswith("pain not settling: next morning 5, baseline 2, twice")
    for name in (RAISE, ROW):
        assert propose(built, name).word == DELOAD


def test_78_a_flare_after_the_load_was_cut_is_a_step_back() -> None:
    """*Step back*: the same, deload accepted D-2, flares D-1 and T."""
    built = prescribe(
        prescribe(flares(two_loads(), -3), -2, "3x8 @ 1.5", RAISE, "R2"), -2, "3x8", ROW, band=2
    )
    for day in (-1, 0):
        built.session(day, 4, 7, None, did("3x8 @ 1.5", RAISE, "R2"), did("3x8", ROW, band=2))
    found = standing_of(built)
    assert found.verdict.word is Word.STEP_BACK
    assert found.verdict.line.startswith("flare goes on after the load was cut: ")


def test_78_the_day_it_was_raised_is_named_also_after_the_cut() -> None:
    """Raised on Wed 25 Feb, lowered on Sat 28 Feb."""
    built = prescribe(flares(two_loads(), -3), -2, "3x8 @ 1.5", RAISE, "R2")
    built.session(-1, 4, 7, None, did("3x8 @ 1.5", RAISE, "R2"))
    assert "raised last: scaption raise (Wed 25 Feb)" in propose(built, RAISE).reason


def test_78_one_flare_after_the_cut_is_not_two() -> None:
    """Boundary of 1: only what is dated after the day of the change is read."""
    built = flares(two_loads(), -3, -2)
    prescribe(prescribe(built, -2, "3x8 @ 1.5", RAISE, "R2"), -2, "3x8", ROW, band=2)
    built.session(0, 4, 7, None, did("3x8 @ 1.5", RAISE, "R2"), did("3x8", ROW, band=2))
    assert standing_of(built).verdict.word is Word.NOT_YET


def test_78_an_accepted_lower_dose_is_kept() -> None:
    """ "keep NAME at DOSE" where 5.2 holds it; the other still goes back."""
    built = prescribe(flares(two_loads(), -3, -2), 0, "3x8 @ 1.5", RAISE, "R2")
    found = standing_of(built)
    assert found.verdict.word is Word.NOT_YET
    assert "load back first: keep scaption raise at 3 x 8 at 1.5 kg, band row to 3 x 8, band 2" in lines(
        found
    )
    assert (propose(built, RAISE).word, propose(built, ROW).word) == (HOLD, DELOAD)


@pytest.mark.parametrize("cut", ["contact", "visit", "stopped"])
def test_78_a_load_cut_or_an_exercise_taken_out_is_a_change_too(cut: str) -> None:
    built = flares(two_loads(), -6, -4)
    if cut == "stopped":
        prescribe(built, -3, "3x8 @ 2", RAISE, "R2", stopped="hurts")
    else:
        getattr(built, cut)(-3, load_cut=True)
    found = standing_of(flares(built, -2, -1))
    assert found.verdict.word is Word.STEP_BACK
    assert found.verdict.line.startswith("flare goes on after the load was cut")


def test_78_a_load_cut_before_the_first_flare_of_the_cause_is_none() -> None:
    """On or after the first flare of the present cause."""
    found = standing_of(flares(two_loads().contact(-4, load_cut=True), -3, -2))
    assert found.verdict.word is Word.NOT_YET


@pytest.mark.parametrize(
    "load_class", [c for c in LOAD_CLASSES if c not in ("P0", "P1", "A1", "A2", "S1", "S2")]
)
def test_78_every_class_that_is_cut_counts_as_load(load_class: str) -> None:
    """94: I1 I2 R1 R2 R3 W1 W2 X1."""
    built = start("RC4").programme(-50, load_class)
    for day in (-3, -2):
        built.session(day, *FLARED, **{load_class: (3, 10)})
    assert standing_of(built).verdict.line.startswith("load back first")


@pytest.mark.parametrize(
    ("begun", "word"), [(-50, Word.STEP_BACK), (-10, Word.STEP_BACK), (-9, Word.NOT_YET)]
)
def test_78_movement_without_load_is_no_load_unless_it_was_begun_lately(begun: int, word: Word) -> None:
    """3, and 94: an item begun in the seven days before the newest flare counts as raised."""
    built = start("RC3").programme(begun, "A1")
    for day in (-3, -2):
        built.session(day, *FLARED, A1=(3, 10))
    found = standing_of(built)
    assert found.verdict.word is word
    assert found.verdict.line.startswith(
        "load back first" if word is Word.NOT_YET else "flare not settling: "
    )


def test_78_without_a_programme_a_step_back_is_advised() -> None:
    built = start("RC3")
    for day in (-3, -2):
        built.session(day, *FLARED)
    assert standing_of(built).verdict.word is Word.STEP_BACK


def test_78_the_first_stage_reduces_load_as_before() -> None:
    found = standing_of(flares(two_loads("RC1"), -3, -2))
    assert found.verdict.word is Word.NOT_YET
    assert "reduce load (no earlier stage)" in [block.text for block in found.verdict.blocks]
    assert "load back first" not in [block.text for block in found.verdict.blocks]


def test_78_a_contact_that_cuts_load_and_accepts_the_dose_puts_the_flare_in_hand() -> None:
    """Ruling 38: seven days, also when the lower dose is accepted at that contact."""
    built = flares(two_loads(), -4, -3).contact(-1, load_cut=True)
    prescribe(prescribe(built, -1, "3x8 @ 1.5", RAISE, "R2"), -1, "3x8", ROW, band=2)
    found = standing_of(built)
    assert reason(found, "FLA").in_hand_until == TODAY + timedelta(days=6)
    assert reason(standing_of(flares(two_loads(), -4, -3)), "FLA").in_hand_until is None
    assert found.verdict.word is Word.NOT_YET


def test_78_a_rung_back_and_a_smaller_arc_are_changes_too() -> None:
    """An accepted lower item: "ARC, RUNG BACK too"; the rung below may be of the same class."""
    both, lowering = "band external rotation, arm at side", "band external rotation, lowering only"
    built = prescribe(start("RC3"), -50, "2x10", both, band=1)
    for day in (-6, -5):
        built.session(day, *FLARED, did("2x10", both, band=1))
    prescribe(prescribe(built, -4, "2x10", both, band=1, stopped="flare"), -4, "2x10", lowering, band=1)
    for day in (-2, -1):
        built.session(day, *FLARED, did("2x10", lowering, band=1))
    assert standing_of(built).verdict.word is Word.STEP_BACK
    slide = start("RC3").programme(-8, "A1")
    for day in (-6, -5):
        slide.session(day, *FLARED, A1=(3, 10))
    slide.programme(-4, "A1")
    for day in (-2, -1):
        slide.session(day, *FLARED, A1=(3, 10))
    assert standing_of(slide).verdict.word is Word.STEP_BACK


def test_78_a_climb_is_no_load_cut() -> None:
    """An exercise that stopped for the next rung of its ladder took no load away."""
    built = prescribe(start("RC3"), -50, "2x10", "free arm lift", "A2")
    built.session(-6, *FLARED, did("2x10", "free arm lift", "A2"))
    prescribe(built, -5, "2x10", "free arm lift", "A2", stopped="easy")
    prescribe(built, -5, "2x10 @ 1", "light scaption raise")
    for day in (-3, -2):
        built.session(day, *FLARED, did("2x10 @ 1", "light scaption raise"))
    assert standing_of(built).verdict.word is Word.NOT_YET


def test_78_a_good_session_after_the_flares_keeps_what_stands() -> None:
    """Cause b without an accepted change: 5.2 holds, and the verdict says so."""
    built = flares(two_loads(), -4, -2)
    built.session(-1, *GOOD, did("3x8 @ 2", RAISE, "R2"), did("3x10", ROW, band=3))
    found = standing_of(built)
    assert "load back first: keep scaption raise at 3 x 8 at 2 kg, keep band row at 3 x 10, band 3" in lines(
        found
    )
    assert propose(built, RAISE).word == HOLD


def test_78_the_other_exercise_is_not_named() -> None:
    """Only the exercises to blame go back."""
    built = prescribe(two_loads(), -50, "3x8 @ 1")
    for day in (-3, -2):
        built.session(day, *FLARED, did("3x8 @ 2", RAISE, "R2"), did("3x10", ROW, band=3), did("3x8 @ 1"))
    assert ROTATION not in standing_of(built).verdict.line
