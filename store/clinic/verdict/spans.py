"""Pain over several days without several values: good sessions stand in for the days between (ruling 95).

A criterion on pain "over d days" or "on n observations" is also met by one fresh value, where the sessions of
those days were good. Only on pathways whose file says ``span_by_run``.
"""

from __future__ import annotations

from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.runs import count_run, good_days
from armrise.store.clinic.verdict.results import PAIN
from armrise.store.record.words import words_date
from armrise.store.rules.pathway import Criterion, Stage


def by_good_sessions(view: View, criterion: Criterion) -> str:
    """The good sessions that stand in for more values of a pain criterion, in words; empty where none do.

    The criterion's newest value is taken to be fresh and within its bound.
    """
    low_pain = criterion.measure in PAIN and criterion.at_most is not None
    if not low_pain or view.stage is None or view.pathway is None or not view.pathway.span_by_run:
        return ""
    spans = [_span(view, asked) for asked in _sessions_asked(view, view.stage)]
    long_enough = [s for s in spans if s and (s[1] - s[0]).days >= criterion.apart_days]
    if len(long_enough) < len(spans):
        return ""
    first, last = long_enough[0]
    return f"good sessions from {words_date(first)} to {words_date(last)}"


def _sessions_asked(view: View, stage: Stage) -> list[Criterion]:
    """What the stage asks of good sessions; where it asks nothing, some good sessions of any kind."""
    asked = [c for each in stage.exit for c in (each, *each.parts) if c.kind == "sessions"]
    least = view.rules["span.good_least"]
    return asked or [Criterion(kind="sessions", text="", source="", status="", good=least)]


def _span(view: View, asked: Criterion) -> tuple[date, date] | None:
    """The days of the oldest and newest good session; None where the good sessions asked are not reached.

    Sessions from before a flare show nothing of the days since, so they are left out.
    """
    if count_run(view, asked).count < asked.good:
        return None
    days = good_days(view, asked, view.rules["span.window_days"])
    return (days[-1], days[0]) if days else None
