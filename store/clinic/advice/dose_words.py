"""One exercise with its dose in the patient's words: how it goes, how much, how often, how hard (82)."""

from __future__ import annotations

from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.words import plain
from armrise.store.rules.exercise import BAND, EASY, Exercise
from armrise.store.rules.pathway import Rules

EVERY = {1: "once a week", 4: "every other day", 7: "every day"}
"""How often, by times a week, where people say it so."""
WEEK = 7


def dose_words(item: ProgrammeItem, rules: Rules) -> str:
    """ "table slide: 2 sets of 10 to 15, 3 times a day; as far as it is easy, pain 2 or less"."""
    named = next((one for one in rules.exercises if one.name == item.exercise), None)
    parts = (_way(item, named), _dose(item), _how_far(item, named, rules))
    return f"{item.exercise}: {'; '.join(part for part in parts if part)}"


def _way(item: ProgrammeItem, named: Exercise | None) -> str:
    """How the arm goes: which arm does what, over how many seconds, and how far."""
    arc = f"about {item.arc_to} degrees" if item.arc_to is not None else ""
    down = _over(item.lower_s, item.lower_s_high)
    if item.assist == "other arm lifts":
        band = item.band is not None or (named is not None and named.equipment == BAND)
        goes = "takes the band out, then let it back" if band else "lifts it, then lower it"
        return _listed(f"the other arm {goes}{down} with the sore side", arc)
    up, held = _over(item.lift_s), item.pause_s
    return _listed(
        f"up{up}" if up else "", f"hold {_seconds(held)}" if held else "", f"down{down}" if down else "", arc
    )


def _over(seconds: int | None, longest: int | None = None) -> str:
    if not seconds:
        return ""
    return f" over {seconds} to {_seconds(longest)}" if longest else f" over {_seconds(seconds)}"


def _dose(item: ProgrammeItem) -> str:
    """Sets, repetitions, load, holds, rests and how often."""
    reps = f"{item.reps_low} to {item.reps_high}" if item.reps_low and item.reps_high else str(item.reps)
    once = item.hold is not None and reps == "1"
    sets = f"{item.sets} time" if once else f"{item.sets} set"
    return _listed(
        f"{sets}{'' if item.sets == 1 else 's'}{'' if once else f' of {reps}'}",
        f"{plain(item.load)} kg" if item.load is not None else "",
        f"band grade {item.band}" if item.band is not None else "",
        f"hold each for {_seconds(item.hold)}" if item.hold is not None else "",
        f"rest {_seconds(item.rest)} between sets" if item.rest is not None else "",
        _how_often(item.per_week) if item.per_week is not None else "",
        "both arms" if item.sides == "both" else "",
    )


def _how_often(per_week: int) -> str:
    if per_week >= 2 * WEEK:
        return f"{per_week // WEEK} times a day"
    return EVERY.get(per_week, f"{per_week} times a week")


def _how_far(item: ProgrammeItem, named: Exercise | None, rules: Rules) -> str:
    """The effort; of movement without load that goes on as soon as it is easy, how far and with what pain."""
    if item.effort is not None:
        return f"effort {item.effort} of 10"
    easy = named is not None and named.climb == EASY and item.load_class in rules.mobility_classes
    return f"as far as it is easy, pain {rules['ladder.during']} or less" if easy else ""


def _listed(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _seconds(count: int | None) -> str:
    return f"{count} second{'' if count == 1 else 's'}"
