"""Medians, spreads and ratios: what a benchmark says. Times differ between machines, ratios hardly."""

from __future__ import annotations

import resource
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

UNCOUNTED = 1
"""Rounds before those that count: they fill the caches of the disk and whatever else is warm later."""


def rounds(runs: int) -> Iterator[bool]:
    """For each round of a measurement, whether it counts."""
    return (number >= 0 for number in range(-UNCOUNTED, runs))


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


class Figure(NamedTuple):
    """One row of the table in the README: what was measured, what came of it, what was aimed at."""

    what: str
    measured: float
    aim: float | None = None
    """At most so much; None where nothing was promised."""
    unit: str = ""
    """Empty for a ratio, else "ms" or "s" of processor time."""

    @property
    def row(self) -> str:
        """The row: what, measured, aim and whether it was missed."""
        aim = "" if self.aim is None else f"{told(self.aim, self.unit)}{', missed' if self.missed else ''}"
        return f"| {self.what} | {told(self.measured, self.unit)} | {aim} |"

    @property
    def missed(self) -> bool:
        """True where more was measured than was aimed at."""
        return self.aim is not None and self.measured > self.aim


def told(number: float, unit: str = "") -> str:
    """A figure with as many digits as it deserves: "0.97", "4.2", "97", "1,200 ms"."""
    digits = 2 if number < 3 else 1 if number < 20 else 0
    return f"{number:,.{digits}f} {unit}".strip()


def of_all_processes() -> float:
    """Seconds of processor time of this process and of those that it started and that have ended."""
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + ended.ru_utime + ended.ru_stime


def by_turns(
    runs: int, *ways: Callable[[], Any], clock: Callable[[], float] = time.process_time
) -> list[list[float]]:
    """Seconds that each way took, run after run; the rounds that warm up are left out."""
    took: list[list[float]] = [[] for _ in ways]
    for counts in rounds(runs):
        for way, seconds in zip(ways, took, strict=True):
            start = clock()
            way()
            if counts:
                seconds.append(clock() - start)
    return took
