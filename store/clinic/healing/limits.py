"""Today's limits in words: the first thing to read about a case."""

from __future__ import annotations

from datetime import timedelta

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.healing import (
    allowed_on,
    combined_barred,
    gate,
    guarded,
    onset_word,
    operated_on,
    ordered_date,
    sling_until,
)
from armrise.store.clinic.pain.response import Response
from armrise.store.record.kinds.programme import ISOMETRIC
from armrise.store.record.words import words_date
from armrise.store.rules.pathway import Pathway, Stage

NUMBERS = (
    ("external_rotation_limit", "external rotation at most", "degrees"),
    ("elevation_limit", "elevation at most", "degrees"),
    ("lifting_limit", "no lifting over", "kg"),
)
"""The limits of the orders that are numbers: field, words and unit."""


def limits_in_force(view: View) -> tuple[str, ...]:
    """Today's limits in words, the surgeon's orders first."""
    pathway, stage = view.pathway, view.stage
    if pathway is None or stage is None or view.closed:
        return ()
    lines: list[str] = []
    operated = operated_on(view, view.today)
    if operated:
        lines.append(
            f"SURGERY on {words_date(operated.on)}: place the case after surgery; its limits hold now"
        )
    if pathway.needs_orders and not view.orders_on(view.today):
        lines.append("ORDERS MISSING: template used because no surgeon's orders are recorded")
    lines += _order_lines(view)
    lines += _template_lines(view, pathway, stage)
    lim = stage.limits
    lines.append(
        f"pain: during at most {lim.during.whole}, later {lim.later.whole},"
        f" next morning {lim.rise.whole} above baseline"
    )
    return tuple(lines)


def morning_limit(view: View) -> int | None:
    """The most pain the stage allows on the next morning, 0 to 10; None without a stage or a baseline."""
    baseline = Response.of(view).baseline(view.today)
    if view.stage is None or view.closed or baseline is None:
        return None
    return min(10, baseline + view.stage.limits.rise.whole)


def precautions(view: View) -> tuple[str, ...]:
    """What the rule file says to mind in this stage, and in this pathway; none once a case is closed."""
    if view.pathway is None or view.closed:
        return ()
    return (*(view.stage.precautions if view.stage else ()), *view.pathway.cautions)


def _order_lines(view: View) -> list[str]:
    lines: list[str] = []
    for words, field in (
        ("no active movement until", "no_active_until"),
        ("no resisted work until", "no_resisted_until"),
    ):
        order = view.last_order(field, view.today)
        if order and order[0] > view.today:
            until, orders = order
            lines.append(f"{words} {words_date(until)} (surgeon's order of {words_date(orders.on)})")
    for field, words, unit in NUMBERS:
        if order := view.last_order(field, view.today):
            limit, orders = order
            lines.append(f"{words} {limit} {unit} (surgeon's order of {words_date(orders.on)})")
    vague = newest([o for o in view.orders_on(view.today) if o.text])
    if vague:
        lines.append(f"order of {words_date(vague.on)}: {vague.text}")
    return lines


def _template_lines(view: View, pathway: Pathway, stage: Stage) -> list[str]:
    lines: list[str] = []
    sling = sling_until(view, view.today)
    if sling and view.today < sling[0]:
        lines.append(f"sling on until {words_date(sling[0])} ({sling[1]})")
    allowed = allowed_on(view, view.today)
    if allowed is not None and guarded(pathway):
        barred = [w for w, group in _BARRED if not any(c in allowed for c in group)]
        if barred:
            lines.append("no " + ", no ".join(barred))
        if combined_barred(view, view.today):
            lines.append("no combined abduction and external rotation")
        following = view.next_stage
        opening = gate(view, following) if following else None
        if following and opening and opening.opens and opening.opens > view.today:
            lines.append(f"{following.code} opens {words_date(opening.opens)} ({opening.words})")
        elif following and opening and opening.opens is None:
            lines.append(f"{onset_word(pathway)} date missing: no stage opens")
        if following:
            lines += _differs(view, pathway, following)
    return lines


_BARRED = (
    ("passive movement", ("P1",)),
    ("assisted movement", ("A1",)),
    ("active lift", ("A2",)),
    ("isometric work", ISOMETRIC),
    ("resisted work", ("R1", "R2", "R3")),
    ("full weight through the arm", ("W2",)),
)


def _differs(view: View, pathway: Pathway, stage: Stage) -> list[str]:
    """The surgeon's date for the next stage where it is not the template's."""
    ordered = ordered_date(view, pathway, stage, view.today)
    onset = view.onset()
    if not ordered or onset is None or stage.opens_day is None:
        return []
    template = onset.on + timedelta(days=stage.opens_day.whole)
    if template == ordered[0]:
        return []
    return [f"surgeon's order, differs from template ({words_date(template)})"]
