"""On which days what is told at home can come to more than it is: by what the record holds of days to come.

A record that is gone through day by day holds them already. What they tell is no part of any day's answer: it
says on which days there is nothing to look for, because too little speaks within the days that count. Every
bound here is wider than the rule that it spares: a day too many is looked at, never one too few.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from itertools import chain

from armrise.store.clinic.case.once import known_already
from armrise.store.clinic.case.turns import END, next_after, next_of
from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.creep import first_baseline, first_usual
from armrise.store.clinic.pain.flare import WAKING, extra_waking, flare_state, is_flaring
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.told import usual_told

Span = tuple[date, date]
"""The first and the last day, both included."""

_OF_A_FLARE = ("steps", "discharges", "reopenings", "summaries")


class Spans:
    """Days in stretches."""

    def __init__(self, spans: Iterable[Span]) -> None:
        self._first: list[date] = []
        self._last: list[date] = []
        for first, last in sorted(spans):
            if self._last and first <= self._last[-1]:
                self._last[-1] = max(self._last[-1], last)
            else:
                self._first.append(first)
                self._last.append(last)

    def __contains__(self, day: date) -> bool:
        at = bisect_left(self._last, day)
        return at < len(self._last) and self._first[at] <= day

    def after(self, today: date) -> date:
        """The first of these days after ``today``; the end of time without one."""
        at = bisect_left(self._last, today + DAY)
        return max(self._first[at], today + DAY) if at < len(self._last) else date.max


def near(dates: Sequence[date], many: int, days: int, further: int = 0) -> Iterable[Span]:
    """The days, and so many further ones, on which ``many`` of ``dates``, in order, lie in the last ``days``.

    Counted from the day of the last of them, to the day on which the first is ``days`` old.
    """
    many = max(1, many)
    for first, last in zip(dates, dates[many - 1 :], strict=False):
        if (last - first).days <= days:
            yield last, first + timedelta(days=days + further)


# --- over the limit, and flares -----------------------------------------------------------------------------


def sore_days(history: History) -> list[date]:
    """The dates of sessions over a limit, whatever their next morning made of them, in order."""

    def found() -> list[date]:
        response = _response(history)
        return [on for on in response.dates if not response.flares_lie_above or _is_over(response, on)]

    return history.once("sore days", found)


def _is_over(response: Response, on: date) -> bool:
    terms = response.terms_on(on)
    return terms is not None and any(
        _above(session.during, terms.during) or _above(session.later, terms.later)
        for session in response.by_date[on]
    )


def _above(pain: object, limit: int) -> bool:
    return isinstance(pain, int) and pain > limit


def _flare_days(history: History) -> list[date]:
    """The dates of sessions in a flare, in order. One that is before its next morning is known stays one.

    Judged are those only that were over a limit or were followed by a high morning: nothing else is one.
    """
    response, sore = _response(history), set(sore_days(history))
    may_be = (on for on in response.dates if on in sore or _woke_high(response, on))
    return [on for on in may_be if (judged := response.judged_on(on)) and judged.klass == FLARE]


def _woke_high(response: Response, on: date) -> bool:
    """Whether the morning after lay high above the lowest ever told, or near the top of the scale."""
    terms, worst = response.terms_on(on), response.told.worst_value(on + DAY)
    if terms is None or worst is None:
        return False
    return _most_rise(response, worst) > terms.rise or worst >= response.rules["ceiling.morning"]


def _most_rise(response: Response, morning: int) -> int:
    """How far a morning can lie above a baseline: no baseline is lower than every morning told."""
    return morning - response.history.once("lowest morning", lambda: _lowest_morning(response))


def _lowest_morning(response: Response) -> int:
    told = (entry.usual_morning or 0 for entry in usual_told(response.history))
    return min([*response.told.settled.values(), *told], default=0)


def flare_until(view: View) -> date:
    """The first day after the view's date on which a flare that is not settling may be found otherwise.

    Where nothing that was told can be one on the date itself, the view knows that without looking.
    """
    told = view.record.known_from is not None or bool(view.upto("summaries"))
    if told or not _response(view.history).flares_lie_above:
        return view.today + DAY
    history, today = view.history, view.today
    waking = history.once("days of waking", lambda: _waking(history))
    flares = history.once("days of flares", lambda: Spans(_flares(view)))
    key = ("days of creep", view.stage_start, view.segment_start)
    creeps = history.once(key, lambda: Spans(chain(_crept(view), _crept_later(view))))
    if today not in flares and today not in creeps and extra_waking(view) is None:
        known_already(view, is_flaring, False)
        known_already(view, flare_state, None)
    elif is_flaring(view):
        return today + DAY
    entry = min(next_of(view, _OF_A_FLARE), next_after(today, waking))
    return min(entry, flares.after(today), creeps.after(today))


def _response(history: History) -> Response:
    return Response.of(history.on(END))


def _waking(history: History) -> list[date]:
    measures, dates = history.ordered("measures")
    return [on for on, one in zip(dates, measures, strict=True) if one.name == WAKING]


def _flares(view: View) -> Iterable[Span]:
    """Where enough sessions were flares, or enough mornings on days running were raised."""
    rules, response = view.rules, _response(view.history)
    few, horizon = min(rules["flare.last"], rules["flare.of"]), rules["flare.horizon_days"]
    yield from near(_flare_days(view.history), few, horizon)
    rise, running = rules["flare.morning_rise"], max(1, rules["flare.mornings"])
    high = (
        day for day, woke in response.wakes.items() if _most_rise(response, max(w.pain for w in woke)) >= rise
    )
    raised = sorted(day for day in high if (response.rise(day) or 0) >= rise)
    for first, last in zip(raised, raised[running - 1 :], strict=False):
        if (last - first).days < running:
            yield last, first + timedelta(days=horizon)


# --- creep --------------------------------------------------------------------------------------------------


def _crept(view: View) -> Iterable[Span]:
    """Where enough mornings stand high enough above the first baseline of the stay or episode, or are told to
    be usual."""
    rules, response, far = view.rules, _response(view.history), view.history.on(END)
    if view.stage_start is None:
        return
    firsts = (first_baseline(far, start) for start in (view.stage_start, view.segment_start))
    low = min((first[0] for first in firsts if first), default=None)
    if low is None:
        return
    high, horizon = low + rules["creep.points"], rules["flare.horizon_days"]
    days = sorted(day for day, value in response.told.settled.items() if value >= high)
    least = _most_of(min(rules["baseline.least"], rules["baseline.take"]))
    stands = rules["baseline.stands_days"] + horizon
    yield from near(days, least, rules["baseline.window_days"] - 1, stands)
    recent = timedelta(days=rules["baseline.usual_days"] + horizon)
    for entry in usual_told(view.history):
        if (entry.usual_morning or 0) >= high:
            yield entry.on, entry.on + recent


def _crept_later(view: View) -> Iterable[Span]:
    """Where enough sessions have pain later above the limit of the stage, and high enough above the first."""
    rules, stage, far = view.rules, view.stage, view.history.on(END)
    if stage is None:
        return
    firsts = (first_usual(far, start) for start in (view.stage_start, view.segment_start))
    low = min((first[0] for first in firsts if first), default=None)
    if low is None:
        return
    high = max(low + rules["creep.points"], stage.limits.later.whole + 1)
    told = (one for one in view.history.ordered("sessions")[0] if isinstance(one.later, int))
    days = sorted({one.on for one in told if one.later >= high})
    least = _most_of(min(rules["usual.least"], rules["usual.all_least"], rules["usual.take"]))
    yield from near(days, least, rules["usual.window_days"], rules["flare.horizon_days"])


def _most_of(count: int) -> int:
    """So many of ``count`` values, or more, are no lower than their lower median."""
    return max(1, count) // 2 + 1 if count > 1 else 1
