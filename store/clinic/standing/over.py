"""Over the limit in nearly every session (ruling 77): a matter of dose, told before it is a flare."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import turns
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.classes import OVER
from armrise.store.clinic.pain.response import Judged, Response
from armrise.store.clinic.pain.sustained import told_within
from armrise.store.clinic.programme.less import arc_cut
from armrise.store.clinic.programme.parts import is_raised, same_dose
from armrise.store.clinic.verdict.ahead import Spans, near, sore_days
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import ProgrammeItem

ABOUT = "over the limit"

OVER_TURNS = turns(
    *("sessions", "mornings", "programme", "referrals", "decisions"),
    days=lambda view: [view.today] if told_within(view, view.rules["over.within_days"] + 1) else [],
)
"""When :func:`over_the_limit` can turn: on any day while sessions count, then not at all."""


def over_until(view: View) -> date:
    """The first day after the view's date on which :func:`over_the_limit` may be found otherwise."""
    if view.record.known_from is not None or over_the_limit(view):
        return view.today + DAY
    few, days = view.rules["over.of"], view.rules["over.within_days"]
    spans = view.history.once("days over", lambda: Spans(near(sore_days(view.history), few, days)))
    return spans.after(view.today)


class OverTheLimit(NamedTuple):
    """How many of the newest sessions were over the limit, in words, and which."""

    severity: int
    sentence: str
    evidence: tuple[int, ...]


@once_a_view
def over_the_limit(view: View) -> OverTheLimit | None:
    """The reason on the view's date: most of the newest sessions over, and nothing changed or said since."""
    if view.closed or view.span is None:
        return None
    newest = _newest_known(view)
    over = [j for j in newest if j.klass == OVER]
    if len(over) < view.rules["over.of"] or _changed_since(view, over[0]) or _spoken_of(view):
        return None
    words = f"over the limit in {len(over)} of {len(newest)} sessions"
    return OverTheLimit(len(over), words, tuple(j.session.id for j in over))


def _newest_known(view: View) -> list[Judged]:
    first = view.today - timedelta(days=view.rules["over.within_days"])
    start = max(first, view.segment_start or first)
    known = [j for j in Response.of(view).between(start, view.today) if j.known]
    return known[-view.rules["over.among"] :]


def _changed_since(view: View, first: Judged) -> bool:
    """Whether a change that asks for something else, and not for more, was accepted since a session."""
    before: dict[str, ProgrammeItem] = {}
    for item in view.upto("programme"):
        was = before.get(item.exercise)
        before[item.exercise] = item
        if was is not None and view.answers(item, first.session) and _is_other(view, was, item):
            return True
    return False


def _is_other(view: View, was: ProgrammeItem, item: ProgrammeItem) -> bool:
    if item.stopped is not None:
        return was.stopped is None
    seldomer = item.per_week is not None and item.per_week < (was.per_week or 0)
    # Where no arc is set, the same version once more may be a smaller arc, or nothing: the reason speaks on.
    smaller = item.arc_to is not None and arc_cut(was, item)
    other = seldomer or not same_dose(was, item) or smaller
    return was.stopped is None and other and not is_raised(was, item, view.rules.class_order)


def _spoken_of(view: View) -> bool:
    """Whether a decision, a referral or a visit with a decision was about it in the last weeks."""
    first = view.today - timedelta(days=view.rules["over.answer_days"] - 1)
    entries: list[Entry] = [
        *(e for name in ("referrals", "decisions") for e in view.since(name, first) if e.about == ABOUT),
        *(v for v in view.since("visits", first) if v.decision and v.answers == ABOUT),
    ]
    return bool(entries)
