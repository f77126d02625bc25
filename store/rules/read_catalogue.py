"""Reads the catalogue of exercises: trade names, load class and usual starting dose, each with its source."""

from __future__ import annotations

from armrise.store.record.kinds.programme import ISOMETRIC, LOAD_CLASSES
from armrise.store.rules.declared import read
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.table import Table

CATALOGUE = "exercises.toml"
_REPS = ("reps", "reps_low", "reps_high")


def class_order(table: Table) -> tuple[str, ...]:
    """Every load class once, from the least asked of the shoulder to the most."""
    part = table.table("class_order")
    order = part.choices("order", LOAD_CLASSES)
    missing = [c for c in LOAD_CLASSES if c not in order]
    if (missing or len(order) != len(LOAD_CLASSES)) and not part.spoiled("order"):
        fault = f"lacks {missing[0]}" if missing else "names a class twice"
        part.fault("order", f"{fault}, needed is each of the {len(LOAD_CLASSES)} load classes once")
    part.source()
    part.done()
    return order


def exercises(table: Table) -> tuple[Exercise, ...]:
    """The exercises in the order of the file, each name once."""
    found: list[Exercise] = []
    for part in table.tables("exercise", "exercise"):
        made = read(part, Exercise)
        _hold_together(part, made)
        if any(made.name == other.name for other in found) and not part.spoiled("name"):
            part.fault("name", f"is {made.name!r} a second time, allowed is each name once")
        found.append(made)
    if not found:
        table.fault("exercise", "is missing, needed is at least one exercise")
    return tuple(found)


def _hold_together(part: Table, made: Exercise) -> None:
    low, high = made.reps_low, made.reps_high
    if low is not None and high is not None and not part.spoiled(*_REPS) and not low <= made.reps <= high:
        part.fault("reps", f"is {made.reps}, allowed is reps_low {low} to reps_high {high}, in that order")
    if made.hold is not None and made.load_class in ISOMETRIC and not part.spoiled("load_class"):
        part.fault("hold", f"is {made.hold}, allowed is none in an isometric class, whose reps are seconds")
