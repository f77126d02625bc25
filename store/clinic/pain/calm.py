"""Values of pain in order, those of flares left out: what a baseline, and usual pain, are worked out of."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Container, Mapping
from datetime import date, timedelta


class Calm:
    """Dated values of pain, 0-10, oldest first, and those of them that no flare made.

    Carried along as sessions are judged, the oldest first: ``flared`` holds the dates of the flares so far,
    and ``after`` says how long after a session it shows in these values.
    """

    def __init__(self, told: Mapping[date, int], flared: Container[date], after: timedelta) -> None:
        self._flared, self._after = flared, after
        self._dates = sorted(told)
        self._values = [told[day] for day in self._dates]
        self._taken = 0
        """So many of them were looked at."""
        self._calm_dates: list[date] = []
        self._calm: list[int] = []

    def told(self, first: date, last: date) -> list[int]:
        """The values from ``first`` to ``last``, both included."""
        return self._values[bisect_left(self._dates, first) : bisect_right(self._dates, last)]

    def calm(self, first: date, last: date) -> list[int]:
        """Those of them that no flare made. The sessions that show in them have to be judged before."""
        self._go_on(last)
        dates = self._calm_dates
        return self._calm[bisect_left(dates, first) : bisect_right(dates, last)]

    def _go_on(self, last: date) -> None:
        dates = self._dates
        while self._taken < len(dates) and dates[self._taken] <= last:
            day = dates[self._taken]
            if day - self._after not in self._flared:
                self._calm_dates.append(day)
                self._calm.append(self._values[self._taken])
            self._taken += 1


def lower_median(values: list[int]) -> int:
    """The middle value, of an even number the lower middle one: errs to safety."""
    return sorted(values)[(len(values) - 1) // 2]
