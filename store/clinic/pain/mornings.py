"""Pain on waking of a whole history, by date: the worst of a morning, and what was told of it in time."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from armrise.store.clinic.case.view import DAY, History


@dataclass(frozen=True, slots=True)
class Wake:
    """Pain on waking on one date, as told; ``recalled`` when told too late to qualify.

    What was written down at home on the day is not recalled, however late it is typed (ruling 74).
    """

    pain: int
    recalled: bool
    entry_id: int


class Mornings:
    """What was told of the mornings of a history, with the check-in of the day before or by itself."""

    def __init__(self, history: History) -> None:
        self.wakes: dict[date, list[Wake]] = {}
        self.worst: dict[date, int] = {}
        """The highest of each date, however late it was told."""
        self.lowest_in_time: dict[date, int] = {}
        self.highest_in_time: dict[date, int] = {}
        late = history.rules["response.recall_days"]
        for session in history.ordered("sessions")[0]:
            if isinstance(session.morning, int):
                on = session.on + DAY
                recalled = (session.recorded_on - on).days > late and not session.written
                self._add(on, Wake(session.morning, recalled, session.id))
        for entry in history.ordered("mornings")[0]:
            if isinstance(entry.pain, int):
                recalled = entry.days_late > late and not entry.written
                self._add(entry.on, Wake(entry.pain, recalled, entry.id))
        self.dates = sorted(self.wakes)

    def _add(self, on: date, wake: Wake) -> None:
        pain, told = wake.pain, self.wakes.get(on)
        if told is None:
            self.wakes[on] = [wake]
        else:
            told.append(wake)
        self.worst[on] = max(pain, self.worst.get(on, pain))
        if not wake.recalled:
            self.lowest_in_time[on] = min(pain, self.lowest_in_time.get(on, pain))
            self.highest_in_time[on] = max(pain, self.highest_in_time.get(on, pain))

    def between(self, first: date, last: date) -> list[date]:
        """The dates of these, both included, with pain on waking told, oldest first."""
        return self.dates[bisect_left(self.dates, first) : bisect_right(self.dates, last)]


class Calm:
    """The mornings that a baseline rests on, taken in the order of their dates, each once.

    Whoever asks for days says first, by :meth:`take`, what went before the mornings up to them.
    """

    def __init__(self, mornings: Mornings) -> None:
        self._lowest = mornings.lowest_in_time
        self._dates = mornings.dates
        self._next = 0
        """Where in the dates the first lies that was not taken yet."""
        self._told: list[date] = []
        """Those on which pain was told in time."""
        self._kept: list[date] = []
        self._pain: list[int] = []
        """Those of them that no flare came before, and their pain."""

    def take(self, day: date, flared: Callable[[date], bool]) -> None:
        """Take the mornings up to ``day``; ``flared`` says whether a date's session was a flare."""
        while self._next < len(self._dates) and self._dates[self._next] <= day:
            morning = self._dates[self._next]
            self._next += 1
            pain = self._lowest.get(morning)
            if pain is None:
                continue
            self._told.append(morning)
            if not flared(morning - DAY):
                self._kept.append(morning)
                self._pain.append(pain)

    def told(self, first: date, last: date) -> int:
        """How many mornings of these days were told in time."""
        return bisect_right(self._told, last) - bisect_left(self._told, first)

    def pain(self, first: date, last: date) -> list[int]:
        """Pain on waking on those of these days that no flare came before, oldest first."""
        return self._pain[bisect_left(self._kept, first) : bisect_right(self._kept, last)]
