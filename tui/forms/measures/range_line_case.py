"""Which values a line asks for in a case, what they were before, and the entries a line becomes. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.motion import motion
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Measure
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.measures.range_line_parse import Asked, Reading

ACTIVE = ("active_flexion", "active_abduction", "active_external_rotation", "hand_behind_back")
PASSIVE = ("passive_external_rotation", "passive_flexion", "passive_abduction")
STRENGTH = ("external_rotation_strength", "abduction_strength")
REVIEW = ("passive_external_rotation", "active_flexion")
WORDS = {
    "active_flexion": "flexion",
    "active_abduction": "abduction",
    "active_external_rotation": "external rotation at side",
    "hand_behind_back": "hand behind back",
    "passive_external_rotation": "external rotation at side",
    "passive_flexion": "flexion",
    "passive_abduction": "abduction with shoulder blade held",
    "external_rotation_strength": "external rotation",
    "abduction_strength": "abduction",
}
BRIEF = {
    "external rotation at side": "external rotation",
    "abduction with shoulder blade held": "abduction",
    "hand behind back": "behind back",
}
"""Words of the line read back, where the order above it says the rest."""
THUMB = "thumb level"
PLACES = {"kg": 2}
"""Decimals by unit; degrees and levels have none."""


def asked_for(
    names: Sequence[str], rules: Rules, record: CaseRecord | None, *, full: bool = False
) -> tuple[Asked, ...]:
    """What a line asks for, with the value before on each side; ``full`` says active or passive with each."""
    return tuple(_asked(name, rules, record, full=full) for name in names)


def _asked(name: str, rules: Rules, record: CaseRecord | None, *, full: bool) -> Asked:
    spec = rules.measures[name]
    before = [_before(record, rules, name, side) for side in _sides(record)]
    said = spec.label if full else WORDS[name]
    places = PLACES.get(spec.unit, 0)
    return Asked(name, said, spec.low, spec.high, spec.unit, places, *before, brief=BRIEF.get(said, said))


def _sides(record: CaseRecord | None) -> tuple[str, str]:
    return (record.side, record.other_side) if record else ("", "")


def _before(record: CaseRecord | None, rules: Rules, name: str, side: str) -> Any:
    """The newest real measurement of a side; repeated values are none."""
    if record is None or not record.measures:
        return None
    last: Measure | None = newest(motion.values(View.of(record, rules, record.measures[-1].on), name, side))
    return motion.number(last) if last else None


How = Mapping[str, str | None]
"""Method and position of a measurement, by the names of their fields."""


def how_before(record: CaseRecord, names: Sequence[str]) -> dict[str, How]:
    """How each measure was taken last on the affected side: the same means go on, until others are named.

    Another device or position begins a new series (practice note 4.13, case 34), so leaving them out would
    hide a loss.
    """
    found: dict[str, How] = {}
    for measure in record.measures:
        real = not measure.repeated and not isinstance(measure.value, Absence)
        if real and measure.name in names and measure.side in (None, record.side):
            found[measure.name] = {"method": measure.method, "position": measure.position}
    return found


def measure_drafts(
    readings: Sequence[Reading],
    other_side: str,
    rater: str,
    how: How | None = None,
    before: Mapping[str, How] | None = None,
) -> list[Draft]:
    """The readings as entries. ``how`` was named now, ``before`` holds where it was not."""
    named = {name: value for name, value in (how or {}).items() if value}
    return [
        (
            "measure",
            _values(reading, other_side, rater, {**(before or {}).get(reading.measure, {}), **named}),
        )
        for reading in readings
    ]


def _values(reading: Reading, other_side: str, rater: str, how: dict[str, str | None]) -> dict[str, Any]:
    values: dict[str, Any] = {"name": reading.measure, "value": reading.value}
    if not reading.affected:
        values["side"] = other_side
    if reading.repeated:
        return values | {"repeated": True}
    if isinstance(reading.value, Absence):
        return values
    if reading.limited_by:
        values["limited_by"] = reading.limited_by
    if reading.measure == "hand_behind_back":
        return values | {"rater": rater or None, "method": THUMB}  # a level is read off, not measured
    return values | {"rater": rater or None, **how}
