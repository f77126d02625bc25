"""A case as it was known at an earlier instant: what had been recorded by then, and nothing told later."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from datetime import date, datetime

from armrise.store.clinic.case.view import History, View
from armrise.store.record.case import FIELD_OF_KIND

Last = tuple[datetime, int]
"""The instant and id of the last entry that was known."""


def as_known(view: View, instant: datetime, entry_id: int, day: date) -> View:
    """What had been recorded up to the entry ``entry_id`` at ``instant``, seen on ``day``.

    Where nothing of the days up to ``day`` was told later, that is the same history seen on ``day``.
    """
    last, history = (instant, entry_id), view.history
    if not history.once(("told later", last, day), lambda: _told_later(history, last, day)):
        return view.at(day)
    return history.once(("as known", last), lambda: _known(history, last)).on(day)


def _told_later(history: History, last: Last, day: date) -> bool:
    for name in FIELD_OF_KIND.values():
        entries, dates = history.ordered(name)
        if any((e.recorded_at, e.id) > last for e in entries[: bisect_right(dates, day)]):
            return True
    return False


def _known(history: History, last: Last) -> History:
    record = history.record
    changes = {
        name: tuple(e for e in getattr(record, name) if (e.recorded_at, e.id) <= last)
        for name in FIELD_OF_KIND.values()
    }
    return History(replace(record, **changes), history.rules)
