"""Good sessions of a criterion, recorded and as told, read back together (rulings 73 and 75)."""

from __future__ import annotations

from datetime import date
from itertools import takewhile

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.runs import COUNTS, END, Observation, Run, in_order, read_back, recorded
from armrise.store.clinic.pain.told_runs import as_told
from armrise.store.rules.criterion import Criterion


def count_run(view: View, criterion: Criterion) -> Run:
    """The good sessions of one criterion, read back from today.

    While tissue heals, what the recorded sessions refuse no period as told makes good: the safer reading.
    """
    told = as_told(view, criterion)
    heals = view.pathway is not None and view.pathway.clock is not None
    if told and heals:
        alone = read_back(view, recorded(view, criterion), (), criterion.good)
        if alone.broken:
            return alone
    return read_back(view, recorded(view, criterion), told, criterion.good)


def good_since_flare(view: View, criterion: Criterion, within_days: int) -> list[Observation]:
    """Good sessions and good periods of the last days, newest first, back to what ends a run."""
    both = in_order(recorded(view, criterion), as_told(view, criterion))
    calm = takewhile(lambda o: o.weight != END, both)
    recent = takewhile(lambda o: (view.today - o.on).days <= within_days, calm)
    return [seen for seen in recent if seen.weight == COUNTS]


def told_days(view: View, criterion: Criterion) -> list[date]:
    """The days on which periods were told that count as good for a criterion."""
    return [seen.on for seen in as_told(view, criterion) if seen.weight == COUNTS]
