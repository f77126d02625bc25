"""Worse by score, or not responding at the checkpoint: when it is true, and since when.

A change counts beyond the error of measuring (practice note 4.13); response is judged once, at the pathway's
checkpoint. A visit that decides ends both, where it could know of the scores.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.case.evidence import together
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.turns import Turns
from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.scores.outcome import (
    GOAL_MET,
    Change,
    change,
    checkpoint_day,
    judged_instruments,
    judged_on,
    responded,
    told_instruments,
)
from armrise.store.clinic.scores.scale import direction
from armrise.store.record.kinds.care import Visit
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import plain
from armrise.store.rules.figure import MEMORY, Figure
from armrise.store.rules.measure import InstrumentSpec


class Worse(NamedTuple):
    """WRS: severity 2 worse by the detectable change, 1 no response at the checkpoint."""

    severity: int
    sentence: str
    since: date
    evidence: tuple[int, ...]


@once_a_view
def worse(view: View) -> Worse | None:
    """The reason "worse, or not responding" on the view's date, None when neither holds."""
    if view.span is None or view.closed:
        return None
    return together([*_got_worse(view), *_no_response(view)])


def _true_now(view: View) -> bool:
    """Whether it is true, asked for neither words nor entries."""
    if view.span is None or view.closed:
        return False
    return any(_beyond_error(view)) or _unanswered(view) is not None


def _deciding(history: History) -> tuple[list[Visit], list[date]]:
    found = [visit for visit in history.ordered("visits")[0] if visit.decision]
    return found, [visit.on for visit in found]


def _decided(view: View, since: date, ids: tuple[int, ...]) -> bool:
    """True when a decision visit came after the scores and could know of them."""
    visits, dates = view.history.once("visits that decide", lambda: _deciding(view.history))
    after = visits[bisect_left(dates, since) : bisect_right(dates, view.today)]
    if not after:
        return False
    by_id = view.history.once("scores by id", lambda: {s.id: s for s in view.history.ordered("scores")[0]})
    scores = [by_id[one] for one in ids]
    known, sees = max((s.recorded_at for s in scores), default=None), view.record.could_see
    return any(
        (known is None or v.recorded_at >= known) and all(sees(v.id, s.id) for s in scores) for v in after
    )


def _beyond_error(view: View) -> Iterator[tuple[InstrumentSpec, Decimal, Change, Decimal]]:
    """The scores that lost more than their error of measuring, undecided: that error, and what was lost."""
    for spec in told_instruments(view):
        moved = change(view, spec.key) if spec.detectable else None
        if moved is None or spec.detectable is None:
            continue
        error, lost = spec.detectable.value, max(-moved.toward_better, moved.below_best)
        if lost >= error and not _decided(view, moved.latest_on, moved.ids):
            yield spec, error, moved, lost


def _got_worse(view: View) -> Iterator[Worse]:
    for spec, error, moved, lost in _beyond_error(view):
        best = moved.latest + moved.below_best * (-1 if spec.lower_is_better else 1)
        start = moved.first if -moved.toward_better >= lost else best
        mark = f", {MEMORY}" if spec.detectable and spec.detectable.mark else ""
        words = (
            f"{spec.key} {plain(start)} to {plain(moved.latest)} ({direction(spec)}),"
            f" worse by more than error ({plain(error)}{mark})"
        )
        yield Worse(2, words, moved.latest_on, moved.ids)


def not_read_for_worse(view: View) -> list[str]:
    """The scores told twice whose measurement error is not known: no change is beyond it, in words."""
    unknown = [s.key for s in judged_instruments(view) if s.detectable is None and change(view, s.key)]
    return [f"{key}: measurement error not known, so it is not read for worse" for key in unknown]


def _unanswered(view: View) -> tuple[date, list[tuple[Change, Figure]], tuple[int, ...]] | None:
    """No response at the checkpoint, undecided: the day it was judged, each change with what it needs, and
    the scores."""
    judged = judged_on(view)
    if judged is None:
        return None
    fresh = timedelta(days=view.rules["outcome.fresh_days"])
    if responded(view, judged - fresh) is not Truth.NOT_MET:
        return None
    found: list[tuple[Change, Figure]] = []
    for spec in told_instruments(view):
        moved = change(view, spec.key)
        if moved and spec.response:
            found.append((moved, spec.response))
    ids = tuple(one for moved, _ in found for one in moved.ids)
    return None if _decided(view, judged, ids) else (judged, found, ids)


def _no_response(view: View) -> Iterator[Worse]:
    unanswered = _unanswered(view)
    if unanswered is None:
        return
    judged, found, ids = unanswered
    parts = (
        f"{moved.instrument} {plain(moved.first)} to {plain(moved.latest)},"
        f" change {plain(moved.toward_better)}, needs {plain(needed.value)}{needed.mark}"
        for moved, needed in found
    )
    day = view.days_since(view.first_visit) or 0
    yield Worse(1, f"day {day}, {'; '.join(parts)}", judged, ids)


def _days_of_worse(view: View) -> list[date]:
    """The day response is judged, and those of the visits and findings that bear on it."""
    day = checkpoint_day(view)
    bearing = view.history.once("bearing on worse", lambda: _bearing(view.history))
    return [*bearing, day] if day else bearing


def _bearing(history: History) -> list[date]:
    """Visits that decide, the first of each stay and episode, and the goal said to be met."""
    visits, seen = history.ordered("visits")
    begun = [date.min, *(on for name in ("steps", "reopenings") for on in history.ordered(name)[1])]
    first = (bisect_left(seen, day) for day in begun)
    found = {visit.on for visit in visits if visit.decision}
    found |= {seen[at] for at in first if at < len(seen)}
    return sorted(found | {f.on for f in history.ordered("findings")[0] if f.name == GOAL_MET})


WORSE_TURNS = Turns(("steps", "discharges", "reopenings", "scores"), _days_of_worse)
"""When :func:`worse` can turn. Most visits and findings bear on nothing of it."""


def is_worse(view: View) -> bool:
    """Whether it is true, asked once from one turn of it to the next."""
    key = ("is worse", WORSE_TURNS.newest(view))
    return view.history.once(key, lambda: _true_now(view))
