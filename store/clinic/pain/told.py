"""Pain as told: sessions and mornings by their dates, the worst of a date, usual mornings."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from datetime import date
from operator import attrgetter
from typing import NamedTuple

from armrise.store.clinic.case.view import DAY, History
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.pain import Session

DURING, LATER = "during", "later"


class Wake(NamedTuple):
    """Pain on waking on one date, as told."""

    pain: int
    entry_id: int


def usual_told(history: History) -> list[Visit | Session]:
    """Visits and sessions with which a usual morning was told, oldest first."""

    def found() -> list[Visit | Session]:
        entries = [*history.ordered("visits")[0], *history.ordered("sessions")[0]]
        told = [entry for entry in entries if entry.usual_morning is not None]
        return sorted(told, key=lambda entry: (entry.on, entry.id))

    return history.once("usual mornings told", found)


class ToldPain:
    """What a history tells of pain in sessions and on waking, whatever the day it is looked at."""

    def __init__(self, history: History) -> None:
        self.history = history
        self.by_date: dict[date, list[Session]] = {}
        self.wakes: dict[date, list[Wake]] = {}
        self.settled: dict[date, int] = {}
        """Pain on waking for a baseline: told in time; the lower where two were told.

        What was written down at home on the day is in time, however late it is typed (ruling 74).
        """
        self._read()
        self.dates = sorted(self.by_date)
        """Those with a session."""
        self.woke = sorted(self.wakes)
        """Those with pain on waking told."""
        self.usual = usual_told(history)
        self._usual_dates = [entry.on for entry in self.usual]

    def _read(self) -> None:
        late, by_date = self.history.rules["response.recall_days"], self.by_date
        for session in self.history.ordered("sessions")[0]:
            on, pain = session.on, session.morning
            if on in by_date:
                by_date[on].append(session)
            else:
                by_date[on] = [session]
            if isinstance(pain, int):
                wakes = on + DAY
                told = session.recorded_on
                recalled = told > wakes and not session.written and (told - wakes).days > late
                self._wake(wakes, pain, recalled, session.id)
        for entry in self.history.ordered("mornings")[0]:
            if isinstance(entry.pain, int):
                recalled = entry.days_late > late and not entry.written
                self._wake(entry.on, entry.pain, recalled, entry.id)

    def _wake(self, day: date, pain: int, recalled: bool, entry_id: int) -> None:
        wake, known = Wake(pain, entry_id), self.wakes.get(day)
        if known is None:
            self.wakes[day] = [wake]
        else:
            known.append(wake)
        if not recalled and pain <= self.settled.get(day, pain):
            self.settled[day] = pain

    def worst(self, part: str) -> dict[date, int]:
        """The worst known pain of each date's sessions, "during" or "later"."""
        found: dict[date, int] = {}
        told = attrgetter(part)
        for on, sessions in self.by_date.items():
            known = [pain for pain in map(told, sessions) if isinstance(pain, int)]
            if known:
                found[on] = max(known)
        return found

    def worst_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for finding a breach: the higher, however late it was told."""
        wakes = self.wakes.get(day)
        if wakes is None:
            return None
        return max(w.pain for w in wakes) if len(wakes) > 1 else wakes[0].pain

    def sessions_on(self, first: date, before: date) -> list[date]:
        """The dates with a session from ``first`` on and before ``before``, oldest first."""
        return self.dates[bisect_left(self.dates, first) : bisect_left(self.dates, before)]

    def woke_on(self, first: date, last: date) -> list[date]:
        """The dates of these, both included, with pain on waking told, oldest first."""
        return self.woke[bisect_left(self.woke, first) : bisect_right(self.woke, last)]

    def last_usual(self, day: date) -> Visit | Session | None:
        """What told a usual morning last, up to ``day``."""
        at = bisect_right(self._usual_dates, day)
        return self.usual[at - 1] if at else None
