"""Whether a simulated shoulder is truly ready: the exit criteria of its stage, read of the truth."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from itertools import pairwise

from armrise.store.rules.pathway import Criterion, Stage
from tests.clinic.build import rules
from tests.simulated.chart import DAY, Chart
from tests.simulated.truth import Shoulder


def truly_ready(chart: Chart, stage: Stage, entered: date, day: date) -> bool:
    """Every exit criterion true of the shoulder itself, minimum days and gate included, nothing dangerous."""
    shoulder = chart.shoulder
    calm = all(shoulder.flare(day - n * DAY) is None for n in range(8))
    allowed = opened(chart, stage, entered, day) and calm and not shoulder.endangered(day)
    return allowed and all(_truth(chart, stage, entered, c, day) for c in stage.exit)


def opened(chart: Chart, stage: Stage, entered: date, day: date) -> bool:
    """Minimum days and the gate of the next stage.

    Days of an earlier stay count after a step back of 14 days at most; where healing gates the stage they
    count from its opening day, with 14 in the present stay at least (ruling 87).
    """
    shoulder, stages = chart.shoulder, rules().pathways[stage.code[:2]].stages
    served = _days_in(chart, stage.code, entered, day)
    here = (day - entered).days
    if shoulder.onset and stage.opens_day is not None and here >= min(stage.minimum.whole, 14):
        served = max(served, (day - shoulder.onset).days - stage.opens_day.whole)
    place = [s.code for s in stages].index(stage.code)
    following = stages[place + 1] if place + 1 < len(stages) else None
    if served < stage.minimum.whole or not shoulder.onset or not following or not following.opens_day:
        return served >= stage.minimum.whole
    united = following.opens_with_union and shoulder.cleared("union", "movement", day)
    return united or (day - shoulder.onset).days >= following.opens_day.whole


def _days_in(chart: Chart, code: str, entered: date, day: date) -> int:
    """Days in a stage: of the present stay, and of those before it that a short step back parts from it."""
    served, back_in = (day - entered).days, entered
    steps = [s for s in chart.made.record().steps if s.on <= entered]
    for step, following in reversed(list(pairwise(steps))):
        if step.stage == code and following.direction == "back" and (back_in - following.on).days <= 14:
            served, back_in = served + (following.on - step.on).days, step.on
    return served


def _truth(chart: Chart, stage: Stage, entered: date, c: Criterion, day: date) -> bool:
    shoulder, limits = chart.shoulder, stage.limits
    level = shoulder.level(day)
    if c.kind == "measure":
        days = [day - timedelta(days=n * c.apart_days) for n in range(c.observations)]
        return all(d >= shoulder.first and _within(shoulder, c, d) for d in days)
    if c.kind == "sessions":
        during = limits.during.whole if c.at_most is None else min(limits.during.whole, int(c.at_most))
        enough = (day - entered).days >= 7 or c.load_class == ()
        return enough and round(level + 0.5) <= during and round(level + 0.3) <= limits.later.whole
    simple: dict[str, Callable[[], bool]] = {
        "during": lambda: round(level + 0.5) <= int(c.at_most or 0),
        "finding": lambda: shoulder.finding(c.finding or "", day) == (c.answer == "yes"),
        "clearance": lambda: shoulder.cleared(c.by or "", c.scope, day),
        "score": lambda: shoulder.score(day, 2, 9) >= float(c.at_least or 0),
        "improved": lambda: shoulder.progress(day) >= 0.4,
        "adherence": lambda: 100 * shoulder.keen >= float(c.at_least or 0),
        "any": lambda: any(_truth(chart, stage, entered, p, day) for p in c.parts),
        "all": lambda: all(_truth(chart, stage, entered, p, day) for p in c.parts),
        "screen": lambda: True,
        "no event": lambda: True,
        "no flare": lambda: all(shoulder.flare(day - n * DAY) is None for n in range(c.days or 0)),
    }
    return simple.get(c.kind, lambda: False)()


def _within(shoulder: Shoulder, c: Criterion, day: date) -> bool:
    value, whole = shoulder.value(c.measure or "", day), 1.0
    if c.of == "other side" and not (c.measure or "").endswith("strength"):
        whole = 100 / shoulder.other(c.measure or "")
    elif c.of not in (None, "other side"):
        whole = 100 / shoulder.value(c.of or "", day)
    low = c.at_least is None or value * whole >= float(c.at_least)
    return low and (c.at_most is None or round(value) <= float(c.at_most))
