"""How fast a measure moves: a slope that one odd value cannot turn, over the real dates.

The slope is Theil's and Sen's: the median of the slopes of all pairs of values (Sen, J Am Stat Assoc 1968;
63:1379). Pairs of one date have none and are skipped. Its interval is Sen's normal approximation with the
correction for ties. Arithmetic is exact; only the rank of the interval's ends is rounded.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from math import sqrt
from statistics import NormalDist, median

from armrise.store.record.light import dataclass

Point = tuple[int, Fraction]
"""(day, value)."""


@dataclass(frozen=True, slots=True)
class Slope:
    """``per_day`` with its interval from ``low`` to ``high``; ``intercept`` is the value on day 0."""

    per_day: Fraction
    low: Fraction
    high: Fraction
    intercept: Fraction
    count: int

    @property
    def clear(self) -> bool:
        """True when the whole interval lies on one side of zero."""
        return self.low > 0 or self.high < 0

    def on(self, day: int) -> Fraction:
        """The value of the line on ``day``."""
        return self.intercept + self.per_day * day


def days_from(first: date, dated: Iterable[tuple[date, Decimal]]) -> list[Point]:
    """Dated values as (days from ``first``, value)."""
    return [((on - first).days, Fraction(value)) for on, value in dated]


def theil_sen(points: Sequence[tuple[int | Fraction, Fraction]], confidence: float = 0.95) -> Slope | None:
    """The slope of ``points`` with its interval; None when they do not lie on two days at least.

    ``confidence`` lies between 0 and 1, both excluded.
    """
    slopes = sorted(
        Fraction(after - before) / Fraction(later - sooner)
        for (sooner, before), (later, after) in combinations(sorted(points), 2)
        if later != sooner
    )
    if not slopes:
        return None
    middle = median(slopes)
    low, high = _interval(points, slopes, confidence)
    intercept = median([value for _, value in points]) - middle * median([Fraction(day) for day, _ in points])
    return Slope(middle, low, high, intercept, len(points))


def _interval(
    points: Sequence[tuple[int | Fraction, Fraction]], slopes: Sequence[Fraction], confidence: float
) -> tuple[Fraction, Fraction]:
    """The slopes at the ranks that the normal approximation gives (Sen 1968, equation 2.6).

    With more ties than it bears nothing is known about the ranks, and the interval is the widest there is.
    """
    count, pairs = len(points), len(slopes)
    spread = _tied(count) - sum(_tied(n) for at in (0, 1) for n in Counter(p[at] for p in points).values())
    if spread < 0:
        return slopes[0], slopes[-1]
    reach = -NormalDist().inv_cdf((1 - confidence) / 2) * sqrt(spread / 18)
    upper = min(round((pairs + reach) / 2), pairs - 1)
    lower = max(round((pairs - reach) / 2) - 1, 0)
    return slopes[lower], slopes[upper]


def _tied(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)
