"""What a period told in one line adds to good sessions (ruling 73 with 94 and 95)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.classes import FLARE, IN_WORDS, INCOMPLETE, OVER, RAISED
from armrise.store.clinic.pain.periods import Period, heals, masked, periods
from armrise.store.clinic.pain.runs import COUNTS, END, SKIP, Observation
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.words import listed
from armrise.store.rules.criterion import Criterion


def as_told(view: View, criterion: Criterion) -> list[Observation]:
    """The periods told of the present stage as a criterion sees them, newest first."""
    oldest = view.today - timedelta(days=view.rules["summary.window_days"])
    first = max(oldest, view.stage_start or oldest)
    found: list[Observation] = []
    counted: list[Period] = []
    for period in reversed([p for p in periods(view) if p.told.on >= first]):
        weight, why = _weigh(view, criterion, period)
        if not weight:
            continue
        worth = 0
        if weight == COUNTS:
            before = _worth(view, counted)
            counted.append(period)
            worth = _worth(view, counted) - before
        missing = f"{listed(*period.missing)} of the weeks" if period.missing else ""
        days = max(1, days_here(view, period.told))
        found.append(Observation(period.told.on, weight, why, missing, worth, days))
    return found


def days_here(view: View, told: PeriodSummary) -> int:
    """How many days of a period lie in the present stage."""
    start = max(told.since, view.stage_start or told.since)
    return (told.on - start).days


def _weigh(view: View, criterion: Criterion, period: Period) -> tuple[str, str]:
    """(weight, why); no weight where too little of the period lies in the stage to say anything of it.

    Weeks are no single slip: what would be one of a session ends the reading here.
    """
    told, why = period.told, f"{IN_WORDS[period.klass]}, {period.words}: {period.cause}"
    if period.klass == FLARE:
        return END, why
    if days_here(view, told) < view.rules["summary.stage_days"]:
        return "", ""
    if period.klass in (OVER, RAISED):
        return END, why
    limit, worst = criterion.at_most, told.worst_during
    if limit is not None and worst is not None and worst > limit + view.rules["summary.worst_over"]:
        return END, f"worst pain during {worst}, {period.words}, needs {int(limit)} or less in a session"
    adds = (
        period.klass != INCOMPLETE
        and len(period.recorded) < view.rules["summary.recorded_most"]
        and not (heals(view, told) and masked(view, told))
        and _was_in_force(view, criterion, told)
    )
    return (COUNTS, "") if adds else (SKIP, "")


def _worth(view: View, good: Sequence[Period]) -> int:
    """How many good sessions these good periods, newest first, count as together: never more than a few."""
    rules = view.rules
    if not good:
        return 0
    if any(heals(view, period.told) for period in good):
        return rules["summary.counts_as"]
    if any(_is_long(view, period) for period in good):
        return rules["summary.long_counts_as"]
    most, least = rules["summary.window_days"], rules["summary.apart_least"]
    newest = good[0].told.on
    pair = any(least <= (newest - period.told.on).days <= most for period in good[1:])
    return rules["summary.two_count_as"] if pair else rules["summary.counts_as"]


def _is_long(view: View, period: Period) -> bool:
    """A period of enough days in which no recorded session was over by more than a point (ruling 95)."""
    over = view.rules["response.slip_over"]
    far = any(judged.over > over for judged in period.recorded)
    return period.told.days >= view.rules["summary.long_days"] and not far


# --- the exercise that was done -------------------------------------------------------------------------


def _was_in_force(view: View, criterion: Criterion, told: PeriodSummary) -> bool:
    """Whether an exercise of the class and dose a criterion names was in force in the last days."""
    if not criterion.load_class:
        return True
    first = told.on - timedelta(days=view.rules["summary.in_force_days"])
    versions: dict[str, list[ProgrammeItem]] = {}
    for item in view.since("programme", view.segment_start):
        if item.on <= told.on:
            versions.setdefault(item.exercise, []).append(item)
    return any(_fulfils(criterion, found, first) for found in versions.values())


def _fulfils(criterion: Criterion, versions: Sequence[ProgrammeItem], first: date) -> bool:
    before = [item for item in versions if item.on <= first]
    since = [*before[-1:], *(item for item in versions if item.on > first)]
    return bool(before) and all(
        item.stopped is None
        and item.load_class in criterion.load_class
        and (item.above_shoulder or not criterion.above_shoulder)
        and item.sets >= (criterion.sets or 0)
        and item.reps >= (criterion.reps or 0)
        for item in since
    )
