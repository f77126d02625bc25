"""A flare that is not settling: repeated flares, raised mornings, a creeping baseline, more waking.

A single flare is a matter of dose and not of triage. Two settled mornings end the first kind of cause; a
creeping baseline ends only when the baseline comes down again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.response import FLARE, Judged, Response
from armrise.store.record.fields import Absence
from armrise.store.record.words import words_date


@dataclass(frozen=True, slots=True)
class FlareState:
    """Whether a flare is not settling, by which causes, and how large (points, or nights)."""

    causes: tuple[str, ...]
    severity: int
    sentence: str
    newest: date
    evidence: tuple[int, ...]

    @property
    def session_causes(self) -> bool:
        """True for the causes that advise a step back: repeated flares or three raised mornings."""
        return any(c in ("a", "b", "c") for c in self.causes)


def rise_on(view: View, morning: date) -> int | None:
    """Pain on waking on ``morning`` above the baseline of the day before, None when either is unknown."""
    response = Response.of(view)
    value, baseline = response.worst_value(morning), response.baseline(morning - DAY)
    return None if value is None or baseline is None else value - baseline


def _mornings(view: View, first: date) -> list[date]:
    return sorted(d for d in Response.of(view).wakes if first <= d <= view.today)


def _horizon(view: View) -> date:
    """The first date that counts: four weeks back, and nothing from before a step back."""
    first = view.today - timedelta(days=view.rules["flare.horizon_days"])
    back = [s.start for s in view.history.spans if s.step.direction == "back" and s.start <= view.today]
    if back:
        first = max(first, back[-1])
    return first


def _is_settled(view: View, morning: date) -> bool:
    """Back within a point of baseline, as told in time: what is recalled late comforts nobody."""
    response = Response.of(view)
    rise = rise_on(view, morning)
    if response.settled_value(morning) is None or rise is None or rise > view.rules["flare.settled_within"]:
        return False
    return not response.at_ceiling(response.baseline(morning - DAY), response.worst_value(morning))


def _raised_mornings(view: View, first: date) -> list[date]:
    least = view.rules["flare.morning_rise"]
    return [d for d in _mornings(view, first) if (rise_on(view, d) or 0) >= least]


def _run_of_mornings(view: View, raised: list[date]) -> bool:
    """True when raised mornings fill the asked number of calendar days running."""
    wanted = view.rules["flare.mornings"]
    days = set(raised)
    return any(all(d + timedelta(days=k) in days for k in range(wanted)) for d in raised)


def _session_causes(view: View) -> tuple[list[str], list[Judged], list[date]]:
    """Causes (a) to (c) with the flares and raised mornings they rest on; empty once settled."""
    rules, first = view.rules, _horizon(view)
    view.sure(first)
    known = _known_since(view, first)
    raised = _raised_mornings(view, first)
    causes: list[str] = []
    last = known[-rules["flare.last"] :]
    if len(last) == rules["flare.last"] and all(j.klass == FLARE for j in last):
        causes.append("a")
    if sum(j.klass == FLARE for j in _newest_few(view, known)) >= rules["flare.of"]:
        causes.append("b")
    if _run_of_mornings(view, raised):
        causes.append("c")
    flares = [j for j in known if j.klass == FLARE]
    if not causes or _has_settled(view, flares, raised):
        return [], [], []
    return causes, flares, raised


def _known_since(view: View, first: date) -> list[Judged]:
    """Sessions of a known class from ``first`` on, oldest first."""
    return [j for j in Response.of(view).all(view.today) if j.known and j.on >= first]


def _newest_few(view: View, known: list[Judged]) -> list[Judged]:
    """The newest sessions that cause (b) looks at."""
    recent = [j for j in known if (view.today - j.on).days <= view.rules["flare.within_days"]]
    return recent[-view.rules["flare.among"] :]


def _has_settled(view: View, flares: list[Judged], raised: list[date]) -> bool:
    """True after enough settled mornings since the last flare session or raised morning."""
    last = max([*(j.on for j in flares), *raised])
    calm = [d for d in _mornings(view, last + DAY) if _is_settled(view, d)]
    return len(calm) >= view.rules["flare.settled_mornings"]


def first_baseline(view: View, start: date | None) -> tuple[int, date] | None:
    """The first computable baseline from ``start`` on, and its date."""
    key = ("first baseline", start)
    memo = view.history.memo
    if key not in memo:
        memo[key] = _search_first_baseline(view, start)
    found = memo[key]
    return found if found and found[1] <= view.today else None


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


def extra_waking(view: View) -> tuple[int, int, int, int] | None:
    """(more nights, before, now, entry id) when night waking rose by the figure, until stale."""
    told = [
        m
        for m in view.since("measures", view.segment_start)
        if m.name == "night_waking" and not isinstance(m.value, Absence) and not m.repeated
    ]
    if len(told) < 2:
        return None
    before, now = told[-2], told[-1]
    stale = view.rules.measures["night_waking"].stale_days.whole
    more = int(now.value - before.value)
    if more < view.rules["flare.waking_more"] or (view.today - now.on).days > stale:
        return None
    return more, int(before.value), int(now.value), now.id


def newest_rise(view: View) -> int:
    """The newest known rise above baseline in points, at least 0."""
    for morning in reversed(_mornings(view, _horizon(view))):
        rise = rise_on(view, morning)
        if rise is not None:
            return max(0, rise)
    return 0


def flare_state(view: View) -> FlareState | None:
    """The flare reason on the view's date, None when nothing of it is true."""
    if view.span is None or view.closed:
        return None
    causes, flares, raised = _session_causes(view)
    crept, waking = creep(view), extra_waking(view)
    if crept:
        causes = [*causes, "d"]
    if waking:
        causes = [*causes, "e"]
    if not causes:
        return None
    severity = max(newest_rise(view), crept[0] if crept else 0, waking[0] if waking else 0)
    wakes = Response.of(view).wakes
    ids = [j.session.id for j in flares]
    ids += [w.entry_id for d in raised for w in wakes[d]]
    if waking:
        ids.append(waking[3])
    days = [*(j.on for j in flares), *raised]
    newest_day = max(days, default=view.today)
    sentence = _flare_sentence(view, causes, flares, raised, crept, waking)
    return FlareState(tuple(causes), severity, sentence, newest_day, tuple(dict.fromkeys(ids)))


def _flare_sentence(
    view: View,
    causes: list[str],
    flares: list[Judged],
    raised: list[date],
    crept: tuple[int, int, int, date] | None,
    waking: tuple[int, int, int, int] | None,
) -> str:
    response = Response.of(view)
    parts: list[str] = []
    if "a" in causes or "b" in causes:
        last = flares[-1]
        what = last.cause
        if last.rise is not None and last.cause.startswith("next morning"):
            what = f"next morning {last.morning}, baseline {last.baseline}"
        parts.append(f"{what}, twice" if "a" in causes else f"{_of_newest(view)}: {what}")
    elif "c" in causes:
        day = raised[-1]
        base = response.baseline(day - DAY)
        parts.append(f"morning pain {response.worst_value(day)}, baseline {base}, three days running")
    if crept:
        parts.append(f"morning pain has crept from {crept[1]} to {crept[2]} since {words_date(crept[3])}")
    if waking:
        parts.append(f"woken {waking[2]} nights a week, {waking[1]} before")
    raised_loads = loads_raised(view)
    if raised_loads:
        parts.append(raised_loads)
    return "; ".join(parts)


def _of_newest(view: View) -> str:
    """ "flare in 2 of the last 4 sessions", as cause (b) counts."""
    among = _newest_few(view, _known_since(view, _horizon(view)))
    return f"flare in {sum(j.klass == FLARE for j in among)} of the last {len(among)} sessions"


def loads_raised(view: View) -> str:
    """Which exercises went up on the newest date of such a change in the last two weeks, as words."""
    newer: dict[date, int] = {}
    last: dict[str, object] = {}
    for item in view.upto("programme"):
        key = item.exercise
        amount = item.band if item.load is None else item.load
        before = last.get(key)
        if before is not None and amount is not None and amount > before:  # type: ignore[operator]
            newer[item.on] = newer.get(item.on, 0) + 1
        last[key] = amount
    recent = [d for d in newer if (view.today - d).days <= view.rules["baseline.window_days"]]
    if not recent:
        return ""
    day = max(recent)
    count, ago = newer[day], (view.today - day).days
    loads = "two loads" if count == 2 else "one load" if count == 1 else f"{count} loads"
    return f"{loads} raised {ago} days ago" if ago != 1 else f"{loads} raised yesterday"
