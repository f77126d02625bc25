"""Counts with what they are counts of, and days with how many they are of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from statistics import median
from typing import TypeVar

from armrise.store.record.light import dataclass

Thing = TypeVar("Thing")
Counted = tuple[tuple[str, int], ...]
"""Words, each with how many; those of which there is none are left out."""


@dataclass(frozen=True, slots=True)
class Share:
    """``count`` of ``of``. Whole numbers only; a per cent is given from a denominator on."""

    count: int
    of: int

    def percent(self, least: int) -> int | None:
        """The whole per cent, rounded half up; None where there are fewer than ``least``."""
        if self.of < max(least, 1):
            return None
        return (200 * self.count + self.of) // (2 * self.of)

    @classmethod
    def having(cls, of: Sequence[Thing], held: Callable[[Thing], bool]) -> Share:
        """Those of whom something holds, of all of them."""
        return cls(sum(held(one) for one in of), len(of))


@dataclass(frozen=True, slots=True)
class Days:
    """How long something took: how many, the median and the longest in days (None without any)."""

    count: int
    median: float | None
    longest: int | None

    @classmethod
    def of(cls, found: Iterable[int]) -> Days:
        """From the days of each."""
        days = sorted(found)
        return cls(len(days), float(median(days)) if days else None, days[-1] if days else None)


def counted(found: Counter[str], order: Sequence[str] = ()) -> Counted:
    """Words with their counts: in ``order`` where one is given, else the most frequent first."""
    kept = sorted(found, key=lambda w: (order.index(w) if w in order else len(order), -found[w], w))
    return tuple((word, found[word]) for word in kept if found[word])
