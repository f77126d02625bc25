"""The days on which what is true of a case can turn: begin, end, or come to rest on other entries.

"Since when?" is answered by looking back. Between two neighbouring turns nothing happened that is read and no
day was passed that is counted to, so that one look answers for every day of the stretch between them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.light import dataclass

OF_THE_STAY = ("visits", "steps", "discharges", "reopenings")
"""What says in which stage, pathway and episode a case is, whether it is closed, and whether it waits."""


DAILY = ("sessions", "mornings")
"""What a patient tells day by day; the rest is recorded now and then."""


END = date.max - timedelta(days=4000)
"""A day after every other, with room for what is counted from it: on it all that a history holds is known."""


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
        return min(next_after(view.today, self._dates(view)), first_ahead(view, self.days(view)))

    def _dates(self, view: View) -> list[date]:
        """The dates of all entries of its fields, in order."""
        return _dates_of(view.history, self.fields)


def _dates_of(history: History, fields: tuple[str, ...]) -> list[date]:
    """The dates of all entries of these fields, in order, each once."""
    key = ("dates of", fields)
    found: list[date] | None = history.memo.get(key)
    if found is None:
        every = (history.ordered(name)[1] for name in fields)
        found = history.memo[key] = sorted({day for dates in every for day in dates})
    return found


def turns(*reads: str, days: Callable[[View], Iterable[date]] = _no_days) -> Turns:
    """The turns of what reads these fields besides :data:`OF_THE_STAY`, and counts to ``days``."""
    return Turns(tuple(dict.fromkeys((*OF_THE_STAY, *reads))), days)


def both(*read: Turns) -> Turns:
    """The turns of what rests on several readings."""
    fields = dict.fromkeys(name for one in read for name in one.fields)
    return Turns(tuple(fields), lambda view: [day for one in read for day in one.days(view)])


Until = Callable[[View], date]
"""The first day after the view's date on which a reading may say something else than on that date."""


_BUT_DAILY = tuple(name for name in FIELD_OF_KIND.values() if name not in DAILY)


def next_but_daily(view: View) -> date:
    """The day of the next entry of anything but what is told day by day; the end of time without one."""
    return next_of(view, _BUT_DAILY)


PLACED = ("steps", "discharges", "reopenings")
"""What says in which stage, pathway and episode a case is, and whether it is closed."""


def next_placed(view: View, *fields: str) -> date:
    """The day of the next entry that says where the case stands, of the first visit of a stay or after an
    injury or surgery, or of an entry of these fields; the end of time without one."""
    first = view.history.once("first visits", lambda: _first_visits(view.history))
    return min(next_of(view, (*PLACED, *fields)), next_after(view.today, first))


def _first_visits(history: History) -> list[date]:
    """The first visit of all, and the first from each step, reopening, onset and event on."""
    seen = history.ordered("visits")[1]
    begun = (on for name in (*PLACED, "onsets", "events") for on in history.ordered(name)[1])
    return sorted({seen[at] for day in (date.min, *begun) if (at := bisect_left(seen, day)) < len(seen)})


def next_bearing(view: View) -> date:
    """The day of the next visit that is the first of something, that decides or that assesses an injury."""
    days = view.history.once("bearing visits", lambda: _bearing_visits(view.history))
    return next_after(view.today, days)


def _bearing_visits(history: History) -> list[date]:
    said = (v.on for v in history.ordered("visits")[0] if v.decision or v.injury_assessed)
    return sorted({*said, *_first_visits(history)})


def next_of(view: View, fields: tuple[str, ...]) -> date:
    """The day after the view's date of the next entry of these fields; the end of time without one."""
    return next_after(view.today, _dates_of(view.history, fields))


def first_ahead(view: View, days: Iterable[date]) -> date:
    """The first of ``days`` after the view's date: the day after it, where it is one of them itself."""
    first, today = date.max, view.today
    for day in days:
        if day == today:
            return today + DAY
        if today < day < first:
            first = day
    return first


def next_after(today: date, dates: Sequence[date]) -> date:
    """The first of ``dates``, which are in order, after ``today``; the end of time without one."""
    at = bisect_right(dates, today)
    return dates[at] if at < len(dates) else date.max


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
