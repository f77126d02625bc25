"""A flare that is not settling: repeated flares, raised mornings, a creeping baseline, more waking.

A single flare is a matter of dose and not of triage. Two settled mornings end the first kind of cause; a
creeping baseline ends only when the baseline comes down again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from armrise.store.clinic.case.staleness import stale
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.creep import creeps
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
from armrise.store.clinic.pain.told_flare import flare_as_told
from armrise.store.record.fields import Absence


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


def extra_waking(view: View) -> tuple[int, int, int, int] | None:
    """(more nights, before, now, entry id) when night waking rose by the figure, until stale.

    Held against the higher of the two values before, so that one quiet week makes no flare of the usual
    (ruling 95).
    """
    told = [
        m
        for m in view.since("measures", view.segment_start)
        if m.name == "night_waking" and not isinstance(m.value, Absence) and not m.repeated
    ]
    *before, now = told[-1 - view.rules["flare.waking_values"] :] or (None,)
    if not before or now is None:
        return None
    highest = max(int(m.value) for m in before)
    more = int(now.value) - highest
    if more < view.rules["flare.waking_more"] or stale(view, now.name, now.on):
        return None
    return more, highest, int(now.value), now.id


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
    crept = creeps(view)
    if crept:
        causes.append("d")
        severities += [each.points for each in crept]
        parts += [each.words for each in crept]
        ids += [entry for each in crept for entry in each.evidence]
    if waking := extra_waking(view):
        causes.append("e")
        severities.append(waking[0])
        parts.append(f"woken {waking[2]} nights a week, {waking[1]} before")
        ids.append(waking[3])
    if told := flare_as_told(view):
        causes.append("f")
        severities.append(told.severity)
        parts.append(told.words)
        ids.append(told.entry_id)
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
