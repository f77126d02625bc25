"""An exercise of the catalogue: its name in the trade, its load class and the usual dose to begin with."""

from __future__ import annotations

from dataclasses import dataclass

from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules.declared import SOURCE, STATUS, Count, OneOf, Text, Yes, may, must

_REPS = Count(1, 200)


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One exercise used daily. Which stages it fits follows from its load class and is never written here.

    For isometric classes ``reps`` are seconds held. ``per_week`` counts sessions. ``source`` and ``status``
    say where the usual dose comes from and how far it may be trusted.
    """

    name: str = must(Text(60))
    load_class: str = must(OneOf(LOAD_CLASSES))
    equipment: str = must(Text(60))
    sets: int = must(Count(1, 20))
    reps: int = must(_REPS)
    reps_low: int | None = may(_REPS, beside=("reps_high",))
    reps_high: int | None = may(_REPS)
    hold: int | None = may(Count(1, 300))
    per_week: int | None = may(Count(1, 70))
    effort: int | None = may(Count(0, 10))
    above_shoulder: bool = may(Yes(), default=False)
    combined: bool = may(Yes(), default=False)
    source: str = must(SOURCE, default="")
    status: str = must(STATUS, default="")
