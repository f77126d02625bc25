"""What the patient is told of pain (ruling 79): usual pain above the limit, a flare, the first stage."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from armrise.store.clinic.advice.today import say_to_patient
from armrise.store.clinic.case.view import View
from tests.clinic.build import TODAY, Builder, case, codes, rules, standing_of
from tests.clinic.spoken import exercises

ABOVE = (
    "Your usual pain is above that. Keep {} going: small and easy, several times a day; "
    "stop where it becomes sharper."
)
GENTLE, SHOWN = "the gentle movement", "the movements you were shown"
KEEP = "Keep the gentle movement going."
PO1 = (
    "Do not lift or move the arm by its own strength. Washing the armpit with the arm hanging, "
    "dressing as you were shown, and moving hand, wrist and elbow are fine."
)


def said(made: Builder) -> list[str]:
    """What is said after the pain limits."""
    told = list(say_to_patient(View.of(made.record(), rules(), TODAY)))
    at = next(n for n, line in enumerate(told) if "Keep pain" in line)
    return told[at + 1 :]


def sessions(made: Builder, during: int, later: int, morning: int = 2) -> Builder:
    """Four sessions alike, two days apart."""
    for day in (-8, -6, -4, -2):
        made.session(day, during, later, morning)
    return made


def flaring(*, raised: int | None = None, begun: int | None = None, stage: str = "RC3") -> Builder:
    """Flares on D-3 and D-2 after calm mornings; band row raised, or begun, on a day."""
    made = case(stage, day=30).mornings(-14, *[2] * 10)
    made.programme(-28, "R1", 3, 10, exercise="band row", band=1, per_week=3)
    if raised is not None:
        made.programme(raised, "R1", 3, 10, exercise="band row", band=2, per_week=3)
    if begun is not None:
        made.programme(begun, "R1", 2, 10, exercise="scaption raise", load=1)
    return made.session(-3, 4, 7, 6).session(-2, 4, 7, 6)


# --- usual pain above the limit, no flare -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "above"),
    [
        (lambda: case("RC1", day=10).mornings(-4, 3, 3, 3), False),
        (lambda: case("RC1", day=10).mornings(-4, 4, 4, 4), True),
        (lambda: sessions(case("RC1", day=10), 3, 3), False),
        (lambda: sessions(case("RC1", day=10), 4, 3), True),
        (lambda: sessions(case("RC1", day=10), 3, 4), True),
    ],
)
def test_79_usual_morning_during_or_later_above_its_limit(made: Callable[[], Builder], above: bool) -> None:
    """RC1: 3 and 3."""
    built = made()
    assert "FLA" not in codes(standing_of(built))
    assert said(built) == ([ABOVE.format(GENTLE)] if above else [])


@pytest.mark.parametrize(("load_class", "load"), [("A1", False), ("I1", False), ("R1", True)])
def test_79_with_load_in_the_programme_no_weight_is_added(load_class: str, load: bool) -> None:
    made = case("RC2", day=10).mornings(-4, 5, 5, 5).programme(-5, load_class)
    assert said(made) == [ABOVE.format(GENTLE), *(["Add no weight."] if load else [])]


def test_79_in_a_protected_stage_the_movements_that_were_shown() -> None:
    assert said(case("PO2", day=10).mornings(-4, 5, 5, 5)) == [ABOVE.format(SHOWN)]


# --- a flare ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("raised", [-9, -2])
def test_79_a_flare_after_a_raise_goes_back_to_the_dose_before(raised: int) -> None:
    made = flaring(raised=raised)
    assert "FLA" in codes(standing_of(made))
    dose = "3 sets of 10, band grade 1, 3 times a week"
    assert said(made) == [f"Go back to band row, the dose before ({dose}).", KEEP]
    assert exercises(View.of(made.record(), rules(), TODAY)) == (f"band row: {dose}",)


def test_79_raised_twice_in_the_week_before_it_goes_back_to_what_was_before_either() -> None:
    made = case("RC3", day=30).mornings(-14, *[2] * 10)
    for day, band in ((-28, 1), (-8, 2), (-6, 3)):
        made.programme(day, "R1", 3, 10, exercise="band row", band=band, per_week=3)
    made.session(-3, 4, 7, 6).session(-2, 4, 7, 6)
    assert said(made) == [
        "Go back to band row, the dose before (3 sets of 10, band grade 1, 3 times a week).",
        KEEP,
    ]


@pytest.mark.parametrize("raised", [None, -10, -1])
def test_79_a_flare_without_a_raise_in_the_week_before_leaves_load_out(raised: int | None) -> None:
    """Not raised; raised 8 days before the newest flare; raised after it. Baseline 2, and 1."""
    made = flaring(raised=raised)
    left = "Leave out the exercises with weight or band until the mornings are back to 3."
    assert said(made) == [left, KEEP]
    band = 1 if raised is None else 2
    assert exercises(View.of(made.record(), rules(), TODAY))[0].endswith(f"band grade {band}, 3 times a week")


def test_79_an_exercise_that_was_begun_has_no_dose_before() -> None:
    """Safer reading: there is nothing to go back to, so load is left out."""
    assert said(flaring(begun=-5))[0].startswith("Leave out the exercises with weight or band")


def test_79_a_lower_dose_since_is_what_stands() -> None:
    made = flaring(raised=-5).programme(0, "R1", 2, 10, exercise="band row", band=1, per_week=3)
    assert said(made)[0].startswith("Leave out the exercises with weight or band")


def test_79_in_a_protected_stage_a_flare_keeps_the_movements_that_were_shown() -> None:
    made = flaring(stage="PO3")
    assert said(made)[-1] == f"Keep {SHOWN} going."


# --- the first stage after a repair -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "made",
    [
        lambda: case("PO1", day=10),
        lambda: case("PO1", day=10).mornings(-4, 6, 6, 6),
        lambda: case("PO1", day=10).mornings(-9, 2, 2, 2, 2, 2, 5, 5, 5, 5),
    ],
)
def test_79_only_its_own_row_in_the_first_stage_after_a_repair(made: Callable[[], Builder]) -> None:
    built = made()
    told = say_to_patient(View.of(built.record(), rules(), TODAY))
    assert PO1 in told
    assert said(built) == []


def test_79_no_other_stage_says_it() -> None:
    assert PO1 not in say_to_patient(View.of(case("PO2", day=5).record(), rules(), TODAY))


def test_79_nobody_is_told_to_ask_before_exercising_for_pain() -> None:
    for made in (case("RC1", day=10).mornings(-4, 6, 6, 6), flaring(), flaring(raised=-4)):
        assert not any("Ask us before" in line or "ask us before" in line for line in said(made))
