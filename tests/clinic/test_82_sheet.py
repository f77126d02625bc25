"""Ruling 82: an exercise as the patient's sheet prints it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.programme.ladder import start_of
from armrise.store.record.kinds.programme import ProgrammeItem
from tests.clinic.build import TODAY, Builder, case, rules
from tests.clinic.spoken import exercises


def sheet_line(made: Builder, name: str) -> str:
    lines = exercises(View.of(made.record(), rules(), TODAY))
    return next(line for line in lines if line.startswith(name))


def start(made: Builder, name: str) -> Builder:
    return made.add(ProgrammeItem, -1, **usual(name))


def usual(name: str) -> dict[str, Any]:
    (named,) = [one for one in rules().exercises if one.name == name]
    return start_of(named)


def test_82_a_table_slide_goes_as_far_as_it_is_easy() -> None:
    """Ruling 82: the sheet prints."""
    line = "table slide: 2 sets of 10 to 15, 3 times a day; as far as it is easy, pain 2 or less"
    assert sheet_line(start(case("RC1", day=5), "table slide"), "table slide") == line
    assert sheet_line(start(case("PO2", day=19, onset=33), "table slide"), "table slide") == line


def test_82_lowering_only_says_which_arm_does_what() -> None:
    """Ruling 82: the sheet prints, here with three sets."""
    name = "band external rotation, lowering only"
    made = case("RC2", day=5).add(ProgrammeItem, -1, **{**usual(name), "sets": 3})
    assert sheet_line(made, name) == (
        f"{name}: the other arm takes the band out, then let it back over 3 to 4"
        " seconds with the sore side, about 70 degrees; 3 sets of 10 to 15, every other day; effort 4 of 10"
    )


def test_82_a_weight_is_lifted_by_the_other_arm() -> None:
    name = "palm-up curl, lowering only"
    made = case("RC2", day=5).add(ProgrammeItem, -1, **{**usual(name), "load": Decimal(1)})
    assert sheet_line(made, name).startswith(
        f"{name}: the other arm lifts it, then lower it over 3 to 4 seconds with the sore side; 2 sets"
    )


def test_82_both_ways_is_done_by_the_sore_side_alone() -> None:
    name = "band external rotation, arm at side"
    assert sheet_line(start(case("RC2", day=5), name), name) == (
        f"{name}: about 70 degrees; 2 sets of 10 to 15, every other day; effort 4 of 10"
    )


@pytest.mark.parametrize(
    ("per_week", "words"),
    [
        (1, "once a week"),
        (2, "2 times a week"),
        (4, "every other day"),
        (5, "5 times a week"),
        (7, "every day"),
        (13, "13 times a week"),
        (14, "2 times a day"),
        (21, "3 times a day"),
    ],
)
def test_82_how_often_is_said_as_people_say_it(per_week: int, words: str) -> None:
    made = case("RC2", day=5).programme(-1, "R1", 3, 10, exercise="band row", per_week=per_week)
    assert sheet_line(made, "band row") == f"band row: 3 sets of 10, {words}"


@pytest.mark.parametrize(
    ("dose", "words"),
    [
        ({"reps": 30, "reps_low": 30, "reps_high": 45}, "5 times, hold each for 30 to 45 seconds"),
        ({"reps": 30}, "5 times, hold each for 30 seconds"),
        ({"reps": 1, "hold": 30}, "5 times, hold each for 30 seconds"),
        ({"reps": 1, "hold": 30, "reps_low": 30, "reps_high": 45}, "5 times, hold each for 30 to 45 seconds"),
        ({"reps": 3, "hold": 30}, "5 sets of 3, hold each for 30 seconds"),
    ],
)
def test_82_of_isometric_work_the_seconds_are_held(dose: dict[str, int], words: str) -> None:
    """The catalogue: "in the isometric classes I1 and I2 seconds held"."""
    made = case("RC2", day=5).programme(-1, "I1", 5, **dose, exercise="firm hold")
    assert sheet_line(made, "firm hold") == f"firm hold: {words}"
