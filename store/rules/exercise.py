"""An exercise of the catalogue: its name in the trade, its load class and the usual dose to begin with."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One exercise used daily. Which stages it fits follows from its load class and is never written here.

    For isometric classes ``reps`` are seconds held. ``per_week`` counts sessions. ``source`` and ``status``
    say where the usual dose comes from and how far it may be trusted.
    """

    name: str
    load_class: str
    equipment: str
    sets: int
    reps: int
    reps_low: int | None = None
    reps_high: int | None = None
    hold: int | None = None
    per_week: int | None = None
    effort: int | None = None
    above_shoulder: bool = False
    combined: bool = False
    source: str = ""
    status: str = ""
