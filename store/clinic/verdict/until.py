"""Until when a criterion, a gate and a refer rule say what they said.

Each names the first later day on which it may be otherwise, by what the record holds of days to come and what
time alone does. Where that is not known, it is tomorrow.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from armrise.store.clinic.case.staleness import fresh_days
from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.turns import PLACED, first_ahead, next_after, next_but_daily, next_of
from armrise.store.clinic.case.view import DAY, History, View, newest
from armrise.store.clinic.healing.healing import order_days
from armrise.store.clinic.healing.minimum import stepped_back_shortly
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.powers import LIFTS
from armrise.store.clinic.pain.runs import Run
from armrise.store.clinic.time.clocks import counted_days
from armrise.store.clinic.verdict.ahead import sore_days
from armrise.store.clinic.verdict.criteria import is_pain
from armrise.store.clinic.verdict.results import PAIN
from armrise.store.clinic.verdict.spans import sessions_asked
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.pathway import ReferRule

_OPENED_BY = (*PLACED, "holds", "onsets", "orders", "clearances", "findings", "events", "decisions")
"""The fields that say how long a stage lasts at least, and when the next opens."""
Days = Iterable[date]
"""Days on which time alone can change what is said; the view's date among them: it may be any."""


def criterion_until(view: View, criterion: Criterion, judged: CriterionResult) -> date:
    """The first day after the view's date on which the state of a criterion, as judged, may be another."""
    return min(next_but_daily(view), first_ahead(view, _days_of(view, criterion, judged)))


def days_and_gate_until(view: View, judged: Iterable[CriterionResult]) -> date:
    """The same of the minimum days of the stage and the gate of the next."""
    opening = [result.opens_on for result in judged if result.opens_on is not None]
    # After a short step back the days of all stays count together, and each day adds one.
    days = [*opening, view.today] if opening and stepped_back_shortly(view) else opening
    return min(next_of(view, _OPENED_BY), first_ahead(view, days))


def refer_until(view: View) -> date:
    """The first day after the view's date on which the refer rules of the pathway may say something else."""
    stage, pathway = view.stage, view.pathway
    here = pathway.refer if pathway and stage else ()
    asked = [one for one in here if not one.stages or (stage and stage.code in one.stages)]
    known = view.history.once
    asked = [one for one in asked if known(("may refer", id(one)), partial(_may_be_true, view, one))]
    if not asked:
        return next_of(view, PLACED)
    return min(
        next_but_daily(view), first_ahead(view, (day for rule in asked for day in _of_rule(view, rule)))
    )


def sessions_until(view: View, criterion: Criterion, judged: tuple[Truth, Run] | None = None) -> date:
    """The same of a criterion on good sessions: the next day on which sessions say something, or the first on
    which one that decided is too old; where it is not known which did, any."""
    if view.upto("medicines") or view.upto("summaries"):
        return view.today + DAY
    entry = next_of(view, _SESSIONS_READ)
    state, run = judged or (None, None)
    if state is Truth.MET and criterion.reached_once:
        return entry
    history, key = view.history, ("days of sessions", criterion.at_most)
    told = history.once(key, lambda: _days_of_sessions(history, criterion.at_most))
    return min(entry, next_after(view.today, told), _too_old(view, run.oldest if run else None))


def _too_old(view: View, oldest: date | None) -> date:
    """The first day on which a session of ``oldest``, or (None) any that counts yet, counts no more."""
    run, span = (view.rules[name] * DAY for name in ("response.run_window_days", "span.window_days"))
    if oldest is not None:
        return oldest + run + DAY
    sessions = view.history.ordered("sessions")[1]
    return min(_first_from(sessions, view.today - days, days + DAY) for days in (run, span))


_SESSIONS_READ = (*PLACED, "programme", "medicines", "summaries")


def _days_of_sessions(history: History, most: Decimal | None) -> list[date]:
    """The days on which sessions say something: that after each, and its own where pain was above a limit.

    Before the next morning is known, one within the limits is passed over.
    """
    sessions, mornings = history.ordered("sessions")[0], history.ordered("mornings")[1]
    loud = {s.on for s in sessions if most is not None and isinstance(s.during, int) and s.during > most}
    return sorted({*loud, *sore_days(history), *(s.on + DAY for s in sessions), *mornings})


def _first_from(dates: Sequence[date], first: date, more: timedelta) -> date:
    """So long after the first of ``dates`` from a day on; the end of time without one."""
    at = bisect_left(dates, first)
    return dates[at] + more if at < len(dates) else date.max


# --- criteria -----------------------------------------------------------------------------------------------


def _days_of(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    if judged.state is not Truth.NOT_MET and is_pain(criterion) and view.upto("medicines"):
        yield view.today  # what masks pain begins and ends on days of its own
    yield from _KINDS.get(criterion.kind, _any_day)(view, criterion, judged)


def _any_day(view: View, criterion: Criterion, judged: CriterionResult) -> Days:
    return [view.today]


def _entries_alone(view: View, criterion: Criterion, judged: CriterionResult) -> Days:
    return []


def _measured(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    """The day its newest value is stale; any where sessions may stand in for more values."""
    last = newest(motion.values(view, criterion.measure or ""))
    if last is not None:
        yield last.on + (fresh_days(view, last.name) + 1) * DAY
    several = criterion.observations > 1 or criterion.apart_days > 0
    spans = several and view.pathway is not None and view.pathway.span_by_run
    spans = spans and judged.state is not Truth.NOT_MET
    if spans and view.stage and criterion.measure in PAIN and criterion.at_most is not None:
        yield from (sessions_until(view, asked) for asked in sessions_asked(view, view.stage))


def _during(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    """The days of sessions, and those on which they are stale."""
    yield from view.history.ordered("sessions")[1]
    yield from (on + (fresh_days(view, PAIN[0]) + 1) * DAY for on in view.history.ordered("sessions")[1])


def _found(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    """The days its newest answer is too old."""
    last = view.yes_or_no(criterion.finding or "")
    if last is not None:
        stale = view.rules.finding_stale_days.get(last.name)
        yield from (
            last.on + (days + 1) * DAY for days in (stale.whole if stale else 0, criterion.fresh_days or 0)
        )


def _scored(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    """The day on which each score, of whatever instrument, is too old."""
    for spec in view.instruments.values():
        scores = (score.on for score in view.upto("scores") if score.instrument == spec.key)
        yield from (on + (spec.stale_days.whole + 1) * DAY for on in scores)


def _ordered(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    """The days that the orders name."""
    return (day for orders in view.orders_on(view.today) for day in order_days(orders))


def _joined(view: View, criterion: Criterion, judged: CriterionResult) -> Iterator[date]:
    for part, result in zip(criterion.parts, judged.parts, strict=True):
        yield from _days_of(view, part, result)


_KINDS: dict[str, Callable[[View, Criterion, CriterionResult], Days]] = {
    "measure": _measured,
    "plateau": _measured,
    "during": _during,
    "finding": _found,
    "clearance": _entries_alone,
    "order date": _ordered,
    "score": _scored,
    "improved": _scored,
    "any": _joined,
    "all": _joined,
}
"""Of the others any day can be one: they read sessions, or whether anybody was asked lately."""


# --- refer rules --------------------------------------------------------------------------------------------


def _may_be_true(view: View, rule: ReferRule) -> bool:
    """Whether the record ever holds what a rule asks for; of a plateau that is not looked into."""
    if rule.measure:
        return True
    said = {(f.name, f.answer) for f in view.history.ordered("findings")[0]}
    least, measures = rule.lift_below or 0, view.history.ordered("measures")[0]
    low = any(m.name in LIFTS and m.real and motion.degrees(m) < least for m in measures)
    return low or not said.isdisjoint(rule.findings)


def _of_rule(view: View, rule: ReferRule) -> Iterator[date]:
    """The days on which a rule may begin or end to be true without an entry."""
    if rule.measure:
        yield from _of_plateau(view, rule, rule.measure)
    elif rule.from_day is not None and (onset := view.onset()):
        yield onset.on + timedelta(days=rule.from_day)


def _of_plateau(view: View, rule: ReferRule, measure: str) -> Iterator[date]:
    """The first day past the stall, the days on which values fall out of the window, that of a stale one."""
    days, found = counted_days(view), motion.values(view, measure)
    if view.stage is not None and days is not None and days <= view.stage.stall.whole:
        yield view.today + timedelta(days=view.stage.stall.whole + 1 - days)
    yield from (one.on + timedelta(days=rule.over_days or 0) for one in found)
    if found:
        yield found[-1].on + (fresh_days(view, measure) + 1) * DAY
