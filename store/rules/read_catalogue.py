"""Reads the catalogue of exercises: trade names, load class and usual starting dose, each with its source."""

from __future__ import annotations

from armrise.store.record.kinds.programme import ISOMETRIC, LOAD_CLASSES
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
        made = _exercise(part)
        part.done()
        if any(made.name == other.name for other in found) and not part.spoiled("name"):
            part.fault("name", f"is {made.name!r} a second time, allowed is each name once")
        found.append(made)
    if not found:
        table.fault("exercise", "is missing, needed is at least one exercise")
    return tuple(found)


def _exercise(part: Table) -> Exercise:
    load_class = part.choice("load_class", LOAD_CLASSES)
    reps = int(part.number("reps", (1, 200)))
    low, high = part.count("reps_low", 1, 200), part.count("reps_high", 1, 200)
    if (low is None) != (high is None):
        part.fault("reps_low", "and reps_high belong together, needed are both or neither")
    if low is not None and high is not None and not part.spoiled(*_REPS) and not low <= reps <= high:
        part.fault("reps", f"is {reps}, allowed is reps_low {low} to reps_high {high}, in that order")
    hold = part.count("hold", 1, 300)
    if hold is not None and load_class in ISOMETRIC and not part.spoiled("load_class"):
        part.fault("hold", f"is {hold}, allowed is none in an isometric class, whose reps are seconds")
    source, status = part.source()
    return Exercise(
        name=part.words("name", 60),
        load_class=load_class,
        equipment=part.words("equipment", 60),
        sets=int(part.number("sets", (1, 20))),
        reps=reps,
        reps_low=low,
        reps_high=high,
        hold=hold,
        per_week=part.count("per_week", 1, 70),
        effort=part.count("effort", 0, 10),
        above_shoulder=part.yes("above_shoulder"),
        combined=part.yes("combined"),
        source=source,
        status=status,
    )
