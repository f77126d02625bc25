"""Healing: when each stage may open, what is allowed on a date, and what broke a limit.

The surgeon's orders prevail. The limit of a date is the more restrictive of the orders and the pathway's
template, except where the newest order naming a stage gives it a date of its own. Feeling good opens nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, View, newest
from armrise.store.clinic.healing.other_clock import OtherClock, decided_on, other_clocks
from armrise.store.record.kinds.plan import Orders
from armrise.store.record.kinds.safety import Onset
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import words_date
from armrise.store.rules.pathway import Pathway, Stage

RESISTED = ("I2", "R1", "R2", "R3", "W1", "W2", "X1")
"""Barred until the date of an order "no resisted work until"."""
ACTIVE = ("A2", "I1", *RESISTED)
"""Barred until the date of an order "no active work until"."""


class Gate(NamedTuple):
    """When a stage may open. ``opens`` is None while the surgery or injury date is missing."""

    stage: str
    opens: date | None
    day: int | None
    words: str


def onset_word(pathway: Pathway | None) -> str:
    """ "surgery" or "injury", as the pathway counts; empty when it counts from neither."""
    if pathway is None or pathway.clock is None:
        return ""
    return "surgery" if pathway.clock == "surgery" else "injury"


def is_large(view: View, day: date) -> bool:
    """True once orders or a finding say large or massive tear, or poor tissue."""
    ordered = any(o.tear_size in ("large", "massive") or o.poor_tissue for o in view.orders_on(day))
    seen = [f for f in view.upto("findings") if f.name == "large tear or poor tissue" and f.on <= day]
    return ordered or (bool(seen) and seen[-1].answer == "yes")


def ordered_date(view: View, pathway: Pathway, stage: Stage, day: date) -> tuple[date, Orders] | None:
    """The date that the newest order naming this stage gives it, as ordered by ``day``."""
    number = pathway.index(stage.code) + 1
    dated = ((orders.stage_from(number), orders) for orders in reversed(view.orders_on(day)))
    return next(((opens, orders) for opens, orders in dated if opens is not None), None)


def gate(view: View, stage: Stage, day: date | None = None) -> Gate | None:
    """The healing gate of ``stage`` as it stood on ``day`` (default today); None when it has none.

    No stage opens before the ones before it, and an order that bars a kind of work until a date keeps shut,
    until that date, every stage that brings it.
    """
    when = day or view.today
    pathway = view.history.pathway_of(stage.code)
    if pathway is None:
        return None
    up_to = pathway.stages[: pathway.index(stage.code) + 1]
    if not view.upto("orders") and all(s.opens_day is None for s in up_to):
        return None
    own = _stage_gate(view, stage, when)
    shut = [g for s in up_to for g in (_stage_gate(view, s, when), _bar_gate(view, s, when)) if g]
    missing = [g for g in shut if g.opens is None]
    if missing:
        return own if own and own.opens is None else missing[-1]
    latest = max((g for g in shut if g.opens), key=lambda g: g.opens or date.min, default=None)
    if latest is None or (own and own.opens and latest.opens and own.opens >= latest.opens):
        return own
    if own is None and latest.opens and latest.opens <= when:
        return None
    return Gate(stage.code, latest.opens, latest.day, latest.words)


def _bar_gate(view: View, stage: Stage, when: date) -> Gate | None:
    """The date until which orders bar a kind of work that this stage brings."""
    barred = [(until, o) for classes, until, o in _bars(view, when) if set(classes) & set(stage.allowed)]
    if not barred:
        return None
    until, orders = max(barred, key=lambda b: b[0])
    return Gate(stage.code, until, None, f"surgeon's order of {words_date(orders.on)}")


def _stage_gate(view: View, stage: Stage, when: date) -> Gate | None:
    """The stage's own gate: by the newest order naming it, else by the template."""
    pathway = view.history.pathway_of(stage.code)
    if pathway is None:
        return None
    ordered = ordered_date(view, pathway, stage, when)
    if ordered:
        return Gate(stage.code, ordered[0], None, f"surgeon's order of {words_date(ordered[1].on)}")
    united = newest([c for c in view.upto("clearances") if c.by == "union" and c.on <= when])
    if stage.opens_day is None or (stage.opens_with_union and united and united.answer == "yes"):
        return None
    onset = view.onset_for(pathway, when)
    large = stage.opens_day_large is not None and is_large(view, when)
    days = stage.opens_day_large.whole if large and stage.opens_day_large else stage.opens_day.whole
    words = f"day {days} after {onset_word(pathway)}"
    return Gate(stage.code, onset.on + timedelta(days=days) if onset else None, days, words)


def date_stage(view: View, pathway: Pathway, day: date) -> Stage:
    """The stage that the gates alone would allow on ``day``; the first while the onset is missing."""
    reached = pathway.stages[0]
    for stage in pathway.stages[1:]:
        opening = _stage_gate(view, stage, day)
        if opening and (opening.opens is None or opening.opens > day):
            break
        reached = stage
    return reached


def guarded(pathway: Pathway | None) -> bool:
    """True for pathways with healing tissue, whose class limits are breaches rather than advice."""
    return pathway is not None and pathway.clock is not None


def operated_on(view: View, day: date) -> Onset | None:
    """Surgery recorded by ``day`` for a case still in a pathway that knows nothing of it, else None.

    Until somebody places the case after surgery, or decides that nothing was repaired, the limits after
    surgery hold all the same.
    """
    stage = view.history.stage_on(day)
    pathway = view.history.pathway_of(stage.code) if stage else None
    entered = view.history.in_pathway_since(day)
    if pathway is None or pathway.clock == "surgery" or entered is None:
        return None
    done = [o for o in view.upto("onsets") if o.what == "surgery" and entered <= o.on <= day]
    last: Onset | None = newest([o for o in done if not o.history])
    return None if last is None or decided_on(view, last, day) else last


def clocks_elsewhere(view: View, day: date) -> list[OtherClock]:
    """Onsets by ``day`` that another pathway counts from than the one the case is filed under."""
    return other_clocks(view, day, large=is_large(view, day))


def after_surgery(view: View) -> Pathway | None:
    """The pathway that counts from surgery."""
    return next((p for p in view.rules.pathways.values() if p.clock == "surgery"), None)


def allowed_on(view: View, day: date) -> tuple[str, ...] | None:
    """Load classes allowed on ``day``, the stricter of the stage and the date; None: no healing limit.

    What comes after ``day`` allows and forbids nothing on it, so every later view says the same.
    """
    key = ("allowed", *((limits_since(view, day),) if day <= view.today else (day, view.today)))
    return view.history.once(key, lambda: _allowed_on(view, day))


def limits_since(view: View, day: date) -> date:
    """The last day up to ``day`` on which what is allowed, ordered or barred can have changed: from then to
    ``day`` the limits are the same."""
    days = limit_turns(view)
    at = bisect_right(days, day)
    return days[at - 1] if at else date.min


def limit_turns(view: View) -> list[date]:
    """Every day on which limits can change, of the whole history, those to come too, in order."""
    return view.history.once("limit turns", lambda: sorted(set(_limit_turns(View(view.history, date.max)))))


LIMITS_REST_ON = ("steps", "onsets", "orders", "clearances", "findings", "decisions", "events")
"""What a limit of a date rests on."""


def _limit_turns(view: View) -> Iterator[date]:
    for name in LIMITS_REST_ON:
        yield from view.history.ordered(name)[1]
    for orders in view.upto("orders"):
        yield from order_days(orders)
    for begun in (*view.upto("onsets"), *view.upto("events")):
        for pathway in view.rules.pathways.values():
            yield from (begun.on + timedelta(days=days) for days in closed_days(pathway))


def closed_days(pathway: Pathway) -> Iterator[int]:
    """The days after the onset from which the template closes something no more."""
    for stage in pathway.stages:
        for figure in (stage.opens_day, stage.opens_day_large, stage.combined_barred_before_day):
            if figure is not None:
                yield figure.whole


def order_days(orders: Orders) -> Iterator[date]:
    """Every day that orders name, up to which or from which something holds."""
    stages = (orders.stage_from(number) for number in range(2, 6))
    named = (orders.sling_until, orders.no_active_until, orders.no_resisted_until, *stages)
    yield from (day for day in named if day is not None)


def _allowed_on(view: View, day: date) -> tuple[str, ...] | None:
    stage = view.history.stage_on(day)
    pathway = view.history.pathway_of(stage.code) if stage else None
    if stage is None or pathway is None:
        return None
    operated = after_surgery(view) if operated_on(view, day) else None
    held = [p for p in (pathway if guarded(pathway) else None, operated) if p is not None]
    by_date = [date_stage(view, each, day) for each in held]
    by_date += [_stage_elsewhere(view, other, day) for other in clocks_elsewhere(view, day)]
    if not by_date:
        return None
    classes: tuple[str, ...] = tuple(c for c in stage.allowed if all(c in s.allowed for s in by_date))
    for barred, until in order_bars(view, day):
        if day < until:
            classes = tuple(c for c in classes if c not in barred)
    return classes


def _stage_elsewhere(view: View, other: OtherClock, day: date) -> Stage:
    """The stage by date of a pathway the case is not filed under; orders name stages after surgery only."""
    if other.pathway.clock == "surgery":
        return date_stage(view, other.pathway, day)
    return other.stage(day, large=is_large(view, day))


def order_bars(view: View, day: date) -> list[tuple[tuple[str, ...], date]]:
    """Load classes barred by the orders in force on ``day``, with the date each bar ends."""
    return [(classes, until) for classes, until, _ in _bars(view, day)]


def _bars(view: View, day: date) -> list[tuple[tuple[str, ...], date, Orders]]:
    """Load classes barred, the date the bar ends, and the orders that say so."""
    fields = ((ACTIVE, "no_active_until"), (RESISTED, "no_resisted_until"))
    return [(classes, *order) for classes, field in fields if (order := view.last_order(field, day))]


def combined_barred(view: View, day: date) -> bool:
    """True when combined abduction and external rotation is barred on ``day``."""
    stage = view.history.stage_on(day)
    if stage is None:
        return False
    if stage.combined_barred:
        return True
    before = stage.combined_barred_before_day
    if before is None:
        return False
    onset = view.onset_for(view.history.pathway_of(stage.code), day)
    return onset is None or (day - onset.on).days < before.whole


def sling_undated(view: View, day: date) -> bool:
    """True where the sling is worn after surgery and nobody can say until when: no order, no surgery date.

    Without the date the first stage holds, and in it the sling stays on (ruling 92).
    """
    stage = view.history.stage_on(day)
    pathway = view.history.pathway_of(stage.code) if stage else None
    worn = pathway is not None and pathway.sling_until_day is not None
    return worn and sling_until(view, day) is None


def sling_until(view: View, day: date) -> tuple[date, str] | None:
    """(first day without the sling, by whom) as it stood on ``day``; after surgery only."""
    stage = view.history.stage_on(day)
    pathway = view.history.pathway_of(stage.code) if stage else None
    if pathway is None or pathway.sling_until_day is None:
        return None
    ordered = view.last_order("sling_until", day)
    if ordered:
        return ordered[0], f"surgeon's order of {words_date(ordered[1].on)}"
    onset = view.onset_for(pathway, day)
    if onset is None:
        return None
    return onset.on + timedelta(days=pathway.sling_until_day.whole) + DAY, "template"
