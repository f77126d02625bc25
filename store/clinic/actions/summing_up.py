"""What a summary of weeks is proposed to begin with: since when, and how many days were asked (ruling 73)."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force

WEEK = 7


def period_asked(view: View) -> date | None:
    """Since when the weeks are asked for in one line.

    None where too few days have passed, where they were summed up today, and where so many sessions are
    recorded in them that a line adds nothing.
    """
    since, rules = since_proposed(view), view.rules
    if since is None or (view.today - since).days < rules["summary.least_days"]:
        return None
    if any(told.on == view.today for told in view.upto("summaries")):
        return None
    recorded = {session.on for session in view.since("sessions", since)}
    return since if len(recorded) < rules["summary.recorded_most"] else None


def since_proposed(view: View) -> date | None:
    """The first day of a period that ends on the view's date; None before any earlier visit.

    The later of the last summary and the last earlier visit, and never more than a figure ago.
    """
    told = [entry.on for name in ("summaries", "visits") for entry in view.upto(name)]
    before = max((on for on in told if on < view.today), default=None)
    most = timedelta(days=view.rules["summary.most_days"])
    return None if before is None else max(before, view.today - most)


def asked_proposed(view: View, since: date) -> int:
    """Days asked in the period from ``since``: by the most frequent exercise in force, rounded up.

    Where none says how often a week, every day.
    """
    days = (view.today - since).days
    often = max((item.per_week for item in in_force(view) if item.per_week), default=WEEK)
    return -(-days * min(WEEK, often) // WEEK)
