"""Measurements of a case: values of one side, the other side as a reference, ranges in degrees."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date
from decimal import Decimal
from typing import NamedTuple

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
    found, dates = _named(view).real.get((name, side or view.record.side), _NONE)
    return found[: bisect_right(dates, view.today)]


def every_value(view: View, name: str) -> list[Measure]:
    """Those of the affected side over the whole history, later days than the view's included."""
    return _named(view).real.get((name, view.record.side), _NONE)[0]


def all_named(view: View, name: str, side: str | None = None) -> list[Measure]:
    """Every entry of ``name`` on one side (None: the affected), absences and repeats included."""
    found, dates = _named(view).every.get((name, side or view.record.side), _NONE)
    return found[: bisect_right(dates, view.today)]


Dated = tuple[list[Measure], list[date]]
_NONE: Dated = ([], [])


class _Named(NamedTuple):
    """The measurements of a whole history by name and side, oldest first, with their dates."""

    every: dict[tuple[str, str], Dated]
    real: dict[tuple[str, str], Dated]


def _named(view: View) -> _Named:
    return view.history.once("by name", lambda: _by_name(view))


def _by_name(view: View) -> _Named:
    grouped = _Named({}, {})
    for measure in view.history.ordered("measures")[0]:
        key = (measure.name, measure.side or view.record.side)
        for table in grouped if measure.real else (grouped.every,):
            found, dates = table.setdefault(key, ([], []))
            found.append(measure)
            dates.append(measure.on)
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
