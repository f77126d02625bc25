"""Outcome scores for an audit: who has one at the beginning, at the end, and both; and what came of it.

Only a pair says anything about change. Whoever lacks one is counted as lacking it, never left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.audit.facts import Period, Scored, Where
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.change import score_change
from armrise.store.record.kinds.measured import Score


def scored(view: View, period: Period) -> Iterator[Scored]:
    """One fact for each episode that ended in the period, and one for an episode going on at its end."""
    for discharge in view.since("discharges", period.first):
        if discharge.on in period:
            yield _episode(view.at(discharge.on), discharge.on, ended=True)
    if not view.closed and not view.waiting:
        yield _episode(view, view.today, ended=False)


def _episode(view: View, end: date, *, ended: bool) -> Scored:
    """The scores of the episode, or of its part since surgery, up to ``end``."""
    pathway = view.pathway
    here = Where(case=view.record.code, pathway=pathway.code if pathway else view.record.pathway)
    since = end - timedelta(days=view.rules["outcome.fresh_days"]) if ended else None
    firsts, lasts = _first_totals(view), _last_totals(view, since)
    shared = [name for name in _in_order(view) if name in firsts and name in lasts]
    pairs = [name for name in shared if firsts[name].id != lasts[name].id]
    if not pairs:
        return Scored(**here, ended=ended, baseline=bool(firsts), newest=_newest(firsts, lasts))
    name = pairs[0]
    change = score_change(view.instruments[name], firsts[name], lasts[name])
    return Scored(
        **here,
        ended=ended,
        baseline=True,
        newest=True,
        instrument=name,
        not_comparable=bool(change.not_comparable),
        toward_better=change.toward_better,
        response_needed=change.response_needed,
        beyond_error=change.beyond_error,
    )


def _newest(firsts: dict[str, Score], lasts: dict[str, Score]) -> bool:
    """Whether there is a total at the end that is not the first one itself."""
    first_ids = {s.id for s in firsts.values()}
    return any(s.id not in first_ids for s in lasts.values())


def _in_order(view: View) -> list[str]:
    """Region scores, the pathway's own first."""
    names = sorted(key for key, spec in view.instruments.items() if spec.region)
    own = view.pathway.score if view.pathway else ""
    return [n for n in names if n == own] + [n for n in names if n != own]


def _totals(view: View) -> list[Score]:
    told: list[Score] = view.since("scores", view.segment_start)
    region = [s for s in told if view.instruments[s.instrument].region]
    return [s for s in region if isinstance(s.total, Decimal)]


def _first_totals(view: View) -> dict[str, Score]:
    """The first total of each region score, if it came near the first visit."""
    first = view.first_visit
    if first is None:
        return {}
    until = first + timedelta(days=view.rules["audit.baseline_days"])
    found: dict[str, Score] = {}
    for score in _totals(view):
        if score.on <= until:
            found.setdefault(score.instrument, score)
    return found


def _last_totals(view: View, since: date | None) -> dict[str, Score]:
    """The newest total of each region score; at a discharge only if it is fresh."""
    return {s.instrument: s for s in _totals(view) if since is None or s.on >= since}
