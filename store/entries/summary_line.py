"""The weeks since the last visit as one line: ``9/14 4 3 2 w s`` (ruling 73).

In this order: days done of days asked, worst pain during, worst pain later, mornings worse than usual by two
points or more, the dose (w whole, p part, m more), and last whether the shoulder has settled by now (s
settled, n not). "." stands for what was not told; what is left out at the end was not told either. "9"
without the days asked takes those that are proposed.
"""

from __future__ import annotations

from dataclasses import fields

from armrise.store.record.fields import Whole
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.store.record.light import dataclass

DOSES = {"w": "whole", "p": "part", "m": "more"}
SETTLED = {"s": "yes", "n": "no"}
NOT_TOLD = "."
EXAMPLE = "9/14 4 3 2 w s"
_NUMBERS = ("worst_during", "worst_later", "mornings_worse")
_MOST_PARTS = 2 + len(_NUMBERS)
"""Days, the numbers and the dose; settled comes after them."""


class LineError(ValueError):
    """One sentence: which part of the line, what was typed, what is allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SummaryLine:
    """What one line says, under the names of the fields of a period summary; None is not told."""

    days_done: int | None = None
    days_asked: int | None = None
    worst_during: int | None = None
    worst_later: int | None = None
    mornings_worse: int | None = None
    dose: str | None = None
    settled: str | None = None


def read_line(text: str, asked: int | None) -> SummaryLine:
    """What a line says; ``asked`` are the days asked where the line states none beside the days done.

    Raises :class:`LineError`. How the days fit the period is checked with the entries of the case.
    """
    words = text.lower().split()
    settled = SETTLED[words.pop()] if len(words) > 1 and words[-1] in SETTLED else None
    if words and words[-1] == NOT_TOLD and len(words) == _MOST_PARTS + 1:
        words.pop()
    if not words or len(words) > _MOST_PARTS:
        what = "nothing was typed" if not words else f'"{text.strip()}" has too many parts'
        raise LineError(f"summary: {what}, allowed is a line like {EXAMPLE}")
    done, of = _days(words[0], asked)
    told = dict(zip((*_NUMBERS, "dose"), words[1:], strict=False))
    numbers = {name: _whole(name, told.get(name, NOT_TOLD)) for name in _NUMBERS}
    dose = _dose(told.get("dose", NOT_TOLD))
    return SummaryLine(days_done=done, days_asked=of, dose=dose, settled=settled, **numbers)


def _days(word: str, asked: int | None) -> tuple[int | None, int | None]:
    done, slash, of = word.partition("/")
    days = _whole("days_done", done)
    if slash:
        return days, _whole("days_asked", of)
    return days, None if days is None else asked


def _whole(name: str, word: str) -> int | None:
    """A whole number within the range of its field."""
    if word == NOT_TOLD:
        return None
    rule = next(f.metadata["rule"] for f in fields(PeriodSummary) if f.name == name)
    assert isinstance(rule, Whole)
    if not (word.isascii() and word.isdigit() and rule.low <= int(word) <= rule.high):
        allowed = f"allowed is {rule.low} to {rule.high}, or {NOT_TOLD} where it was not told"
        raise LineError(f'{name.replace("_", " ")}: "{word}" is not allowed, {allowed}')
    return int(word)


def _dose(word: str) -> str | None:
    if word == NOT_TOLD:
        return None
    if word not in DOSES:
        letters = ", ".join(f"{letter} {dose}" for letter, dose in DOSES.items())
        raise LineError(f'dose: "{word}" is not allowed, allowed is {letters}, or {NOT_TOLD} where not told')
    return DOSES[word]
