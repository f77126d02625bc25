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
    assert 12 <= len(found) <= 16
    assert len({e.name for e in found}) == len(found)
    assert all(e.source and e.status in STATUSES for e in found)


@pytest.mark.parametrize(
    ("name", "klass", "sets", "reps", "per_week"),
    [
        # practice note 5.1, usual starting doses (common practice unless sourced)
        ("pendular swing", "P1", 1, (10, None, None), 21),
        ("table slide", "A1", 1, (10, None, None), 21),
        ("external rotation hold against the wall", "I1", 5, (30, 30, 45), 7),
        ("side-lying external rotation", "R1", 2, (10, 10, 15), 3),
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
        (ROTATION, 'name = "band row"', "exercise 10, name: is 'band row' a second time"),
        (ROTATION, "", "exercise 8, name: is missing"),
        (
            'load_class = "R1"',
            'load_class = "R9"',
            "exercise 8, load_class: is 'R9', allowed is one of P0, P1",
        ),
        ("sets = 1\n", "sets = 0\n", "exercise 1, sets: is 0, allowed is a whole number from 1 to 20"),
        ("reps = 30\n", "reps = 50\n", "exercise 6, reps: is 50, allowed is reps_low 30 to reps_high 45"),
        ("reps_low = 30\n", "", "exercise 6, reps_low: and reps_high belong together"),
        (
            "effort = 4\n",
            "effort = 4\nhold = 30\n",
            "exercise 6, hold: is 30, allowed is none in an isometric",
        ),
        ('equipment = "none"\n', "", "exercise 1, equipment: is missing"),
        ('status = "common practice"\n\n[[exercise]]', "\n[[exercise]]", "exercise 1, status: is missing"),
        ("above_shoulder = true", 'above_shoulder = "yes"', "exercise 5, above_shoulder: is 'yes'"),
        ("above_shoulder = true", "overhead = true", "exercise 5, overhead: is not known here"),
        ('order = ["P0", "P1",', 'order = ["P1",', "class_order, order: lacks P0"),
        ('order = ["P0", "P1",', 'order = ["P0", "P0", "P1",', "class_order, order: names a class twice"),
        ("[class_order]", "[classes]", "class_order: is missing"),
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


def test_a_missing_catalogue_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    (folder / "exercises.toml").unlink()
    with pytest.raises(RuleFileError, match=r"exercises\.toml: is missing"):
        load(folder)
