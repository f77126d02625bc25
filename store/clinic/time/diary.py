"""Whether a diary is kept at home, or pain is told at visits alone (ruling 95)."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, NeedsFullHistory, View


def keeps_diary(view: View, newest: date) -> bool:
    """A session or morning of a day that is neither that of a visit nor the one before, up to ``newest``.

    Counted back from the newest data and not from today, so that a diary that falls silent still speaks.
    """
    first = newest - timedelta(days=view.rules["silence.diary_days"])
    visits = {visit.on for visit in view.upto("visits")}
    told = [s.on for s in view.since("sessions", first)]
    told += [m.on for m in view.since("mornings", first) if isinstance(m.pain, int)]
    if any(first <= on <= newest and on not in visits and on + DAY not in visits for on in told):
        return True
    if view.record.known_from is not None and not _all_read(view, first):
        raise NeedsFullHistory
    return False


def _all_read(view: View, first: date) -> bool:
    """Whether the window, if the record is one, holds every day from ``first`` on."""
    record = view.record
    return any(low <= first and high > view.today for low, high in record.known_spans)
