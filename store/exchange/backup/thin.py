"""Which backups are kept when they become many: a pure function of when they were taken.

Nothing is thinned but what a later copy stands for: the record only grows, so a newer copy holds all that an
older one holds. What an older one is for is a fault that was copied, too, before anybody saw it: a disk that
fails, a wrong file restored. Such faults are seen soon, hence many copies of late and few of long ago.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta

from armrise.store.record.light import NamedTuple


class Span(NamedTuple):
    """Up to ``days`` days back (None: without end) one copy is kept of each period, the newest."""

    days: int | None
    period: Callable[[date], tuple[int, ...]]


def _day(day: date) -> tuple[int, ...]:
    return (day.toordinal(),)


def _week(day: date) -> tuple[int, ...]:
    return tuple(day.isocalendar())[:2]


def _month(day: date) -> tuple[int, ...]:
    return day.year, day.month


SPANS = (
    Span(14, _day),  # a fortnight: whoever was on leave finds each day of it
    Span(8 * 7, _week),  # eight weeks, longer than any review interval: each case was looked at once
    Span(None, _month),  # for ever, as the clinic decides about retention and the program deletes no record
)
"""Design. Of today every copy is kept."""


def surplus(taken: Iterable[datetime], today: date) -> set[datetime]:
    """Those of the copies ``taken`` (on the clinic's clock) that are not kept on the clinic date ``today``.

    Never the newest, none of today, and none that bears a later date.
    """
    kept: set[datetime] = set()
    seen: set[tuple[int, ...]] = set()
    newest_first = sorted(set(taken), reverse=True)
    for copy in newest_first:
        period = _period(copy.date(), today)
        if period is None or period not in seen or copy == newest_first[0]:
            kept.add(copy)
        if period is not None:
            seen.add(period)
    return set(newest_first) - kept


def _period(day: date, today: date) -> tuple[int, ...] | None:
    """The period of which one copy is kept, told apart by its span; None where every copy is."""
    if day >= today:
        return None
    for place, (days, period) in enumerate(SPANS):
        if days is None or day >= today - timedelta(days=days):
            return place, *period(day)
    return None
