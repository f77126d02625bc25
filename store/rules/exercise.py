"""An exercise of the catalogue: its name in the trade, its load class and the usual dose to begin with.

The records and the reading of their file.
"""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.record.kinds.programme import ASSISTS, ISOMETRIC, LOAD_CLASSES
from armrise.store.record.light import dataclass
from armrise.store.rules.declared import (
    SOURCE,
    STATUS,
    Apart,
    Count,
    OneOf,
    Text,
    Texts,
    Yes,
    may,
    must,
    read,
)
from armrise.store.rules.table import Table, one_of, shown

CATALOGUE = "exercises.toml"
_REP_KEYS = ("reps", "reps_low", "reps_high")

_REPS = Count(1, 200)
_SETS = Count(1, 20)
_SECONDS = Count(0, 60)
_ARC = Count(-20, 180)
EASY, TOP = "easy", "top"
WEIGHT, BAND = "weight", "band"
"""The equipment whose load is counted: kilograms, or a grade. Any other is named and not counted."""
ARC_LIMITS = ("", "external_rotation_limit", "elevation_limit")
"""The fields of the surgeon's orders that can end an arc."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One exercise used daily. Which stages it fits follows from its load class and is never written here.

    For isometric classes ``reps`` are seconds held. ``per_week`` counts sessions. ``source`` and ``status``
    say where the usual dose comes from and how far it may be trusted. Seconds and degrees are those of one
    repetition.
    """

    name: str = must(Text(60))
    load_class: str = must(OneOf(LOAD_CLASSES))
    load_class_in: tuple[tuple[str, str], ...] = may(Apart(), default=())
    """(pathway, class): where it is of another class in that pathway."""
    climb: str = may(OneOf(("", EASY, TOP)), default="")
    """When the next of its ladder is offered: as soon as it is easy, or at the top of its dose."""
    equipment: str = must(Text(60))
    sets: int = must(_SETS)
    sets_high: int | None = may(_SETS)
    """How far sets may rise; None: they do not."""
    reps: int = must(_REPS)
    reps_low: int | None = may(_REPS, beside=("reps_high",))
    reps_high: int | None = may(_REPS)
    hold: int | None = may(Count(1, 300))
    per_week: int | None = may(Count(1, 70))
    effort: int | None = may(Count(0, 10))
    above_shoulder: bool = may(Yes(), default=False)
    combined: bool = may(Yes(), default=False)
    assist: str = may(OneOf(ASSISTS), default="")
    """Who lifts: the other arm, or this one both up and down."""
    lift_s: int | None = may(_SECONDS)
    pause_s: int | None = may(_SECONDS)
    lower_s: int | None = may(_SECONDS)
    lower_s_high: int | None = may(_SECONDS)
    arc_from: int | None = may(_ARC)
    arc_to: int | None = may(_ARC)
    source: str = must(SOURCE, default="")
    status: str = must(STATUS, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseLadder:
    """Exercises in the order in which one follows the other, the least asked of the shoulder first."""

    name: str = must(Text(40))
    rungs: tuple[str, ...] = may(Texts(), default=())
    limit: str = may(OneOf(ARC_LIMITS), default="")
    """The order whose degrees end the arc of every rung."""
    source: str = must(SOURCE)
    status: str = must(STATUS)


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


def mobility_classes(table: Table) -> tuple[str, ...]:
    """The load classes of movement without load (ruling 81)."""
    part = table.table("mobility")
    classes = part.choices("classes", LOAD_CLASSES)
    if not classes and not part.spoiled("classes"):
        part.fault("classes", "is missing, needed is at least one load class")
    part.source()
    part.done()
    return classes


def ladders(table: Table, named: Sequence[Exercise]) -> tuple[ExerciseLadder, ...]:
    """The ladders in the order of the file; each exercise stands on one rung of one of them at most."""
    known, taken = [one.name for one in named], dict[str, str]()
    found: list[ExerciseLadder] = []
    for part in table.tables("ladder", "ladder"):
        made = read(part, ExerciseLadder)
        for rung in made.rungs:
            if rung not in known and not table.spoiled("exercise"):
                part.fault("rungs", f"holds {shown(rung)}, allowed is {one_of(known, rung)}")
            if rung in taken:
                part.fault("rungs", f"holds {shown(rung)}, which {taken[rung]!r} holds already")
            taken[rung] = made.name
        if len(made.rungs) < 2 and not part.spoiled("rungs"):
            part.fault("rungs", f"holds {len(made.rungs)}, needed are two or more exercises")
        if any(made.name == other.name for other in found) and not part.spoiled("name"):
            part.fault("name", f"is {made.name!r} a second time, allowed is each name once")
        found.append(made)
    return tuple(found)


def exercises(table: Table, codes: Sequence[str]) -> tuple[Exercise, ...]:
    """The exercises in the order of the file, each name once. ``codes`` are those of the pathways."""
    found: list[Exercise] = []
    for part in table.tables("exercise", "exercise"):
        made = read(part, Exercise, load_class_in=_classes_in(part, codes))
        _hold_together(part, made)
        if any(made.name == other.name for other in found) and not part.spoiled("name"):
            part.fault("name", f"is {made.name!r} a second time, allowed is each name once")
        found.append(made)
    if not found:
        table.fault("exercise", "is missing, needed is at least one exercise")
    return tuple(found)


def _classes_in(part: Table, codes: Sequence[str]) -> tuple[tuple[str, str], ...]:
    if not part.has("load_class_in"):
        return ()
    inner = part.table("load_class_in")
    found = tuple((code, inner.choice(code, LOAD_CLASSES)) for code in codes if inner.has(code))
    inner.done()
    return found


def _hold_together(part: Table, made: Exercise) -> None:
    for low, high in (("sets", "sets_high"), ("lower_s", "lower_s_high"), ("arc_from", "arc_to")):
        least, most = getattr(made, low), getattr(made, high)
        if least is not None and most is not None and least > most and not part.spoiled(low, high):
            part.fault(low, f"is {least}, allowed is at most {high}, {most}")
    low, high = made.reps_low, made.reps_high
    if low is not None and high is not None and not part.spoiled(*_REP_KEYS) and not low <= made.reps <= high:
        part.fault("reps", f"is {made.reps}, allowed is reps_low {low} to reps_high {high}, in that order")
    if made.hold is not None and made.load_class in ISOMETRIC and not part.spoiled("load_class"):
        part.fault("hold", f"is {made.hold}, allowed is none in an isometric class, whose reps are seconds")
