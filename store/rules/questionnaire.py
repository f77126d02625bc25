"""How the answers of a questionnaire lie on paper: parts, numbered items, what may be left blank.

Item numbers only. The wording of every questionnaire belongs to whoever licensed it and stays on the licensed
form; nothing here or in the rule files repeats it.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import cached_property

from armrise.store.record.light import dataclass
from armrise.store.rules.figure import Figure

OLD_OXFORD = "old 12-60"
"""The formula of the Oxford scores before 2009: each item from 1 (best), and lower is better."""

Answer = Decimal | None
"""The number answered to one item; None where it was left blank. A blank is never 0."""


class ScoringError(ValueError):
    """Answers that cannot be those of the form. The message is one sentence: item, value, what is allowed."""


@dataclass(frozen=True, slots=True)
class Part:
    """``items`` items in a row that are answered from ``low`` to ``high``, both allowed."""

    name: str
    items: int
    low: Decimal
    high: Decimal


@dataclass(frozen=True, kw_only=True)
class Form:
    """The items of one questionnaire in the order of their numbers, and its rule for blanks."""

    parts: tuple[Part, ...]
    places: int
    """Decimals an answer may have."""
    shown_places: int
    """Decimals of a total on screen."""
    missing: Figure
    """How many items may be left blank, in all or in each part (``missing_in``)."""
    missing_in: str
    """ "all" or "each part"."""
    formulas: tuple[str, ...] = ()
    """The totals in circulation, the usual one first; empty where there is only one."""
    lengths: tuple[int, ...] = ()
    """How many items the form may have; empty: always all of them."""
    source: str
    status: str

    @cached_property
    def count(self) -> int:
        """How many items the whole form has."""
        return sum(part.items for part in self.parts)

    @cached_property
    def allowed_lengths(self) -> tuple[int, ...]:
        """How many numbers, blanks included, a filled-in form may have."""
        return self.lengths or (self.count,)

    def formula(self, named: str | None) -> str | None:
        """The formula a record means: the one it names, else the usual one."""
        return named or (self.formulas[0] if self.formulas else None)

    @cached_property
    def sum_of_all(self) -> Decimal:
        """The largest sum the answers can have (130 for thirteen items from 0 to 10)."""
        return sum((part.items * part.high for part in self.parts), Decimal(0))

    @cached_property
    def old_and_new(self) -> Decimal:
        """What an old and a new Oxford total add up to: 60, as 12 items run from 0 to 4 or from 5 to 1."""
        return sum((part.items * (part.high + 1) for part in self.parts), Decimal(0))


@dataclass(frozen=True, slots=True)
class Filled:
    """One part as it was filled in: ``first`` is the number of its first item on the form."""

    part: Part
    first: int
    values: tuple[Answer, ...]

    @property
    def answered(self) -> list[Decimal]:
        """The answers given."""
        return [value for value in self.values if value is not None]

    @property
    def missing(self) -> tuple[int, ...]:
        """The numbers of the items left blank."""
        return tuple(self.first + at for at, value in enumerate(self.values) if value is None)

    @property
    def sum(self) -> Decimal:
        """The sum of the answers given."""
        return sum(self.answered, Decimal(0))

    @property
    def per_cent(self) -> Decimal:
        """Where the answers given lie between their least (0) and their most (100) possible sum."""
        low, high, count = self.part.low, self.part.high, len(self.answered)
        return (self.sum - count * low) * 100 / (count * (high - low))


@dataclass(frozen=True, slots=True)
class Rung:
    """One step of a :class:`Ladder`: everything up to ``upto``, or the word itself, gives ``points``."""

    upto: Decimal | None
    word: str
    points: int


@dataclass(frozen=True, slots=True)
class Ladder:
    """Points for a measurement by the band it lies in, or for a word of a closed list."""

    rungs: tuple[Rung, ...]
    source: str
    status: str

    def points_upto(self, value: Decimal, what: str) -> int:
        """Points of the band ``value`` lies in; a band holds its upper end. Refuses what lies outside."""
        bounds = [rung.upto for rung in self.rungs if rung.upto is not None]
        if not 0 <= value <= bounds[-1]:
            raise ScoringError(f"{what} is {value}, allowed is 0 to {bounds[-1]}.")
        return next(r.points for r in self.rungs if r.upto is not None and value <= r.upto)

    def points_of(self, word: str, what: str) -> int:
        """Points of a word of the list."""
        for rung in self.rungs:
            if rung.word == word:
                return rung.points
        offered = ", ".join(rung.word for rung in self.rungs)
        raise ScoringError(f"{what} is {word!r}, allowed is one of {offered}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstantPoints:
    """The point tables of the Constant-Murley score."""

    line: Ladder
    """Work and recreation, each marked on a 15 cm line from "all" (0) on."""
    sleep: Ladder
    hand_level: Ladder
    elevation: Ladder
    external_rotation: Ladder
    internal_rotation: Ladder
    per_kg: Figure


def filled_in(instrument: str, form: Form, answers: Sequence[Answer], old: bool = False) -> list[Filled]:
    """The answers laid out by part. ``old`` counts each item from 1 higher (the old Oxford form).

    Raises :class:`ScoringError` for a wrong number of answers and for an answer that cannot be given.
    """
    if len(answers) not in form.allowed_lengths:
        allowed = " or ".join(str(length) for length in form.allowed_lengths)
        raise ScoringError(
            f"{instrument} has {len(answers)} answers, needed are {allowed}, a blank counted as one."
        )
    shift = 1 if old else 0
    laid: list[Filled] = []
    first = 1
    for part in form.parts:
        values = tuple(answers[first - 1 : first - 1 + part.items])
        moved = Part(part.name, part.items, part.low + shift, part.high + shift)
        for number, value in enumerate(values, first):
            _check(instrument, moved, number, value, form.places)
        laid.append(Filled(moved, first, values))
        first += part.items
    return laid


def _check(instrument: str, part: Part, number: int, value: Answer, places: int) -> None:
    if value is None:
        return
    kind = "whole numbers" if places == 0 else f"numbers with at most {places} decimals"
    fine = value.is_finite() and part.low <= value <= part.high
    if not fine or value != value.quantize(Decimal(1).scaleb(-places)):
        raise ScoringError(
            f"{instrument}, item {number}, is {value}, allowed are {kind} from {part.low} to {part.high}."
        )
