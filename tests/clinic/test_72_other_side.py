"""An implausible other side is no reference until somebody says that it is (ruling 72)."""

from __future__ import annotations

from typing import Any

import pytest

from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.reference import implausible
from armrise.store.clinic.verdict.pace import paces
from tests.clinic.build import TODAY, Builder, case, codes, rules, standing_of
from tests.clinic.build_more import criterion, twos

ROTATION = "passive_external_rotation"
STRENGTH = "external_rotation_strength"
REFERENCE = "other side is a reference"


def doubt(made: Builder) -> str:
    """What asks whether the other side is a reference."""
    return implausible(View.of(made.record(), rules(), TODAY))


def lifting(own: int, other: int, **more: Any) -> Builder:
    """RC1, ready but for flexion of both sides, measured on D-3."""
    made = twos(case("RC1", day=12, **more)).measure(-1, "worst_pain", 5)
    made.measure(-8, "night_pain", 3).measure(-2, "night_pain", 2)
    return made.both(-3, "active_flexion", own, other).good(3, last=-2, A1=(3, 10))


def test_72_other_side_lifts_100() -> None:
    """*Yes*: other 100, affected 85, which is 85 per cent of it: unknown, and asked."""
    standing = standing_of(lifting(85, 100))
    found = criterion(standing, "active flexion")
    assert found.state is Truth.UNKNOWN
    assert found.ask == "other side lifts 100: is it a reference?"
    assert standing.verdict.word is Word.UNKNOWN
    assert "other side lifts 100: is it a reference?" in standing.verdict.line


def test_72_no_at_82_years_with_115() -> None:
    """*No*: 82 years, other 115: 95 of it is 82 per cent."""
    found = criterion(standing_of(lifting(95, 115, age_band="80s")), "active flexion")
    assert found.state is Truth.MET


def test_72_what_fails_against_a_doubtful_side_is_unknown_too() -> None:
    """40 of 100 would be not met; of a side that is no reference nothing is known."""
    assert criterion(standing_of(lifting(40, 100)), "active flexion").state is Truth.UNKNOWN


@pytest.mark.parametrize(
    ("name", "low", "ok", "words"),
    [
        ("active_flexion", 129, 130, "other side lifts 129: is it a reference?"),
        ("passive_flexion", 129, 130, "other side lifts 129: is it a reference?"),
        ("active_abduction", 119, 120, "other side lifts 119: is it a reference?"),
        (ROTATION, 39, 40, "other side turns 39: is it a reference?"),
        ("passive_internal_rotation", 39, 40, "other side turns 39: is it a reference?"),
        (STRENGTH, 1.9, 2, "other side 1.9 kg: is it a reference?"),
        ("abduction_strength", 1.9, 2, "other side 1.9 kg: is it a reference?"),
    ],
)
@pytest.mark.parametrize("band", ["60s", None])
def test_72_figures_under_70(name: str, low: float, ok: float, words: str, band: str | None) -> None:
    """An age nobody recorded is not old: the question is asked."""
    assert doubt(case("RC2", age_band=band).measure(-1, name, low, other=True)) == words
    assert doubt(case("RC2", age_band=band).measure(-1, name, ok, other=True)) == ""


@pytest.mark.parametrize(
    ("name", "low", "ok"),
    [
        *[("active_flexion", 109, 110), ("passive_flexion", 109, 110), ("active_abduction", 99, 100)],
        *[(ROTATION, 29, 30), (STRENGTH, 1.9, 2)],
    ],
)
@pytest.mark.parametrize("band", ["70s", "90 or over"])
def test_72_figures_from_70(name: str, low: float, ok: float, band: str) -> None:
    assert doubt(case("RC2", age_band=band).measure(-1, name, low, other=True))
    assert doubt(case("RC2", age_band=band).measure(-1, name, ok, other=True)) == ""


def test_72_abduction_with_the_shoulder_blade_held_has_no_figure() -> None:
    """It ends near 90 degrees in a healthy shoulder (the range of the field ends at 120)."""
    assert doubt(case("RC2").measure(-1, "passive_abduction", 90, other=True)) == ""


@pytest.mark.parametrize("unit", ["grade 0-5", "percent of other side"])
def test_72_two_kilograms_are_no_grade(unit: str) -> None:
    assert doubt(case("RC2").measure(-1, STRENGTH, 1, other=True, unit=unit)) == ""


@pytest.mark.parametrize(
    ("name", "other", "ok", "over"),
    [("active_flexion", 140, 168, 169), (STRENGTH, 5, 6, 6.1), ("active_abduction", 120, 144, 145)],
)
def test_72_the_affected_side_exceeds_it(name: str, other: float, ok: float, over: float) -> None:
    """By more than 20 per cent."""
    assert doubt(case("RC2").both(-1, name, ok, other)) == ""
    said = doubt(case("RC2").both(-1, name, over, other))
    assert said.endswith(f"{over}, other side {other}: is it a reference?")


def test_72_more_rotation_is_no_doubt() -> None:
    assert doubt(case("RC2").both(-1, ROTATION, 80, 40)) == ""


def test_72_values_in_two_units_are_not_compared() -> None:
    made = case("RC2").measure(-1, STRENGTH, 5, unit="grade 0-5").measure(-1, STRENGTH, 3, other=True)
    assert doubt(made) == ""


@pytest.mark.parametrize(("ago", "lifted"), [(3, True), (0, True), (4, False)])
def test_72_lifted_by_a_finding_on_or_after_the_value(ago: int, lifted: bool) -> None:
    """The values are of D-3; a finding of the day before knew nothing of them."""
    made = lifting(85, 100).finding(-ago, REFERENCE)
    assert (criterion(standing_of(made), "active flexion").state is Truth.MET) is lifted


def test_72_a_new_value_asks_again() -> None:
    made = lifting(85, 100).finding(-3, REFERENCE)
    assert doubt(made) == ""
    assert doubt(made.measure(0, "active_flexion", 100, other=True))


def test_72_lifted_by_a_typed_target() -> None:
    """The target is then what the value is held against."""
    found = criterion(standing_of(lifting(85, 100).target(-1, "active_flexion", 80)), "active flexion")
    assert found.state is Truth.MET
    assert found.needed.startswith("target 80")
    missed = criterion(standing_of(lifting(85, 100).target(-1, "active_flexion", 90)), "active flexion")
    assert missed.state is Truth.NOT_MET


def test_72_over_when_measured_again() -> None:
    made = lifting(139, 100).measure(0, "active_flexion", 170, other=True)
    assert criterion(standing_of(made), "active flexion").state is Truth.MET


def test_72_said_to_be_none_needs_a_target_as_before() -> None:
    found = criterion(standing_of(lifting(139, 170).finding(-1, REFERENCE, "no")), "active flexion")
    assert found.ask == "active flexion: 139 degrees; other side is no reference, no target typed"


def test_72_one_doubtful_value_makes_the_whole_side_doubtful() -> None:
    """A side that lifts 100 is not held to be strong either: the safer reading."""
    made = case("RC2", day=20).both(-1, STRENGTH, 6, 7)
    assert criterion(standing_of(made), "strength").state is Truth.MET
    made.measure(-1, "active_flexion", 100, other=True)
    found = criterion(standing_of(made), "strength")
    assert (found.state, found.ask) == (Truth.UNKNOWN, "other side lifts 100: is it a reference?")


def test_72_a_danger_is_read_all_the_same() -> None:
    """Rotation under half of a side that lifts poorly: the safer reading, because silence would hide it."""
    made = case("RC2", day=20).both(-1, ROTATION, 20, 60)
    made.measure(-1, "active_flexion", 100, other=True)
    assert "STF" in codes(standing_of(made))


def test_72_no_pace_towards_a_doubtful_side() -> None:
    made = case("RC2", day=60).measure(-60, "active_flexion", 140, other=True)
    for week in range(6):
        made.measure(-42 + 7 * week, "active_flexion", 80 + 5 * week)
    assert paces(View.of(made.record(), rules(), TODAY))
    made.measure(-1, "active_flexion", 120, other=True)
    assert not paces(View.of(made.record(), rules(), TODAY))
