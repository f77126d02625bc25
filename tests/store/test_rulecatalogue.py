"""The catalogue of exercises: it loads, it stays short, and a file that does not hold together is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules import read as rulefile
from armrise.store.rules.figure import STATUSES
from armrise.store.rules.read import RuleFileError, load

ROTATION = 'name = "side-lying external rotation"'


def test_the_catalogue_holds_what_is_used_daily_and_no_library() -> None:
    """Practice note 8, annoyances 12: the twelve used daily, not 900."""
    found = load().exercises
    assert 12 <= len(found) <= 24  # ruling 82 adds eight
    assert len({e.name for e in found}) == len(found)
    assert all(e.source and e.status in STATUSES for e in found)


@pytest.mark.parametrize(
    ("name", "klass", "sets", "reps", "per_week"),
    [
        # practice note 5.1, usual starting doses (common practice unless sourced)
        ("pendular swing", "P1", 1, (10, None, None), 21),
        ("table slide", "A1", 2, (10, 10, 15), 21),  # ruling 82
        ("wall walk", "A1", 2, (10, 10, 15), 21),
        ("external rotation hold against the wall", "I1", 5, (30, 30, 45), 7),
        ("side-lying external rotation", "R1", 2, (10, 10, 15), 4),
        ("scaption raise", "R2", 3, (8, 8, 12), 2),
        ("doorway stretch, held", "S2", 3, (1, None, None), 14),
        ("ball throw and catch", "R3", 3, (6, 6, 8), 2),
    ],
)
def test_usual_starting_doses(
    name: str, klass: str, sets: int, reps: tuple[int, int | None, int | None], per_week: int
) -> None:
    found = next(e for e in load().exercises if e.name == name)
    assert (found.load_class, found.sets, found.per_week) == (klass, sets, per_week)
    assert (found.reps, found.reps_low, found.reps_high) == reps


def test_the_order_of_classes_names_each_once() -> None:
    assert sorted(load().class_order) == sorted(LOAD_CLASSES)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (ROTATION, 'name = "band row"', "exercise 14, name: is 'band row' a second time"),
        (ROTATION, "", "exercise 12, name: is missing"),
        (
            'load_class = "R1"',
            'load_class = "R9"',
            "exercise 11, load_class: is 'R9', allowed is one of P0, P1",
        ),
        ("sets = 1\n", "sets = 0\n", "exercise 1, sets: is 0, allowed is a whole number from 1 to 20"),
        ("reps = 30\n", "reps = 50\n", "exercise 9, reps: is 50, allowed is reps_low 30 to reps_high 45"),
        ("reps_low = 30\n", "", "exercise 9, reps_low: and reps_high belong together"),
        (
            "effort = 4\n",
            "effort = 4\nhold = 30\n",
            "exercise 9, hold: is 30, allowed is none in an isometric",
        ),
        ('equipment = "none"\n', "", "exercise 1, equipment: is missing"),
        ('status = "common practice"\n\n[[exercise]]', "\n[[exercise]]", "exercise 1, status: is missing"),
        ("above_shoulder = true", 'above_shoulder = "yes"', "exercise 5, above_shoulder: is 'yes'"),
        ("above_shoulder = true", "overhead = true", "exercise 5, overhead: is not known here"),
        ('order = ["P0", "P1",', 'order = ["P1",', "class_order, order: lacks P0"),
        ('order = ["P0", "P1",', 'order = ["P0", "P0", "P1",', "class_order, order: names a class twice"),
        ("[class_order]", "[classes]", "class_order: is missing"),
        ('classes = ["P0",', 'classes = ["Q0",', "mobility, classes: holds 'Q0', allowed is one of P0"),
        ("[mobility]", "[free]", "mobility: is missing"),
        (
            'load_class_in = { PO = "P1" }',
            'load_class_in = { XX = "P1" }',
            "load_class_in, XX: is not known here",
        ),
        (
            'load_class_in = { PO = "P1" }',
            'load_class_in = { PO = "P9" }',
            "load_class_in, PO: is 'P9', allowed",
        ),
        ('climb = "easy"', 'climb = "soon"', "climb: is 'soon', allowed is one of , easy, top"),
        ("sets_high = 3", "sets_high = 1", "exercise 3, sets: is 2, allowed is at most sets_high, 1"),
        ("lower_s_high = 4", "lower_s_high = 2", "lower_s: is 3, allowed is at most lower_s_high, 2"),
        ("arc_to = 70", "arc_to = -10", "arc_from: is 0, allowed is at most arc_to, -10"),
        ("lower_s = 3", "lower_s = 61", "lower_s: is 61, allowed is a whole number from 0 to 60"),
        ('assist = "both ways"', 'assist = "helper"', "assist: is 'helper', allowed is one of"),
        ('    "wall walk",', '    "wall climb",', "ladder 1, rungs: holds 'wall climb', allowed is"),
        (
            '    "wall walk",',
            '    "palm-up curl",',
            "ladder 3, rungs: holds 'palm-up curl', which 'lift' holds",
        ),
        ('name = "turn out"', 'name = "lift"', "ladder 2, name: is 'lift' a second time"),
        ("[class_order]", "[[class_order]]", "class_order: is a list"),
    ],
)
def test_a_catalogue_that_does_not_hold_together_is_refused(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    file = folder / "exercises.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RuleFileError) as refused:
        load(folder)
    sentence = str(refused.value)
    assert sentence.startswith("exercises.toml, ")
    assert sentence.endswith(".")
    assert says in sentence


def test_82_the_ladders_and_the_classes_of_their_rungs() -> None:
    rules = load()
    klass = {one.name: one.load_class for one in rules.exercises}
    assert {one.name: [(rung, klass[rung]) for rung in one.rungs] for one in rules.ladders} == {
        "lift": [
            *(("table slide", "A1"), ("wall walk", "A1"), ("wall slide", "A2"), ("free arm lift", "A2")),
            *(("light scaption raise", "R1"), ("scaption raise", "R2")),
        ],
        "turn out": [
            ("stick-assisted external rotation", "A1"),
            ("external rotation hold against the wall", "I1"),
            ("firm external rotation hold", "I2"),
            ("band external rotation, lowering only", "R1"),
            ("band external rotation, arm at side", "R1"),
            ("side-lying external rotation", "R1"),
        ],
        "biceps, long head": [
            ("palm-up elbow bend, other hand helps", "A1"),
            *(("palm-up curl, lowering only", "R1"), ("palm-up curl", "R1")),
            ("palm-up forward raise, elbow bent", "R1"),
        ],
    }


def test_82_easy_rungs_climb_early_the_last_of_a_ladder_never() -> None:
    rules = load()
    climb = {one.name: (one.load_class, one.climb) for one in rules.exercises}
    for ladder in rules.ladders:
        assert climb[ladder.rungs[-1]][1] == ""
        for rung in ladder.rungs[:-1]:
            klass, when = climb[rung]
            easy = klass in ("P1", "A1", "A2") or rung.endswith("lowering only")
            assert when == ("easy" if easy else "top"), rung


def test_80_sets_that_may_rise() -> None:
    high = {one.name: (one.sets, one.sets_high) for one in load().exercises if one.sets_high}
    assert set(high.values()) == {(2, 3)}
    assert {"side-lying external rotation", "band row", "wall slide", "table slide"} <= set(high)


def test_81_movement_without_load_and_83_its_class_after_a_repair() -> None:
    rules = load()
    assert rules.mobility_classes == ("P0", "P1", "A1", "A2", "S1", "S2")
    slide = next(one for one in rules.exercises if one.name == "table slide")
    assert slide.load_class_in == (("PO", "P1"),)
    lowering = next(one for one in rules.exercises if one.name == "band external rotation, lowering only")
    assert (lowering.assist, lowering.lower_s, lowering.lower_s_high) == ("other arm lifts", 3, 4)
    assert (lowering.arc_from, lowering.arc_to) == (0, 70)


def test_a_missing_catalogue_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    (folder / "exercises.toml").unlink()
    with pytest.raises(RuleFileError, match=r"exercises\.toml: is missing"):
        load(folder)
