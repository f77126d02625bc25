"""Measurements of a case: values of one side, the other side as a reference, ranges in degrees."""

from __future__ import annotations

from decimal import Decimal

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View, newest
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Measure

PLANES = ("passive_external_rotation", "passive_flexion", "passive_abduction")
ROTATION = PLANES[0]
REFERENCE = "other side is a reference"
PAIRS = (
    ("active_flexion", "passive_flexion"),
    ("active_external_rotation", "passive_external_rotation"),
)
RANGES = (
    *PLANES,
    "active_flexion",
    "active_abduction",
    "active_external_rotation",
    "passive_internal_rotation",
)


def degrees(measure: Measure) -> int:
    """The value of a range measurement in whole degrees."""
    return int(measure.value) if not isinstance(measure.value, Absence) else 0


def number(measure: Measure) -> Decimal:
    """The value of a real measurement in its own unit; an absence has none and is a mistake to ask for."""
    if isinstance(measure.value, Absence):
        raise ValueError(f"{measure.name} was {measure.value}, it has no number")
    return measure.value


def values(view: View, name: str, side: str | None = None) -> list[Measure]:
    """Real measurements of ``name`` on one side (None: the affected), oldest first."""
    return [m for m in all_named(view, name, side) if m.real]


def all_named(view: View, name: str, side: str | None = None) -> list[Measure]:
    """Every entry of ``name`` on one side (None: the affected), absences and repeats included."""
    by_name = view.history.once("by name", lambda: _by_name(view))
    return [m for m in by_name.get((name, side or view.record.side), []) if m.on <= view.today]


def _by_name(view: View) -> dict[tuple[str, str], list[Measure]]:
    grouped: dict[tuple[str, str], list[Measure]] = {}
    for measure in view.history.ordered("measures")[0]:
        grouped.setdefault((measure.name, measure.side or view.record.side), []).append(measure)
    return grouped


@once_a_view
def other_is_reference(view: View) -> bool:
    """Whether the other side may be compared with: not when said otherwise, nor when it is a case itself."""
    said = view.yes_or_no(REFERENCE)
    return said.answer == "yes" if said else not view.record.linked


def other_side(view: View, name: str) -> Measure | None:
    """The newest value of the other side; it judges older values too. None when it is no reference."""
    if not other_is_reference(view):
        return None
    return newest(values(view, name, view.record.other_side))
