"""A flare that is not settling: repeated flares, raised mornings, a creeping baseline, more waking.

A single flare is a matter of dose and not of triage. Two settled mornings end the first kind of cause; a
creeping baseline ends only when the baseline comes down again.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from datetime import date

from armrise.store.clinic.case.measured import number, of_either_side
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.staleness import fresh_days, stale
from armrise.store.clinic.case.turns import turns
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.creep import creeps, has_crept
from armrise.store.clinic.pain.eased import eased
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.sustained import (
    Sustained,
    horizon,
    known_since,
    mornings,
    newest_few,
    rise_on,
    sustained,
    told_within,
)
from armrise.store.clinic.pain.told_flare import flare_as_told
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.light import NamedTuple

WAKING = "night_waking"


def _days_of_flares(view: View) -> Iterator[date]:
    """Any day while what was told at home bears on it; then those on which waking grows old or a load cut
    has had its time."""
    rules = view.rules
    baseline = rules["baseline.window_days"] + rules["baseline.stands_days"]
    longest = max(baseline, rules["baseline.usual_days"], rules["usual.window_days"])
    if told_within(view, rules["flare.horizon_days"] + longest + 1):
        yield view.today
    told = of_either_side(view.history, WAKING).dates
    if told:
        fresh = (fresh_days(view, WAKING) + 1) * DAY
        yield from (day + fresh for day in told[: bisect_right(told, view.today)])
    for cut in eased(view) if view.upto("summaries") else ():
        yield cut.on + rules["summary.cut_days"] * DAY


FLARE_TURNS = turns(
    *("sessions", "mornings", "summaries", "measures", "contacts", "programme", "referrals", "decisions"),
    days=_days_of_flares,
)
"""When :func:`flare_state` can turn."""


class FlareState(NamedTuple):
    """Whether a flare is not settling, by which causes, and how large (points, or nights)."""

    causes: tuple[str, ...]
    severity: int
    sentence: str
    evidence: tuple[int, ...]

    @property
    def session_causes(self) -> bool:
        """True for the causes that advise a step back: repeated flares or three raised mornings."""
        return any(c in ("a", "b", "c") for c in self.causes)


def _told_waking(view: View) -> list[Measure]:
    """Night waking as told from the present tissue on, oldest first."""
    found, start = of_either_side(view.history, WAKING), view.segment_start
    first = bisect_left(found.dates, start) if start else 0
    return found.measures[first : bisect_right(found.dates, view.today)]


@once_a_view
def extra_waking(view: View) -> tuple[int, int, int, int] | None:
    """(more nights, before, now, entry id) when night waking rose by the figure, until stale.

    Held against the higher of the two values before, so that one quiet week makes no flare of the usual
    (ruling 95).
    """
    told = _told_waking(view)
    *before, now = told[-1 - view.rules["flare.waking_values"] :] or (None,)
    if not before or now is None:
        return None
    highest = max(int(number(m)) for m in before)
    newest = int(number(now))
    more = newest - highest
    if more < view.rules["flare.waking_more"] or stale(view, now.name, now.on):
        return None
    return more, highest, newest, now.id


@once_a_view
def newest_rise(view: View) -> int:
    """The newest known rise above baseline in points, at least 0."""
    rises = (rise_on(view, morning) for morning in reversed(mornings(view, horizon(view))))
    return max(0, next((rise for rise in rises if rise is not None), 0))


class _Part(NamedTuple):
    """One cause of a flare that is true: its letter, points or nights (or 0), words, entries."""

    cause: str
    severity: int
    words: str
    evidence: tuple[int, ...]


@once_a_view
def flare_state(view: View) -> FlareState | None:
    """The flare reason on the view's date, None when nothing of it is true."""
    if view.span is None or view.closed:
        return None
    found = list(_parts(view))
    if not found:
        return None
    causes = dict.fromkeys(p.cause for p in found)
    sentence = "; ".join(words for words in (*(p.words for p in found), loads_raised(view)) if words)
    severity = max(newest_rise(view), *(p.severity for p in found))
    evidence = dict.fromkeys(entry for p in found for entry in p.evidence)
    return FlareState(tuple(causes), severity, sentence, tuple(evidence))


@once_a_view
def is_flaring(view: View) -> bool:
    """Whether the reason is true: any cause will do, the cheapest to find first."""
    if view.span is None or view.closed:
        return False
    view.sure(horizon(view))
    asked = (has_crept, extra_waking, flare_as_told, _goes_on)
    return any(cause(view) for cause in asked)


def _goes_on(view: View) -> list[Sustained]:
    return sustained(view, horizon(view))


def _parts(view: View) -> Iterator[_Part]:
    """The causes that are true, in their order; of (a) to (c) the first one's words speak for all."""
    going_on, wakes = _goes_on(view), Response.of(view).wakes
    for place, each in enumerate(going_on):
        words = "" if place else _session_words(view, each)
        yield _Part(each.cause, 0, words, tuple(judged.session.id for judged in each.flares))
    for each in going_on:
        yield _Part(each.cause, 0, "", tuple(wake.entry_id for day in each.raised for wake in wakes[day]))
    for crept in creeps(view):
        yield _Part("d", crept.points, crept.words, crept.evidence)
    if waking := extra_waking(view):
        more, before, now, entry_id = waking
        yield _Part("e", more, f"woken {now} nights a week, {before} before", (entry_id,))
    if told := flare_as_told(view):
        yield _Part("f", told.severity, told.words, (told.entry_id,))


def _session_words(view: View, first: Sustained) -> str:
    """One of causes (a) to (c) in words; (b) says how many of the newest sessions it counts."""
    if first.cause == "c":
        response, day = Response.of(view), first.raised[-1]
        base = response.baseline(day - DAY)
        return f"morning pain {response.worst_value(day)}, baseline {base}, three days running"
    last = first.flares[-1]
    what = last.cause
    if last.rise is not None and last.cause.startswith("next morning"):
        what = f"next morning {last.morning}, baseline {last.baseline}"
    if first.cause == "a":
        return f"{what}, twice"
    among = newest_few(view, known_since(view, horizon(view)))
    return f"flare in {len(first.flares)} of the last {len(among)} sessions: {what}"


def loads_raised(view: View) -> str:
    """Which exercises went up on the newest date of such a change in the last two weeks, as words."""
    newer: dict[date, int] = {}
    last: dict[str, object] = {}
    for item in view.upto("programme"):
        amount = item.band if item.load is None else item.load
        before = last.get(item.exercise)
        if before is not None and amount is not None and amount > before:  # type: ignore[operator]
            newer[item.on] = newer.get(item.on, 0) + 1
        last[item.exercise] = amount
    recent = [d for d in newer if (view.today - d).days <= view.rules["baseline.window_days"]]
    if not recent:
        return ""
    day = max(recent)
    count, ago = newer[day], (view.today - day).days
    loads = "two loads" if count == 2 else "one load" if count == 1 else f"{count} loads"
    return f"{loads} raised {ago} days ago" if ago != 1 else f"{loads} raised yesterday"
