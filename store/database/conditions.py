"""The conditions (CHECK) that the columns of a field must meet, worked out from the rule of the field."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from armrise.store.database.columns import Field
from armrise.store.record.fields import (
    Absence,
    Choice,
    ClockTime,
    Day,
    Flag,
    Number,
    Rule,
    Series,
    Whole,
    Words,
)

DAY = "LIKE '____-__-__'"
CLOCK = "GLOB '[0-2][0-9]:[0-5][0-9]'"
_SCALE = 'CASE "{0}_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END'
SERIES_PLACE = 8
"""The room a number of a series takes at most, with the blank after it."""


def one_of(name: str, words: Iterable[str]) -> str:
    """The condition that a column holds one of the words."""
    listed = ["'" + word.replace("'", "''") + "'" for word in words]
    line = f'"{name}" IN ({", ".join(listed)})'
    if len(line) < 100:
        return line
    column = ",\n        ".join(listed)
    return f'"{name}" IN (\n        {column}\n    )'


def _absence_checks(field: Field) -> Iterator[str]:
    name = field.name
    yield one_of(f"{name}_absence", (word.value for word in Absence))
    if field.null:
        yield f'"{name}" IS NULL OR "{name}_absence" IS NULL'
    else:
        yield f'("{name}" IS NULL) <> ("{name}_absence" IS NULL)'


def _number_checks(name: str, rule: Number) -> Iterator[str]:
    scale = _SCALE.format(name)
    yield f'"{name}_decimals" BETWEEN 0 AND {rule.places}'
    yield f'("{name}" IS NULL) = ("{name}_decimals" IS NULL)'
    yield f'"{name}" BETWEEN {rule.low} * {scale} AND {rule.high} * {scale}'


def _plain_check(name: str, rule: Rule) -> str:
    match rule:
        case Whole():
            return f'"{name}" BETWEEN {rule.low} AND {rule.high}'
        case Choice():
            return one_of(name, rule.words)
        case Words():
            return f'length("{name}") BETWEEN {rule.shortest} AND {rule.longest}'
        case Series():
            return f'length("{name}") <= {rule.most * SERIES_PLACE}'
        case Day():
            return f'"{name}" {DAY}'
        case ClockTime():
            return f'"{name}" {CLOCK} AND "{name}" < \'24:00\''
        case Flag():
            return f'"{name}" IN (0, 1)'
        case _:
            raise TypeError(f"{name}: no condition for {rule!r}")


def checks(field: Field) -> Iterator[str]:
    """The conditions that the columns of one field must meet."""
    if isinstance(field.rule, Number):
        yield from _number_checks(field.name, field.rule)
    else:
        yield _plain_check(field.name, field.rule)
    if isinstance(field.rule, Whole | Number) and field.rule.absent:
        yield from _absence_checks(field)
