"""Medians, spreads and ratios: what a benchmark says. Times differ between machines, ratios hardly."""

from __future__ import annotations

import statistics
from collections.abc import Sequence


def spread(seconds: Sequence[float]) -> str:
    """Median and the middle half of the measurements, in milliseconds."""
    middle = statistics.median(seconds) * 1000
    if len(seconds) < 2:
        return f"{middle:.1f} ms (once)"
    low, _, high = (1000 * quarter for quarter in statistics.quantiles(seconds, n=4, method="inclusive"))
    return f"{middle:.1f} ms (middle half {low:.1f}-{high:.1f}, {len(seconds)} runs)"


def ratio(seconds: Sequence[float], against: Sequence[float]) -> float:
    """How many times longer: the median over the rounds, each of which measured both side by side."""
    return statistics.median(one / other for one, other in zip(seconds, against, strict=True))
