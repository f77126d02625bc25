"""Values of pain in order, those of flares left out: what a baseline, and usual pain, are worked out of.

Which sessions were flares need not be known of every one. A value that may be of a flare, or may not, is kept
and left out by turns, and what comes of it is every middle value there may be.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping
from datetime import date, timedelta

Possible = frozenset[int | None]
"""What a value may be, None where it cannot be worked out. It is certain when it is one only."""

LEAST, MOST = 0, 10
"""Pain goes from one to the other."""
ONLY: dict[int | None, Possible] = {value: frozenset({value}) for value in (None, *range(LEAST, MOST + 1))}
"""Values of pain, 0-10, that are certain."""
ANY: Possible = frozenset(ONLY)
NONE = ONLY[None]

Flares = Mapping[date, bool | None]
"""Whether the session of a date was a flare; None where that is not known."""


class Calm:
    """Dated values of pain, 0-10, oldest first, and those of them that no flare made.

    ``after`` says how long after a session it shows in these values.
    """

    def __init__(self, told: Mapping[date, int], flares: Flares, after: timedelta) -> None:
        self._flares = flares
        self._dates = sorted(told)
        self._values = [told[day] for day in self._dates]
        self._sessions = [day - after for day in self._dates] if after else self._dates

    def told(self, first: date, last: date) -> list[int]:
        """The values from ``first`` to ``last``, both included."""
        return self._values[bisect_left(self._dates, first) : bisect_right(self._dates, last)]

    def middle(self, first: date, last: date, least: int, take: int) -> Possible | None:
        """The lower median of the newest ``take`` that no flare made, none for fewer than ``least``.

        None where it may be one value or another.
        """
        values, flares = self._window(first, last)
        if None in flares:
            return None
        calm = [value for value, flare in zip(values, flares, strict=True) if not flare]
        return ONLY[lower_median(calm[-take:])] if calm and len(calm) >= least else NONE

    def middles(self, first: date, last: date, least: int, take: int) -> Possible:
        """Every such median there may be.

        The lowest comes of keeping what is doubtful and low and leaving out what is doubtful and higher:
        neither can raise the lower median of the newest. The highest comes the other way round.
        """
        window = zip(*self._window(first, last), strict=True)
        told = [(value, flare is False) for value, flare in window if not flare]
        if not told or len(told) < least:
            return NONE

        def middle(keeps: Callable[[int], bool]) -> int:
            return lower_median([value for value, certain in told if certain or keeps(value)][-take:])

        there = sorted({value for value, _ in told})
        low = next(most for most in there if middle(most.__ge__) <= most)
        high = next(fewest for fewest in reversed(there) if middle(fewest.__le__) >= fewest)
        found: Possible = frozenset(value for value in there if low <= value <= high)
        return found | NONE if sum(certain for _, certain in told) < least else found

    def count(self, first: date, last: date) -> Possible:
        """How many of them no flare made."""
        flares = self._window(first, last)[1]
        fewest = flares.count(False)
        return frozenset(range(fewest, fewest + flares.count(None) + 1))

    def _window(self, first: date, last: date) -> tuple[list[int], list[bool | None]]:
        """The values, and of each whether a flare made it."""
        low, high = bisect_left(self._dates, first), bisect_right(self._dates, last)
        known = self._flares
        return self._values[low:high], [known.get(day, False) for day in self._sessions[low:high]]


def lower_median(values: list[int]) -> int:
    """The middle value, of an even number the lower middle one: errs to safety."""
    return sorted(values)[(len(values) - 1) // 2]
