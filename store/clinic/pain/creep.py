"""Creep, flare cause (d): slow worsening that a moving baseline hides (practice note 4.4, ruling 77).

Two things creep: the baseline of next-morning pain, and what is usual for pain later the same day. Each is
held against its first of the stage and its first of the episode. Creep ends when the value comes down again,
or when none can be worked out any more for four weeks (ruling 92).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from heapq import merge
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.sustained import mornings
from armrise.store.clinic.pain.told import LATER, usual_told
from armrise.store.record.words import words_date

Dated = tuple[int, date]
"""A value of pain, 0-10, and the day it was worked out for."""
Crept = tuple[int, int, int, date]
"""Points crept, from, to, and since when."""


class Creep(NamedTuple):
    """One thing that crept: by how many points, in words, and the entries that made it so."""

    points: int
    words: str
    evidence: tuple[int, ...]


@once_a_view
def creeps(view: View) -> list[Creep]:
    """What has crept on the view's date, the morning first."""
    found: list[Creep] = []
    for what, crept, entries in (
        ("morning pain", creep, _mornings_high),
        ("pain later", later_creep, _sessions_high),
    ):
        now = crept(view)
        if now:
            points, low, high, since = now
            words = f"{what} has crept from {low} to {high} since {words_date(since)}"
            found.append(Creep(points, words, entries(view.at(_crept_since(view, what, crept)))))
    return found


def has_crept(view: View) -> bool:
    """Whether anything has, asked for no entries."""
    return creep(view) is not None or later_creep(view) is not None


def _worst(view: View, now: Dated | None, firsts: list[Dated | None]) -> Crept | None:
    """The larger rise of the present value over the stage's and the episode's first, when large enough."""
    if now is None:
        return None
    above = [(now[0] - f[0], f[0], now[0], f[1]) for f in firsts if f and f[1] <= now[1]]
    worst = max(above, default=None)
    return worst if worst and worst[0] >= view.rules["creep.points"] else None


def _latest(view: View, work_out: Callable[[date], int | None]) -> Dated | None:
    """The newest value that can be worked out up to today, looked for four weeks back."""
    for back in range(view.rules["flare.horizon_days"] + 1):
        day = view.today - timedelta(days=back)
        value = work_out(day)
        if value is not None:
            return value, day
    return None


def _crept_since(view: View, what: str, crept: Callable[[View], Crept | None]) -> date:
    """The first day of the unbroken stretch up to today on which it stood too high."""
    memo, day = view.history.memo, view.today
    walked: list[date] = []
    while (what, day) not in memo and crept(view.at(day)):
        walked.append(day)
        day -= DAY
    since: date = memo.get((what, day), day + DAY)
    memo.update({(what, walked_day): since for walked_day in walked})
    return since


# --- the baseline ---------------------------------------------------------------------------------------


@once_a_view
def creep(view: View) -> Crept | None:
    """(difference, from, to, since) when the baseline itself stands above the stage's or episode's first."""
    now = latest_baseline(view) if view.stage_start else None
    if now is None:
        return None
    firsts = [first_baseline(view, view.stage_start), first_baseline(view, view.segment_start)]
    return _worst(view, now, firsts)


@once_a_view
def latest_baseline(view: View) -> Dated | None:
    """The newest computable baseline up to today, looked for four weeks back."""
    response = Response.of(view)
    told = bool(response.wakes or usual_told(view.history))
    return _latest(view, response.baseline) if told else None


def first_baseline(view: View, start: date | None) -> Dated | None:
    """The first computable baseline from ``start`` on, and its date."""
    first = view.history.once(("first baseline", start), lambda: _search_first_baseline(view, start))
    return first if first and first[1] <= view.today else None


def _search_first_baseline(view: View, start: date | None) -> Dated | None:
    response, window = Response.of(view), view.rules["baseline.window_days"]
    begins = start - timedelta(days=window) if start else date.min
    told = (entry.on for entry in usual_told(view.history) if entry.on > begins)
    for morning in merge(response.told.woke_on(begins + DAY, date.max), told):
        day = max(morning, start) if start else morning
        view.history.sure(begins, day)  # else an earlier value may lie in what was not read
        value = response.baseline(day)
        if value is not None:
            return value, day
    view.history.sure(begins, view.record.known_from or view.today)
    return None


def _mornings_high(first: View) -> tuple[int, ...]:
    """The entries that made the baseline stand too high, when it came to: what is told later is no news."""
    crept, now = creep(first), latest_baseline(first)
    if crept is None or now is None:
        return ()
    oldest = now[1] - timedelta(days=first.rules["baseline.window_days"] - 1)
    high = crept[1] + first.rules["creep.points"]
    wakes = [w for d in mornings(first, oldest) for w in Response.of(first).wakes[d] if w.pain >= high]
    told = [e for e in usual_told(first.history) if e.on >= oldest and (e.usual_morning or 0) >= high]
    return (*(w.entry_id for w in wakes), *(e.id for e in told if e.on <= first.today))


# --- usual pain later the same day ----------------------------------------------------------------------


@once_a_view
def later_creep(view: View) -> Crept | None:
    """The same of usual pain later, where that stands above the limit; worked out of sessions only."""
    now = _latest_usual(view)
    if view.stage is None or now is None or now[0] <= view.stage.limits.later.whole:
        return None
    return _worst(view, now, [first_usual(view, view.stage_start), first_usual(view, view.segment_start)])


@once_a_view
def _latest_usual(view: View) -> Dated | None:
    response = Response.of(view)
    return _latest(view, lambda day: response.usual(LATER, day)) if response.dates else None


def first_usual(view: View, start: date | None) -> Dated | None:
    """The first usual pain later that can be worked out from ``start`` on, and its date."""
    first = view.history.once(("first usual later", start), lambda: _search_first_usual(view, start))
    return first if first and first[1] <= view.today else None


def _search_first_usual(view: View, start: date | None) -> Dated | None:
    response, window = Response.of(view), view.rules["usual.window_days"]
    begins = start - timedelta(days=window) if start else date.min
    for on in response.told.sessions_on(begins, date.max):
        day = max(on + DAY, start) if start else on + DAY
        view.history.sure(begins, day)
        value = response.usual(LATER, day)
        if value is not None:
            return value, day
    view.history.sure(begins, view.record.known_from or view.today)
    return None


def _sessions_high(first: View) -> tuple[int, ...]:
    """The sessions that made usual pain later stand too high, when it came to."""
    crept, now = later_creep(first), _latest_usual(first)
    if crept is None or now is None:
        return ()
    oldest = now[1] - timedelta(days=first.rules["usual.window_days"])
    first.sure(oldest)
    high = crept[1] + first.rules["creep.points"]
    told = [s for s in first.since("sessions", oldest) if isinstance(s.later, int) and s.later >= high]
    return tuple(s.id for s in told)
