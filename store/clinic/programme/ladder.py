"""The ladder an exercise stands on: the rungs above and below it, which of them are open, and their doses.

Rungs are data (ruling 82). A rung is open when its class is allowed today by the stage and by what heals; how
well sessions went opens none (ruling 83).
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.fit import fit, opens_with
from armrise.store.clinic.programme.parts import Home
from armrise.store.record.kinds.programme import STATED, ProgrammeItem
from armrise.store.rules.exercise import BAND, WEIGHT, Exercise, ExerciseLadder

_NAMED = {f.name for f in fields(Exercise)} - {"sets_high"}
START = tuple(name for name in STATED if name == "exercise" or name in _NAMED)
"""What the catalogue says of an item to begin with. How far sets may rise stays in the catalogue."""


def ladder_of(view: View, name: str) -> ExerciseLadder | None:
    """The ladder that holds an exercise, if one does."""
    return next((ladder for ladder in view.rules.ladders if name in ladder.rungs), None)


def rungs(view: View, name: str) -> tuple[list[Exercise], list[Exercise]]:
    """The exercises (below, above) one on its ladder, the nearest first; none where it stands on none."""
    ladder = ladder_of(view, name)
    if ladder is None:
        return [], []
    code = view.pathway.code if view.pathway else None
    named = [found for rung in ladder.rungs if (found := view.rules.exercise(rung, code))]
    at = ladder.rungs.index(name)
    return named[:at][::-1], named[at + 1 :]


def shut(view: View, exercise: Exercise) -> str:
    """With which stage or from when an exercise is allowed, "from Wed 8 Apr (day 42)"; empty: it is now."""
    found = fit(view, exercise)
    return "" if found.fits else opens_with(view, exercise)


def open_below(view: View, name: str) -> Exercise | None:
    """The nearest rung below an exercise that is allowed today."""
    below, _ = rungs(view, name)
    return next((exercise for exercise in below if not shut(view, exercise)), None)


def start_of(exercise: Exercise) -> dict[str, Any]:
    """The usual start of an exercise, as fields of an item."""
    return {name: exercise.name if name == "exercise" else getattr(exercise, name) for name in START}


def begun(view: View, item: ProgrammeItem, exercise: Exercise) -> ProgrammeItem:
    """An exercise begun in place of ``item``: its usual start, lightest load, arc as ordered."""
    home = Home.of(view)
    weight = min(home.allowed_weights, default=None) if exercise.equipment == WEIGHT else None
    band = min(home.bands, default=None) if exercise.equipment == BAND else None
    kept = {"tempo": None, "rest": None, "sets_high": None, "self_progress": False, "stopped": None}
    made = replace(item, **{**kept, **start_of(exercise), "load": weight, "band": band})
    return cut_to_orders(view, made)


def taken_up_again(view: View, item: ProgrammeItem, exercise: Exercise) -> ProgrammeItem:
    """A lower rung in place of ``item``: the last dose used there in this episode, else its usual start."""
    used = [v for v in view.since("programme", view.segment_start) if v.exercise == exercise.name]
    doses = [version for version in used if version.stopped is None]
    return cut_to_orders(view, doses[-1]) if doses else begun(view, item, exercise)


def lacks_load(exercise: Exercise, made: ProgrammeItem) -> bool:
    """True where an exercise needs a weight or band and none that may be used is known to be at home."""
    needs = {WEIGHT: made.load, BAND: made.band}
    return exercise.equipment in needs and needs[exercise.equipment] is None


def ordered_arc(view: View, item: ProgrammeItem) -> int | None:
    """Where the surgeon's orders end the arc of an exercise today, in degrees; None: they do not."""
    ladder = ladder_of(view, item.exercise)
    order = view.last_order(ladder.limit, view.today) if ladder and ladder.limit else None
    return order[0] if order else None


def cut_to_orders(view: View, item: ProgrammeItem) -> ProgrammeItem:
    """An item with its arc cut to the ordered limit, also where none is set."""
    most = ordered_arc(view, item)
    if most is None or (item.arc_to is not None and item.arc_to <= most):
        return item
    start = item.arc_from if item.arc_from is not None and item.arc_from < most else None
    return replace(item, arc_from=start, arc_to=most)


def arc_words(view: View, made: ProgrammeItem) -> str:
    """ "; arc to 90 degrees as ordered" of an item whose arc the surgeon's orders end, else nothing."""
    most = ordered_arc(view, made)
    return f"; arc to {most} degrees as ordered" if most is not None and made.arc_to == most else ""


def is_climb(view: View, stopped: ProgrammeItem) -> bool:
    """Whether an exercise was taken out because a higher rung of its ladder was begun that day."""
    above = {exercise.name for exercise in rungs(view, stopped.exercise)[1]}
    same_day = (v for v in view.upto("programme") if v.on == stopped.on and v.stopped is None)
    return any(version.exercise in above for version in same_day)
