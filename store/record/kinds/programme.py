"""The home programme: exercises with their doses, what was done of them, the loads at home."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from armrise.store.record.fields import Choice, Flag, Number, Series, Whole, Words, may, must
from armrise.store.record.kinds.head import Entry

LOAD_CLASSES = ("P0", "P1", "A1", "A2", "I1", "I2", "R1", "R2", "R3", "S1", "S2", "W1", "W2", "X1")
ISOMETRIC = ("I1", "I2")
"""Load classes that are held for seconds, not repeated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneItem:
    """One exercise of a session: what was asked and what was done.

    ``sets`` and ``reps`` are done, ``sets_asked`` and ``reps_asked`` prescribed. ``load`` is kilograms,
    ``band`` a grade 1 (light) to 6 (heavy). ``sets`` of None means not recorded.
    """

    exercise: str = must(Words(60))
    load_class: str = must(Choice(LOAD_CLASSES))
    sets: int | None = may(Whole(0, 20))
    sets_asked: int | None = may(Whole(1, 20))
    reps: int | None = may(Whole(0, 200))
    reps_asked: int | None = may(Whole(1, 200))
    load: Decimal | None = may(Number(0, 200, 2, "kg"))
    band: int | None = may(Whole(1, 6))
    above_shoulder: bool = may(Flag(), False)
    combined: bool = may(Flag(), False)
    """Combined abduction and external rotation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeItem(Entry):
    """One version of one exercise of the home programme, in force from ``on`` until the next version."""

    KIND: ClassVar[str] = "programme item"

    exercise: str = must(Words(60))
    load_class: str = must(Choice(LOAD_CLASSES))
    sets: int = must(Whole(1, 20))
    reps: int = must(Whole(1, 200))
    reps_low: int | None = may(Whole(1, 200))
    reps_high: int | None = may(Whole(1, 200))
    hold: int | None = may(Whole(1, 300, "s"))
    tempo: str | None = may(Words(12))
    load: Decimal | None = may(Number(0, 200, 2, "kg"))
    band: int | None = may(Whole(1, 6))
    per_week: int | None = may(Whole(1, 70, "sessions a week"))
    effort: int | None = may(Whole(0, 10))
    above_shoulder: bool = may(Flag(), False)
    combined: bool = may(Flag(), False)
    rest: int | None = may(Whole(0, 600, "s"))
    """Rest between sets."""
    sides: str | None = may(Choice(("affected", "both")))
    self_progress: bool = may(Flag(), False)
    """The patient may raise repetitions, never load, within the range."""
    stopped: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeLoads(Entry):
    """The weights (kg) and band grades the patient has at home; the newest entry holds."""

    KIND: ClassVar[str] = "home loads"

    weights: tuple[Decimal | None, ...] = may(Series(0, 200, 2, 30, "kg"), ())
    bands: tuple[Decimal | None, ...] = may(Series(1, 6, 0, 6), ())
