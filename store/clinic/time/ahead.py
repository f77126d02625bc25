"""Until when a clock says what it said: a review overdue, silence, missed visits, a case out of sight.

By what the record holds of days to come, as a record that is gone through day by day does.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import zip_longest

from armrise.store.clinic.case.turns import PLACED, first_ahead, next_after, next_but_daily, next_of
from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.time.clocks import (
    DATA_FIELDS,
    MISS_TURNS,
    due,
    in_protected_stage,
    interval,
    original_due,
    silence_threshold,
    silent_days,
    tells,
)
from armrise.store.record.kinds.care import MISSED, Visit

# --- the review owed ----------------------------------------------------------------------------------


def overdue_until(view: View) -> date:
    """The first day after the view's date on which a review may be overdue, or overdue otherwise.

    One that is not begins to be where a visit of the record is followed by none until its interval is over.
    """
    day, days = due(view), interval(view)
    if day is None or days is None or view.last_visit is None or day < view.today:
        ahead = [] if day is None or days is None else [day + DAY, day + timedelta(days=days)]
        return min(next_but_daily(view), first_ahead(view, ahead))
    late = view.history.once("reviews overdue", lambda: _reviews_overdue(view))
    own = day + DAY if next_of(view, ("visits",)) > day else date.max
    return min(next_of(view, PLACED), own, next_after(view.today, late))


def _reviews_overdue(view: View) -> list[date]:
    """The earliest day overdue after each visit that no other follows by then; a hold moves it on."""
    visits: list[Visit] = view.history.ordered("visits")[0]
    found: list[date] = []
    for visit, following in zip_longest(visits, visits[1:]):
        first = visit.on + timedelta(days=_least_interval(view, visit)) + DAY
        if following is None or first <= following.on:
            found.append(first)
    return sorted(found)


def _least_interval(view: View, visit: Visit) -> int:
    """The days until the review at least: as set at a visit, else the shortest of its stage or pathway."""
    if visit.interval:
        return visit.interval
    stage, own = view.history.stage_on(visit.on), view.history.pathway_of(None)
    stages = [stage] if stage else own.stages if own else ()
    figures = (figure for one in stages for figure in (one.review, one.review_early))
    return min((figure.whole for figure in figures if figure), default=0)


# --- silence ------------------------------------------------------------------------------------------


def silence_until(view: View) -> date:
    """The first day after the view's date on which silence may be found otherwise.

    What is told breaks it, so that it begins where nothing is told for long: of what the record holds of days
    to come the days matter on which that is so.
    """
    days, threshold = silent_days(view), silence_threshold(view)
    entry = next_of(view, (*PLACED, "holds"))
    if days is None or threshold is None or view.record.known_from is not None:
        return view.today + DAY
    told = view.history.once("days told", lambda: _days_told(view.history))
    following = next_after(view.today, told)
    if days >= threshold:
        return min(entry, following)
    begins = view.today + timedelta(days=threshold - days)
    return min(entry, begins if begins < following else _next_gap(view, told, following))


def _days_told(history: History) -> list[date]:
    fields = (history.ordered(name)[0] for name in (*DATA_FIELDS, "contacts"))
    return sorted({entry.on for entries in fields for entry in entries if tells(entry)})


def _next_gap(view: View, told: list[date], first: date) -> date:
    """The earliest day on which it may be silent after one on which something is told, from ``first`` on."""

    def found() -> list[date]:
        least = min(view.rules["silence.floor_days"], view.rules["silence.cap_days"])
        pairs = zip_longest(told, told[1:], fillvalue=date.max)
        return [day + timedelta(days=least) for day, later in pairs if (later - day).days > least]

    gaps = view.history.once("silent days", found)
    return next_after(first, gaps)


# --- missed visits, and a case out of sight ------------------------------------------------------------


def misses_until(view: View) -> date:
    """The first day after the view's date on which missed visits may be others; never without one."""

    def missed_any() -> bool:
        return any(one.outcome in MISSED for one in view.history.ordered("attendances")[0])

    return MISS_TURNS.following(view) if view.history.once("missed any", missed_any) else date.max


def lost_until(view: View) -> date:
    """The first day after the view's date on which a protected case may be out of sight, or so otherwise.

    Only one in a protected stage is: there by the days on which time alone can begin or end it.
    """
    if view.closed or view.span is None or not in_protected_stage(view):
        return next_of(view, PLACED)
    original, quiet = original_due(view), timedelta(days=view.rules["lost.contact_days"])
    late = [original + timedelta(days=view.rules["lost.overdue_days"])] if original else []
    answered = [c.on + quiet for c in view.upto("contacts") if c.spoken]
    days = [*late, *answered, *(a.booked_for for a in view.upto("attendances"))]
    return min(next_but_daily(view), first_ahead(view, days))
