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
from armrise.store.record.words import near_date, plain
from armrise.store.rules.pathway import Stage

MOVING = (
    (("P1",), "do not move the {side} shoulder, not even with help"),
    (("A1",), "do not join in when the {side} arm is moved for you"),
)
LIFTING = (("A2",), "do not lift the {side} arm by itself")
LOADING = (
    (("R1", "R2", "R3"), "no weights, no bands, no carrying, pushing or pulling with the {side} arm"),
    (("R3", "X1"), "no sport and no heavy or fast work with the {side} arm"),
)
LEANING = (
    (("W1",), "do not lean on the {side} hand"),
    (("W2",), "do not put your full weight on the {side} arm"),
)
"""What is barred, from the strictest on: of each kind the first that holds is said."""


def healing_lines(view: View) -> list[str]:
    """Everything tissue or surgeon does not allow the patient today; empty where no such limit holds."""
    if view.closed:
        return []
    lines: list[str] = []
    if _waiting_for_orders(view):
        lines.append("We are waiting for your surgeon's instructions; until they come, these limits hold.")
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
    return [f"Keep the sling on until {near_date(sling[0], view.today)}."]


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
    by_date: dict[date | None, list[str]] = {}
    for words, until in _barred(view):
        by_date.setdefault(until, []).append(words.format(side=view.record.side.lower()))
    lines: list[str] = []
    for until in sorted(by_date, key=lambda d: d or date.min):
        when = f", and not before {near_date(until, view.today)}" if until else ""
        lines.append(f"Until we tell you{when}: {'; '.join(by_date[until])}.")
    return lines


def _combined(view: View) -> str:
    told = "Do not take the arm out to the side and turn it backwards at once, as in throwing"
    stage = view.history.stage_on(view.today)
    return f"{told}, until {_combined_until(view, stage)}."


def _combined_until(view: View, stage: Stage | None) -> str:
    """Until when: the date of the figure where the stage has one and the injury date is known."""
    before = stage.combined_barred_before_day if stage and not stage.combined_barred else None
    onset = view.onset()
    if before is None or onset is None:
        return "we tell you"
    return near_date(onset.on + timedelta(days=before.whole), view.today)


def _ordered(view: View) -> list[str]:
    """Angles and weights of the surgeon's orders, the newest order of each; and that there is more."""
    orders = view.orders_on(view.today)
    lines: list[str] = []
    turn = _newest(orders, "external_rotation_limit")
    lift = _newest(orders, "elevation_limit")
    weight = _newest(orders, "lifting_limit")
    if turn and turn.external_rotation_limit is not None:
        lines.append(f"With the elbow at your side, {_turning(turn.external_rotation_limit)}.")
    if lift and lift.elevation_limit is not None:
        height = f"{lift.elevation_limit} degrees{', shoulder height' if lift.elevation_limit == 90 else ''}"
        lines.append(f"Raise the arm, or let it be raised, to {height} at most.")
    if weight and weight.lifting_limit is not None:
        most = f" heavier than {plain(weight.lifting_limit)} kg" if weight.lifting_limit else ""
        lines.append(f"Lift nothing{most} with the {view.record.side.lower()} arm.")
    if any(o.text for o in orders):
        lines.append("Your surgeon has added an instruction: we go through it with you.")
    return lines


def _turning(limit: int) -> str:
    if limit > 0:
        return f"turn the forearm out no further than {limit} degrees"
    if limit == 0:
        return "turn the forearm out no further than straight ahead"
    return f"keep the forearm turned in, {-limit} degrees short of straight ahead"


def _newest(orders: list[Orders], name: str) -> Orders | None:
    return newest([o for o in orders if getattr(o, name) is not None])
