"""Which load classes and exercises fit a case today: by its stage, and by what heals."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import (
    allowed_on,
    clocks_elsewhere,
    combined_barred,
    gate,
    guarded,
    order_bars,
)
from armrise.store.clinic.healing.ordered import day_words
from armrise.store.record.kinds.programme import CLASS_WORDS
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import words_date
from armrise.store.rules.exercise import Exercise

PROTECTION = "P0"
"""Protection is never a breach: sling, rest, hand, wrist and elbow."""


class Fit(NamedTuple):
    """Whether an exercise fits today. ``why`` says why not, ``healing`` that a healing limit is the cause."""

    exercise: Exercise
    why: str = ""
    healing: bool = False

    @property
    def fits(self) -> bool:
        """True when it may be added without an override."""
        return not self.why


def fits_stage(view: View, load_class: str) -> bool:
    """Whether the stage, and every healing limit of today, hold a load class."""
    allowed = allowed_on(view, view.today)
    if allowed is None and view.stage:
        allowed = view.stage.allowed
    return load_class == PROTECTION or load_class in (allowed or ())


def fit(view: View, exercise: Exercise) -> Fit:
    """How an exercise fits the case today."""
    exercise = _in_pathway(view, exercise)
    heals = allowed_on(view, view.today) is not None
    if not fits_stage(view, exercise.load_class):
        return Fit(exercise, _why_not(view, exercise.load_class), heals)
    if exercise.combined and combined_barred(view, view.today):
        return Fit(exercise, "combined abduction and external rotation is barred", True)
    return Fit(exercise)


def _in_pathway(view: View, exercise: Exercise) -> Exercise:
    """An exercise with its load class in the pathway of today."""
    classes = view.rules.classes_in.get(view.pathway.code, {}) if view.pathway else {}
    return replace(exercise, load_class=classes.get(exercise.name, exercise.load_class))


def opens_with(view: View, exercise: Exercise) -> str:
    """When an exercise that does not fit today comes: "from Wed 8 Apr (day 42)" where healing shuts it until
    a date, else with the stage that brings it; "not in this pathway" where no stage holds its class."""
    pathway = view.pathway
    if pathway is None or view.stage is None:
        return "once the case is placed in a stage"
    first = next((s for s in pathway.stages if exercise.load_class in s.allowed), None)
    if first is None:
        return "not in this pathway"
    opening = gate(view, first) if guarded(pathway) else None
    ends = [until for classes, until in order_bars(view, view.today) if exercise.load_class in classes]
    ends += [opening.opens] if opening and opening.opens else []
    ahead = [end for end in ends if end > view.today]
    if ahead:
        return f"from {day_words(view, max(ahead))}"
    if fits_stage(view, exercise.load_class):
        return "once abduction with external rotation is allowed"
    return f"with {first.code}"


def fits(view: View, exercises: Iterable[Exercise]) -> list[Fit]:
    """Every exercise with its fit, those that fit first, each in the catalogue's order."""
    found = [fit(view, exercise) for exercise in exercises]
    return [f for f in found if f.fits] + [f for f in found if not f.fits]


def _why_not(view: View, load_class: str) -> str:
    """Why a class is not allowed, and from when it is."""
    words = CLASS_WORDS[load_class]
    if view.stage is None or view.pathway is None:
        return f"{words}: the case is not placed in a stage"
    for classes, until in order_bars(view, view.today):
        if load_class in classes and view.today < until:
            return f"{words}: barred by the surgeon's orders until {words_date(until)}"
    if load_class in view.stage.allowed and (others := clocks_elsewhere(view, view.today)):
        return f"{words}: held back by healing, {others[0].words(view.today)}"
    first = next((s for s in view.pathway.stages if load_class in s.allowed), None)
    if first is None:
        return f"{words}: no stage of {view.pathway.code} holds it"
    opening = gate(view, first) if guarded(view.pathway) else None
    if opening and opening.opens and opening.opens > view.today:
        return f"{words}: from {first.code}, which opens {words_date(opening.opens)} ({opening.words})"
    return f"{words}: from {first.code} {first.name}, now {view.stage.code}"
