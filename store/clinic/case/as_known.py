"""A case as it was known at an earlier instant: what had been recorded by then, and nothing told later."""

from __future__ import annotations

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
    last, history, then = (instant, entry_id), view.history, view.at(day)
    if not history.once(("told later", last, day), lambda: _told_later(then, last)):
        return then
    return history.once(("as known", last), lambda: _known(view, last)).on(day)


def _told_later(then: View, last: Last) -> bool:
    """Whether anything that had happened by the date of the view was told after that."""
    happened = (entry for name in FIELD_OF_KIND.values() for entry in then.upto(name))
    return any(then.told_after(entry, *last) for entry in happened)


def _known(view: View, last: Last) -> History:
    changes = {
        name: tuple(e for e in getattr(view.record, name) if not view.told_after(e, *last))
        for name in FIELD_OF_KIND.values()
    }
    return History(replace(view.record, **changes), view.rules)
