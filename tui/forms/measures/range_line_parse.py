"""Ranges and strength on one line in a fixed order, both sides: "150 90 45 T7 | 170 110 60 T5". Pure.

Left of the bar the affected side, right of it the other. A number may end in ``p`` (limited by pain) or ``g``
(limited by guarding). ``.`` repeats the value before and is marked repeated, ``-`` is not measured, ``d``
declined, ``x`` prohibited. Whatever is left out at the end of a side is not recorded at all, and never zero.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import BACK_LEVELS
from armrise.store.record.light import NamedTuple, dataclass
from armrise.store.record.words import plain

BAR = "|"
REPEAT = "."
ABSENT = {"-": Absence.NOT_MEASURED, "d": Absence.DECLINED, "x": Absence.PROHIBITED}
LIMITED = {"p": "pain", "g": "guarding"}
NUMBER = re.compile(r"([+-]?\d{1,3}(?:\.\d{1,2})?)([pg]?)")

LEVELS = BACK_LEVELS

SHORTEST_LEVEL = 2
"""Letters of a level's name that have to be typed at least; "L5" and "T7" are whole."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One value of the line: which measure, in which words and range, and what it was before on each side."""

    measure: str
    words: str
    low: Decimal
    high: Decimal
    unit: str
    places: int = 0
    affected_before: Decimal | None = None
    other_before: Decimal | None = None
    brief: str = ""
    """The words when it is read back; empty is ``words``."""

    @property
    def is_level(self) -> bool:
        """True where a level of the back is asked for and no number."""
        return self.unit == "level"

    def before(self, affected: bool) -> Decimal | None:
        """The value before on that side."""
        return self.affected_before if affected else self.other_before


class Reading(NamedTuple):
    """One value as it was typed."""

    measure: str
    affected: bool
    value: Decimal | Absence
    repeated: bool = False
    limited_by: str | None = None


class Line(NamedTuple):
    """What a line says: readings, and each fault in a sentence of its own."""

    readings: tuple[Reading, ...] = ()
    faults: tuple[str, ...] = ()


class WrongValueError(ValueError):
    """Why one value of the line is refused."""


def read(text: str, asked: Sequence[Asked], sides: tuple[str, str]) -> Line:
    """The readings of a line and its faults; ``sides`` are the affected side and the other, in words."""
    halves = text.split(BAR)
    if len(halves) > len(sides):
        return Line(faults=(f'one "{BAR}" parts {sides[0]} from {sides[1]}; {len(halves) - 1} are typed.',))
    readings: list[Reading] = []
    faults: list[str] = []
    for half, side in zip(halves, sides, strict=False):
        for number, token in enumerate(half.split(), 1):
            try:
                readings.append(_value(token, number, asked, side, side == sides[0]))
            except WrongValueError as error:
                faults.append(str(error))
    return Line(tuple(readings), tuple(faults))


def _value(token: str, number: int, asked: Sequence[Asked], side: str, affected: bool) -> Reading:
    if number > len(asked):
        raise WrongValueError(
            f'value {number} {side}: "{token}" is one too many, {len(asked)} are asked for on each side.'
        )
    of = asked[number - 1]
    where = f"value {number} {side}, {of.words}"
    if token == REPEAT:
        return _repeated(of, where, affected)
    absent = ABSENT.get(token.lower())
    if absent is not None:
        return Reading(of.measure, affected, absent)
    value, limit = _level(token, where) if of.is_level else _number(token, of, where)
    return Reading(of.measure, affected, value, limited_by=LIMITED.get(limit))


def _repeated(of: Asked, where: str, affected: bool) -> Reading:
    before = of.before(affected)
    if before is None:
        raise WrongValueError(f'{where}: "{REPEAT}" repeats the value before, and there is none.')
    return Reading(of.measure, affected, before, repeated=True)


def _number(token: str, of: Asked, where: str) -> tuple[Decimal, str]:
    match = NUMBER.fullmatch(token.lower())
    allowed = f"allowed is {plain(of.low)} to {plain(of.high)} {of.unit}"
    if match is None:
        raise WrongValueError(f'{where}: "{token}" is no number, {allowed}, or . - d x.')
    value = Decimal(match[1])
    if not of.places and value != value.to_integral_value():
        raise WrongValueError(f'{where}: "{token}" is no whole number, {allowed}.')
    if not of.low <= value <= of.high:
        raise WrongValueError(f'{where}: "{token}" is out of range, {allowed}.')
    return value + 0, match[2]  # a minus before nought is no value of its own


def _level(token: str, where: str) -> tuple[Decimal, str]:
    key = token.lower()
    for word, limit in ((key, ""), (key[:-1], key[-1:])):
        if limit and limit not in LIMITED:
            continue
        found = [
            number
            for number, level in enumerate(LEVELS)
            if level.lower() == word
            or (len(level) > 3 and len(word) >= SHORTEST_LEVEL and level.startswith(word))
        ]
        if len(found) == 1:
            return Decimal(found[0]), limit
    raise WrongValueError(
        f'{where}: "{token}" is no level, allowed is trochanter, buttock, sacrum, L5 to L1, T12 to T1.'
    )


def shown(value: Decimal, of: Asked) -> str:
    """A value as a clinician reads it: a level by its name, a number without trailing noughts."""
    return LEVELS[int(value)] if of.is_level else plain(value)


def said(reading: Reading, asked: Sequence[Asked]) -> str:
    """One reading in words: "flexion 150 limited by pain". Degrees go unsaid: the order above says them."""
    of = next(one for one in asked if one.measure == reading.measure)
    name = of.brief or of.words
    if isinstance(reading.value, Absence):
        return f"{name} {reading.value.value}"
    unit = "" if of.is_level or of.unit == "degrees" else f" {of.unit}"
    words = f"{name} {shown(reading.value, of)}{unit}"
    if reading.repeated:
        return f"{words} repeated, not measured"
    return f"{words} limited by {reading.limited_by}" if reading.limited_by else words


def words(line: Line, asked: Sequence[Asked], sides: tuple[str, str]) -> list[str]:
    """The line in words, one sentence for each side on which something was typed."""
    told: list[str] = []
    for side, affected in zip(sides, (True, False), strict=True):
        parts = [said(reading, asked) for reading in line.readings if reading.affected is affected]
        if parts:
            told.append(f"{side}: {', '.join(parts)}")
    return told
