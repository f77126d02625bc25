"""Flares that do not settle: (a) twice running, (b) among the newest sessions, (c) three raised mornings.

Each cause is true by its own evidence and is cleared by the settled mornings after it (rulings 21, 42).
What has settled does not speak again because something else happens: it needs new evidence of its own.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.classes import FLARE, INCOMPLETE
from armrise.store.clinic.pain.response import Judged, Line, Response
from armrise.store.clinic.pain.told import usual_told


class Sustained(NamedTuple):
    """One cause that has not settled: the flare sessions it counts, and its raised mornings up to today."""

    cause: str
    flares: tuple[Judged, ...]
    raised: tuple[date, ...]


def rise_on(view: View, morning: date) -> int | None:
    """Pain on waking on ``morning`` above the baseline of the day before, None when either is unknown."""
    return Response.of(view).rise(morning)


def mornings(view: View, first: date) -> list[date]:
    """The dates from ``first`` up to today with pain on waking told, oldest first."""
    return Response.of(view).woke(first, view.today)


def raised_mornings(view: View, first: date, last: date = date.max) -> list[date]:
    """The mornings from ``first`` up to ``last``, not after today, that were raised as those of a flare are,
    oldest first."""
    rise, response = view.rules["flare.morning_rise"], Response.of(view)
    return [day for day in response.woke(first, min(last, view.today)) if (response.rise(day) or 0) >= rise]


@once_a_view
def horizon(view: View) -> date:
    """The first date that counts: four weeks back, and nothing from before a step back."""
    first = view.today - timedelta(days=view.rules["flare.horizon_days"])
    back = [s.start for s in view.history.spans if s.step.direction == "back" and s.start <= view.today]
    return max([first, *back])


def told_within(view: View, days: int) -> bool:
    """Whether pain may have been told at home in the last ``days``: what rests on it can turn on any day.

    Where those days were not all read it is not known, so that it is looked at day by day.
    """
    if not view.history.reads(view.today - timedelta(days=days), view.today):
        return True
    usual = [entry.on for entry in usual_told(view.history)]
    for dates in (view.history.ordered("sessions")[1], view.history.ordered("mornings")[1], usual):
        at = bisect_right(dates, view.today)
        if at and (view.today - dates[at - 1]).days <= days:
            return True
    return False


def sustained(view: View, first: date) -> list[Sustained]:
    """The causes (a) to (c) that have not settled, in this order, reading nothing from before ``first``."""
    view.sure(first)
    raised, few = raised_mornings(view, first), max(view.rules["flare.last"], view.rules["flare.among"])
    newest = Line(Response.of(view), view.today, first, known=True)[-few:]
    found: list[Sustained] = []
    for cause, flares in (("a", _twice(view, newest)), ("b", _among(view, newest))):
        if flares and not _settled(view, flares[-1].on, raised, ()):
            found.append(Sustained(cause, flares, tuple(d for d in raised if d > flares[0].on)))
    running, runs = timedelta(days=view.rules["flare.mornings"] - 1), _runs(view, raised)
    flared = [j.on for j in known_since(view, first) if j.klass == FLARE] if runs else []
    going_on = [end for end in runs if not _settled(view, end, raised, flared)]
    if going_on:
        found.append(Sustained("c", (), tuple(d for d in raised if d >= going_on[0] - running)))
    return found


def known_since(view: View, first: date) -> list[Judged]:
    """The sessions of known class from ``first`` up to today, oldest first."""
    return [j for j in Response.of(view).between(first, view.today) if j.klass != INCOMPLETE]


def _twice(view: View, known: list[Judged]) -> tuple[Judged, ...]:
    """(a) the newest sessions of known class, where all of them are flares."""
    last = known[-view.rules["flare.last"] :]
    every = len(last) == view.rules["flare.last"] and all(j.klass == FLARE for j in last)
    return tuple(last) if every else ()


def newest_few(view: View, known: list[Judged]) -> list[Judged]:
    """The newest sessions that cause (b) looks at."""
    recent = [j for j in known if (view.today - j.on).days <= view.rules["flare.within_days"]]
    return recent[-view.rules["flare.among"] :]


def _among(view: View, known: list[Judged]) -> tuple[Judged, ...]:
    """(b) the flares among the newest sessions, where they are enough."""
    flares = tuple(j for j in newest_few(view, known) if j.klass == FLARE)
    return flares if len(flares) >= view.rules["flare.of"] else ()


def _runs(view: View, raised: list[date]) -> list[date]:
    """(c) every raised morning that ends enough of them on days running."""
    running = range(view.rules["flare.mornings"])
    return [d for d in raised if all(d - timedelta(days=k) in raised for k in running)]


def _settled(view: View, evidence: date, raised: list[date], flared: list[date] | tuple[()]) -> bool:
    """True once enough mornings were settled with no raised morning and no flare session between them."""
    response, enough = Response.of(view), view.rules["flare.settled_mornings"]
    calm, day = 0, evidence
    while day < view.today:
        day += DAY
        calm = 0 if day in raised else calm + response.settled(day)
        if calm == enough:
            return True
        if day in flared:
            calm = 0
    return False


def settled_since(view: View, evidence: date) -> bool:
    """True once enough mornings after a day were settled, no raised one and no flare between them."""
    view.sure(evidence)
    flared = [j.on for j in known_since(view, evidence) if j.klass == FLARE]
    return _settled(view, evidence, raised_mornings(view, evidence), flared)
