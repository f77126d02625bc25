"""The days on which what is true of a case can turn: begin, end, or come to rest on other entries.

"Since when?" is answered by looking back. Between two neighbouring turns nothing happened that is read and no
day was passed that is counted to, so that one look answers for every day of the stretch between them.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from datetime import date

from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.light import dataclass

OF_THE_STAY = ("visits", "steps", "discharges", "reopenings")
"""What says in which stage, pathway and episode a case is, whether it is closed, and whether it waits."""


DAILY = ("sessions", "mornings")
"""What a patient tells day by day; the rest is recorded now and then."""


def _no_days(view: View) -> Iterable[date]:
    return ()


@dataclass(frozen=True, slots=True)
class Turns:
    """What a reading declares of the days on which it can turn; on other days it says what it said before."""

    fields: tuple[str, ...] = OF_THE_STAY
    """The fields of the record it reads: any entry of them can turn it on its day."""
    days: Callable[[View], Iterable[date]] = _no_days
    """The days on which time alone can, past and to come, by what has happened on the view's date.

    That date itself where it cannot be told: it is looked at day by day then.
    """

    def newest(self, view: View) -> date:
        """The last turn up to the view's date; the beginning of time without one."""
        dates = self._dates(view)
        at = bisect_right(dates, view.today)
        passed = (day for day in self.days(view) if day <= view.today)
        return max(passed, default=date.min) if not at else max((dates[at - 1], *passed))

    def following(self, view: View) -> date:
        """The first day after the view's date that can be a turn; the end of time without one."""
        dates = self._dates(view)
        at = bisect_right(dates, view.today)
        ahead = dates[at : at + 1]
        for day in self.days(view):
            if day == view.today:
                return day + DAY
            if day > view.today:
                ahead.append(day)
        return min(ahead, default=date.max)

    def _dates(self, view: View) -> list[date]:
        """The dates of all entries of its fields, in order."""
        history = view.history
        every = (history.ordered(name)[1] for name in self.fields)
        return history.once(
            ("dates of", self.fields), lambda: sorted({day for dates in every for day in dates})
        )


def turns(*reads: str, days: Callable[[View], Iterable[date]] = _no_days) -> Turns:
    """The turns of what reads these fields besides :data:`OF_THE_STAY`, and counts to ``days``."""
    return Turns(tuple(dict.fromkeys((*OF_THE_STAY, *reads))), days)


def both(*read: Turns) -> Turns:
    """The turns of what rests on several readings."""
    fields = dict.fromkeys(name for one in read for name in one.fields)
    return Turns(tuple(fields), lambda view: [day for one in read for day in one.days(view)])


Until = Callable[[View], date]
"""The first day after the view's date on which a reading may say something else than on that date."""


def but_daily(days: Callable[[View], Iterable[date]] = _no_days) -> Until:
    """Until when a reading of anything but what is told day by day stands, which counts to ``days``.

    Of those only the days to come matter; the view's date among them says that it cannot be told.
    """
    turning = Turns((), days)
    return lambda view: min(_next_but_daily(view), turning.following(view))


def _next_but_daily(view: View) -> date:
    dates = view.history.once("dates but daily", lambda: _but_daily(view.history))
    at = bisect_right(dates, view.today)
    return dates[at] if at < len(dates) else date.max


def _but_daily(history: History) -> list[date]:
    fields = (name for name in FIELD_OF_KIND.values() if name not in DAILY)
    return sorted({day for name in fields for day in history.ordered(name)[1]})


def true_since(view: View, turning: Turns | None, first: date, true: Callable[[View], bool]) -> date:
    """First day of the unbroken stretch up to the view's date, on which it is true; not before ``first``.

    Without ``turning`` every day may be a turn.
    """
    day = view.today
    while day > first:
        start = turning.newest(view.at(day)) if turning else day
        if start <= first:
            return first
        if not true(view.at(start - DAY)):
            return start
        day = start - DAY
    return day
