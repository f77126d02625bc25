"""Healing limits in words for the patient: sling, movement, load, angles, each with its date."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.healing import (
    after_surgery,
    allowed_on,
    combined_barred,
    gate,
    operated_on,
    order_bars,
    sling_until,
)
from armrise.store.record.kinds.plan import Orders
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules.words.patient import PatientWords

MOVING = ((("P1",), "not_moved"), (("A1",), "not_joined_in"))
LIFTING = (("A2",), "not_lifted")
LOADING = ((("R1", "R2", "R3"), "no_load"), (("R3", "X1"), "no_sport"))
LEANING = ((("W1",), "not_leant_on"), (("W2",), "not_full_weight"))
"""What is barred, from the strictest on, with its words: of each kind the first that holds is said."""
SHOULDER_HEIGHT = 90
"""Degrees of lift: the shape of a body, no clinical number."""


def healing_lines(view: View) -> list[str]:
    """Everything tissue or surgeon does not allow the patient today; empty where no such limit holds."""
    if view.closed:
        return []
    lines: list[str] = []
    if _waiting_for_orders(view):
        lines.append(view.rules.words.say("limits.waiting_for_orders"))
    lines += _sling(view)
    lines += _barred_lines(view)
    if combined_barred(view, view.today):
        lines.append(_combined(view))
    return [*lines, *_ordered(view)]


def _waiting_for_orders(view: View) -> bool:
    after = after_surgery(view) if operated_on(view, view.today) else view.pathway
    return bool(after and after.needs_orders) and not view.orders_on(view.today)


def _sling(view: View) -> list[str]:
    sling = sling_until(view, view.today)
    if not sling or view.today >= sling[0]:
        return []
    words = view.rules.words
    return [words.say("limits.sling", date=words.date(sling[0], view.today))]


def _barred(view: View) -> list[tuple[str, date | None]]:
    """What is barred today, in words, each with the first date it could open (None: when we say so)."""
    allowed = _allowed(view)
    said: list[tuple[tuple[str, ...], str]] = []
    for kind in (MOVING, (LIFTING,), LOADING, LEANING):
        said += [group for group in kind if not any(c in allowed for c in group[0])][:1]
    return [(words, _opens(view, classes)) for classes, words in said]


def _allowed(view: View) -> tuple[str, ...]:
    """Load classes allowed today; where no tissue heals, all but those an order bars."""
    allowed = allowed_on(view, view.today)
    if allowed is not None:
        return allowed
    bars = [classes for classes, until in order_bars(view, view.today) if view.today < until]
    return tuple(c for c in LOAD_CLASSES if not any(c in classes for classes in bars))


def _opens(view: View, classes: tuple[str, ...]) -> date | None:
    """The first date on which a stage that allows one of ``classes`` may open and no order bars it.

    None when that date is unknown or past: then only we can say.
    """
    pathway = after_surgery(view) if operated_on(view, view.today) else view.pathway
    stage = next((s for s in pathway.stages if set(classes) & set(s.allowed)), None) if pathway else None
    opening = gate(view, stage) if stage else None
    if opening and opening.opens is None:
        return None
    dates = [until for barred, until in order_bars(view, view.today) if set(classes) <= set(barred)]
    dates += [opening.opens] if opening and opening.opens else []
    later = max(dates, default=None)
    return later if later and later > view.today else None


def _barred_lines(view: View) -> list[str]:
    """What is barred, together where the date is the same, the nearest date first: a date opens nothing."""
    words, by_date = view.rules.words, dict[date | None, list[str]]()
    for name, until in _barred(view):
        by_date.setdefault(until, []).append(words.sided(f"limits.{name}", view.record.side))
    lines: list[str] = []
    for until in sorted(by_date, key=lambda d: d or date.min):
        limits = words.joined(*by_date[until])
        if until is None:
            lines.append(words.say("limits.until_told", limits=limits))
        else:
            when = words.date(until, view.today)
            lines.append(words.say("limits.until_told_and", date=when, limits=limits))
    return lines


def _combined(view: View) -> str:
    words, until = view.rules.words, _combined_until(view)
    if until is None:
        return words.say("limits.combined_until_told")
    return words.say("limits.combined_until", date=words.date(until, view.today))


def _combined_until(view: View) -> date | None:
    """Until when: the date of the figure where the stage has one and the injury date is known."""
    stage = view.history.stage_on(view.today)
    before = stage.combined_barred_before_day if stage and not stage.combined_barred else None
    onset = view.onset()
    if before is None or onset is None:
        return None
    return onset.on + timedelta(days=before.whole)


def _ordered(view: View) -> list[str]:
    """Angles and weights of the surgeon's orders, the newest order of each; and that there is more."""
    orders, words = view.orders_on(view.today), view.rules.words
    lines: list[str] = []
    turn = _newest(orders, "external_rotation_limit")
    lift = _newest(orders, "elevation_limit")
    weight = _newest(orders, "lifting_limit")
    if turn and turn.external_rotation_limit is not None:
        lines.append(_turning(turn.external_rotation_limit, words))
    if lift and lift.elevation_limit is not None:
        height = "_shoulder_height" if lift.elevation_limit == SHOULDER_HEIGHT else ""
        lines.append(words.say(f"limits.raise{height}", degrees=lift.elevation_limit))
    if weight and weight.lifting_limit is not None:
        most, side = weight.lifting_limit, view.record.side
        heavier = words.sided("limits.lift_nothing_heavier", side, kilograms=words.number(most))
        lines.append(heavier if most else words.sided("limits.lift_nothing", side))
    if any(o.text for o in orders):
        lines.append(words.say("limits.more_from_surgeon"))
    return lines


def _turning(limit: int, words: PatientWords) -> str:
    if limit == 0:
        return words.say("limits.turn_out_ahead")
    return words.say("limits.turn_out" if limit > 0 else "limits.turn_out_short", degrees=abs(limit))


def _newest(orders: list[Orders], name: str) -> Orders | None:
    return newest([o for o in orders if getattr(o, name) is not None])
