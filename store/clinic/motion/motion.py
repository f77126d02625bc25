"""Measurements of a case: values of one side, the other side as a reference, ranges in degrees."""

from __future__ import annotations

from armrise.store.clinic.case.measured import every_one, every_real
from armrise.store.clinic.case.measured import number as number
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


def values(view: View, name: str, side: str | None = None) -> list[Measure]:
    """Real measurements of ``name`` on one side (None: the affected), oldest first."""
    return every_real(view.history, name, side).upto(view.today)


def all_named(view: View, name: str, side: str | None = None) -> list[Measure]:
    """Every entry of ``name`` on one side (None: the affected), absences and repeats included."""
    return every_one(view.history, name, side).upto(view.today)


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
