"""Since when a reason is true, and since when it is more than was answered: from one turn of it to the next.

Everything here looks at other dates with what is known now.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache

from armrise.store.clinic.case.turns import Turns, both, true_since
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.standing.rule import LOOK_BACK, Found
from armrise.store.clinic.time import clocks
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.head import Entry


def hidden(view: View, code: str) -> bool:
    """True for codes this case cannot carry on the view's date: on hold, closed, waiting."""
    rule, closed = REASONS[code], view.closed
    if closed:
        return not rule.of_closed or closed.outcome == "died"
    if view.waiting:
        return not rule.of_waiting
    return rule.hold_hides and clocks.hold_now(view) is not None


def shown(view: View) -> list[str]:
    """The codes that this case can carry on the view's date, by rank."""
    ranks, closed = view.rules.ranks, view.closed
    if closed:
        return [code for code in ranks if REASONS[code].of_closed and closed.outcome != "died"]
    if view.waiting:
        return [code for code in ranks if REASONS[code].of_waiting]
    held = clocks.hold_now(view) is not None
    return [code for code in ranks if not (held and REASONS[code].hold_hides)]


def first_day(view: View, code: str) -> date:
    """First day of the unbroken stretch ending today on which the condition has been true."""
    rule = REASONS[code]

    def true(looking: View) -> bool:
        if rule.reads_sessions:
            looking.sure(looking.today - LOOK_BACK)
        return not hidden(looking, code) and rule.true_on(looking)

    turning = rule.turned or rule.turns
    turning = _with_holds(turning) if turning and rule.hold_hides else turning
    return true_since(view, turning, earliest(view), true)


@cache
def _with_holds(turning: Turns) -> Turns:
    return both(turning, clocks.HOLD_TURNS)


def earliest(view: View) -> date:
    """The day of the oldest entry, or of registration."""

    def oldest() -> date:
        dated = (view.history.ordered(name)[1] for name in FIELD_OF_KIND.values())
        return min([*(dates[0] for dates in dated if dates), view.record.registered_on])

    return view.history.once("earliest", oldest)


# --- more than was answered -------------------------------------------------------------------------------


def spoke_on(view: View, code: str, newer: Sequence[Entry]) -> date:
    """The first day on which one of the newer entries was part of the reason."""
    ids, start = {e.id for e in newer}, min(e.on for e in newer)
    looks = _looks(view, code, start)
    return next((day for day, seen in looks if seen and not ids.isdisjoint(seen.evidence)), view.today)


def grew_on(view: View, code: str, severity: int, start: date) -> date:
    """The first day from ``start`` on on which the reason was larger than ``severity``."""
    looks = _looks(view, code, start)
    return next((day for day, seen in looks if seen and seen.severity > severity), view.today)


def _looks(view: View, code: str, start: date) -> Iterator[tuple[date, Found | None]]:
    """The reason on ``start``, and on each day before today on which it can have become another one."""
    rule, day = REASONS[code], start
    while day < view.today:
        looking = view.at(day)
        yield day, rule.condition(looking)
        day = rule.turns.following(looking) if rule.turns else day + DAY
