"""Whether the other side may be compared with, or is itself so poor that it is no reference (ruling 72)."""

from __future__ import annotations

from decimal import Decimal

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.motion.motion import REFERENCE, number, other_is_reference, values
from armrise.store.record.case import least_age
from armrise.store.record.kinds.measured import STRENGTHS, Measure
from armrise.store.record.words import plain

FLEXIONS, ABDUCTION = ("active_flexion", "passive_flexion"), "active_abduction"
ROTATIONS = ("passive_external_rotation", "passive_internal_rotation")
_LIFTS = (*FLEXIONS, ABDUCTION)
"""Not abduction with the shoulder blade held, which ends near 90 degrees in any shoulder."""


@once_a_view
def no_reference(view: View) -> str:
    """Why the other side is no reference today, in words; empty where it is one."""
    if not other_is_reference(view):
        return "other side is no reference, no target typed"
    return implausible(view)


@once_a_view
def implausible(view: View) -> str:
    """What asks whether the other side is a reference: a value too low, or far under the affected side's.

    Empty where there is none, or where somebody said on its day or later that the other side is one.
    """
    said = view.yes_or_no(REFERENCE)
    for name in (*_LIFTS, *ROTATIONS, *STRENGTHS):
        other = newest(values(view, name, view.record.other_side))
        if other is None or (said and said.answer == "yes" and said.on >= other.on):
            continue
        if words := _too_low(view, other) or _exceeded(view, other):
            return f"{words}: is it a reference?"
    return ""


def _too_low(view: View, other: Measure) -> str:
    """The value in words where it is under the figure of its movement."""
    name, value = other.name, number(other)
    low = _figure(view, name)
    in_kg = (other.unit or view.rules.measures[name].unit) == "kg"
    if value >= low or (name in STRENGTHS and not in_kg):
        return ""
    if name in _LIFTS:
        return f"other side lifts {plain(value)}"
    if name in ROTATIONS:
        return f"other side turns {plain(value)}"
    return f"other side {plain(value)} kg"


def _figure(view: View, name: str) -> int:
    rules = view.rules
    # An age nobody recorded is not old: the question is asked rather than left out.
    old = "_old" if least_age(view.record.age_band) >= rules["other.old_from"] else ""
    if name in STRENGTHS:
        return rules["other.strength"]
    if name in ROTATIONS:
        return rules[f"other.rotation{old}"]
    return rules[f"other.abduction{old}" if name == ABDUCTION else f"other.flexion{old}"]


def _exceeded(view: View, other: Measure) -> str:
    """The two values in words where the affected side is better by more than the figure; not of rotation."""
    own = newest(values(view, other.name))
    if own is None or own.unit != other.unit or other.name in ROTATIONS:
        return ""
    most = number(other) * (100 + view.rules["other.over"]) / Decimal(100)
    if number(own) <= most:
        return ""
    label = view.rules.measures[other.name].label
    return f"{label} {plain(number(own))}, other side {plain(number(other))}"
