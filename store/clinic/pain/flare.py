"""A flare that is not settling: repeated flares, raised mornings, a creeping baseline, more waking.

A single flare is a matter of dose and not of triage. Two settled mornings end the first kind of cause; a
creeping baseline ends only when the baseline comes down again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.sustained import (
    Sustained,
    horizon,
    known_since,
    mornings,
    newest_few,
    rise_on,
    sustained,
)
from armrise.store.record.fields import Absence
from armrise.store.record.words import words_date


@dataclass(frozen=True, slots=True)
class FlareState:
    """Whether a flare is not settling, by which causes, and how large (points, or nights)."""

    causes: tuple[str, ...]
    severity: int
    sentence: str
    evidence: tuple[int, ...]

    @property
    def session_causes(self) -> bool:
        """True for the causes that advise a step back: repeated flares or three raised mornings."""
        return any(c in ("a", "b", "c") for c in self.causes)


def first_baseline(view: View, start: date | None) -> tuple[int, date] | None:
    """The first computable baseline from ``start`` on, and its date."""
    first = view.history.once(("first baseline", start), lambda: _search_first_baseline(view, start))
    return first if first and first[1] <= view.today else None


def _search_first_baseline(view: View, start: date | None) -> tuple[int, date] | None:
    response = Response.of(view)
    told = {v.on for v in view.record.visits if v.usual_morning is not None}
    for morning in sorted({*response.wakes, *told}):
        day = max(morning, start) if start else morning
        if start and (day - morning).days >= view.rules["baseline.window_days"]:
            continue
        view.sure(day)
        value = response.baseline(day)
        if value is not None:
            return value, day
    return None


def latest_baseline(view: View) -> tuple[int, date] | None:
    """The newest computable baseline up to today, looked for four weeks back."""
    response = Response.of(view)
    for back in range(view.rules["flare.horizon_days"] + 1):
        day = view.today - timedelta(days=back)
        value = response.baseline(day)
        if value is not None:
            view.sure(day)
            return value, day
    return None


def creep(view: View) -> tuple[int, int, int, date] | None:
    """(difference, from, to, since) when the baseline itself stands above the stage's or episode's first."""
    if view.stage_start is None:
        return None
    now = latest_baseline(view)
    if now is None:
        return None
    firsts = [first_baseline(view, view.stage_start), first_baseline(view, view.segment_start)]
    above = [(now[0] - f[0], f[0], now[0], f[1]) for f in firsts if f and f[1] <= now[1]]
    worst = max(above, default=None)
    return worst if worst and worst[0] >= view.rules["creep.points"] else None


def _crept_since(view: View) -> date:
    """The first day of the unbroken stretch up to today on which the baseline stood too high."""
    memo, day = view.history.memo, view.today
    walked: list[date] = []
    while ("crept", day) not in memo and creep(view.at(day)):
        walked.append(day)
        day -= DAY
    since: date = memo.get(("crept", day), day + DAY)
    memo.update({("crept", walked_day): since for walked_day in walked})
    return since


def _crept_by(view: View) -> list[int]:
    """The entries that made the baseline stand too high, when it came to: what is told later is no news."""
    first = view.at(_crept_since(view))
    crept, now = creep(first), latest_baseline(first)
    if crept is None or now is None:
        return []
    oldest = now[1] - timedelta(days=view.rules["baseline.window_days"] - 1)
    high = crept[1] + view.rules["creep.points"]
    wakes = [w for d in mornings(first, oldest) for w in Response.of(view).wakes[d] if w.pain >= high]
    told = [v for v in first.since("visits", oldest) if (v.usual_morning or 0) >= high]
    return [*(w.entry_id for w in wakes), *(v.id for v in told)]


def extra_waking(view: View) -> tuple[int, int, int, int] | None:
    """(more nights, before, now, entry id) when night waking rose by the figure, until stale."""
    told = [
        m
        for m in view.since("measures", view.segment_start)
        if m.name == "night_waking" and not isinstance(m.value, Absence) and not m.repeated
    ]
    if len(told) < 2:
        return None
    before, now = told[-2:]
    stale = view.rules.measures["night_waking"].stale_days.whole
    more = int(now.value - before.value)
    if more < view.rules["flare.waking_more"] or (view.today - now.on).days > stale:
        return None
    return more, int(before.value), int(now.value), now.id


def newest_rise(view: View) -> int:
    """The newest known rise above baseline in points, at least 0."""
    rises = (rise_on(view, morning) for morning in reversed(mornings(view, horizon(view))))
    return max(0, next((rise for rise in rises if rise is not None), 0))


def flare_state(view: View) -> FlareState | None:
    """The flare reason on the view's date, None when nothing of it is true."""
    if view.span is None or view.closed:
        return None
    going_on = sustained(view, horizon(view))
    causes, parts = [each.cause for each in going_on], _session_words(view, going_on)
    ids = [j.session.id for each in going_on for j in each.flares]
    ids += [w.entry_id for each in going_on for d in each.raised for w in Response.of(view).wakes[d]]
    severities: list[int] = []
    if crept := creep(view):
        causes.append("d")
        severities.append(crept[0])
        parts.append(f"morning pain has crept from {crept[1]} to {crept[2]} since {words_date(crept[3])}")
        ids += _crept_by(view)
    if waking := extra_waking(view):
        causes.append("e")
        severities.append(waking[0])
        parts.append(f"woken {waking[2]} nights a week, {waking[1]} before")
        ids.append(waking[3])
    if not causes:
        return None
    sentence = "; ".join(part for part in (*parts, loads_raised(view)) if part)
    severity = max([newest_rise(view), *severities])
    return FlareState(tuple(causes), severity, sentence, tuple(dict.fromkeys(ids)))


def _session_words(view: View, going_on: list[Sustained]) -> list[str]:
    """The first of causes (a) to (c) in words; (b) says how many of the newest sessions it counts."""
    if not going_on:
        return []
    first = going_on[0]
    if first.cause == "c":
        response, day = Response.of(view), first.raised[-1]
        base = response.baseline(day - DAY)
        return [f"morning pain {response.worst_value(day)}, baseline {base}, three days running"]
    last = first.flares[-1]
    what = last.cause
    if last.rise is not None and last.cause.startswith("next morning"):
        what = f"next morning {last.morning}, baseline {last.baseline}"
    if first.cause == "a":
        return [f"{what}, twice"]
    among = newest_few(view, known_since(view, horizon(view)))
    return [f"flare in {len(first.flares)} of the last {len(among)} sessions: {what}"]


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
