"""Constant-Murley points from what was measured: pain, activities, ranges by band, rotation, strength.

Bands and points are the tables of the rule file (``[constant]``), each with source and status; several rest
on second-hand copies and are to be checked against Constant 2008, J Shoulder Elbow Surg 17:355. The total is
then scored like any other form, so that a part that was not measured gives no total and never counts as 0.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from armrise.store.clinic.scores.scoring import Scored, known_form, score
from armrise.store.record.light import dataclass
from armrise.store.rules.figure import MEMORY
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.pathway import Rules
from armrise.store.rules.questionnaire import Answer, Ladder, ScoringError

CONSTANT = "Constant-Murley"
TENTH = Decimal("0.1")
LADDERS = {
    "line": ("work", "recreation"),
    "sleep": ("sleep",),
    "hand_level": ("hand_level",),
    "elevation": ("flexion", "abduction"),
    "external_rotation": ("external_rotation",),
    "internal_rotation": ("internal_rotation",),
}
"""The tables of points, and the parts that are read in each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantParts:
    """What is asked and measured; None was not measured.

    pain                 centimetres on a 15 cm line from "no pain", or ``pain_points`` 0 to 15 (15 no pain)
    work, recreation     centimetres on a 15 cm line from "all"
    sleep, hand_level, external_rotation, internal_rotation   words of the rule file's tables
    flexion, abduction   degrees at which pain starts (0 to 180)
    strength             kilograms, the best of three
    """

    pain: Decimal | None = None
    pain_points: Decimal | None = None
    work: Decimal | None = None
    recreation: Decimal | None = None
    sleep: str | None = None
    hand_level: str | None = None
    flexion: Decimal | None = None
    abduction: Decimal | None = None
    external_rotation: str | None = None
    internal_rotation: str | None = None
    strength: Decimal | None = None


def constant_score(rules: Rules, parts: ConstantParts) -> Scored:
    """The Constant-Murley score of ``parts``; unmeasured strength (or any other part) gives no total.

    Raises :class:`~armrise.store.rules.questionnaire.ScoringError` for a value outside its table.
    """
    scored = score(rules.instruments[CONSTANT], constant_answers(rules, parts))
    said = ", ".join(_from_memory(rules, parts))
    unsure = f"points {MEMORY}: {said}" if said and scored.total is not None else ""
    return replace(scored, note="; ".join(part for part in (scored.note, unsure) if part))


def _from_memory(rules: Rules, parts: ConstantParts) -> Iterator[str]:
    """The parts whose points are from memory, as far as they were measured."""
    table = rules.constant
    for ladder, names in LADDERS.items():
        if getattr(table, ladder).status == MEMORY:
            yield from (name.replace("_", " ") for name in names if getattr(parts, name) is not None)
    if table.per_kg.status == MEMORY and parts.strength is not None:
        yield "strength"


def constant_answers(rules: Rules, parts: ConstantParts) -> tuple[Answer, ...]:
    """The ten numbers of the form, in order: pain, work, recreation, sleep, hand level, flexion, abduction,
    external rotation, internal rotation, strength. None where nothing was measured."""
    table = rules.constant

    def band(ladder: Ladder, what: str) -> Answer:
        value = getattr(parts, what)
        return None if value is None else Decimal(ladder.points_upto(value, what))

    def word(name: str) -> Answer:
        said = getattr(parts, name)
        return None if said is None else Decimal(getattr(table, name).points_of(said, name.replace("_", " ")))

    spec = rules.instruments[CONSTANT]
    return (
        _pain(spec, parts),
        band(table.line, "work"),
        band(table.line, "recreation"),
        word("sleep"),
        word("hand_level"),
        band(table.elevation, "flexion"),
        band(table.elevation, "abduction"),
        word("external_rotation"),
        word("internal_rotation"),
        _strength(rules, spec, parts.strength),
    )


def _most(spec: InstrumentSpec, name: str) -> Decimal:
    return next(part.high for part in known_form(spec).parts if part.name == name)


def _pain(spec: InstrumentSpec, parts: ConstantParts) -> Answer:
    """15 less the centimetres marked, which are rounded to the nearest whole first (1.4 to 1, 1.5 to 2)."""
    if parts.pain_points is not None or parts.pain is None:
        return parts.pain_points
    most = _most(spec, "pain")
    if not 0 <= parts.pain <= most:
        raise ScoringError(f"pain is {parts.pain} cm, allowed is 0 to {most}.")
    return most - parts.pain.quantize(Decimal(1), ROUND_HALF_UP)


def _strength(rules: Rules, spec: InstrumentSpec, kilograms: Decimal | None) -> Answer:
    """2.2 points a kilogram, at most 25, to a tenth of a point."""
    if kilograms is None:
        return None
    if kilograms < 0:
        raise ScoringError(f"strength is {kilograms} kg, allowed is 0 or more.")
    points = (kilograms * rules.constant.per_kg.value).quantize(TENTH, ROUND_HALF_UP)
    return min(points, _most(spec, "strength"))
