"""An exercise of the catalogue: its name in the trade, its load class and the usual dose to begin with."""

from __future__ import annotations

from dataclasses import dataclass

from armrise.store.record.kinds.programme import ASSISTS, LOAD_CLASSES
from armrise.store.rules.declared import SOURCE, STATUS, Apart, Count, OneOf, Text, Texts, Yes, may, must

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
