"""Pain over several days without several values: good sessions stand in for the days between (ruling 95).

A criterion on pain "over d days" or "on n observations" is also met by one fresh value, where the sessions of
those days were good. Only on pathways whose file says ``span_by_run``.
"""

from __future__ import annotations

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.good_sessions import count_run, good_since_flare
from armrise.store.clinic.verdict.results import PAIN
from armrise.store.record.words import words_date
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.pathway import Stage


def by_good_sessions(view: View, criterion: Criterion) -> str:
    """The good sessions that stand in for more values of a pain criterion, in words; empty where none do.

    The criterion's newest value is taken to be fresh and within its bound.
    """
    low_pain = criterion.measure in PAIN and criterion.at_most is not None
    if not low_pain or view.stage is None or view.pathway is None or not view.pathway.span_by_run:
        return ""
    spans = [_span(view, asked, criterion.apart_days) for asked in sessions_asked(view, view.stage)]
    return spans[0] if all(spans) else ""


def sessions_asked(view: View, stage: Stage) -> list[Criterion]:
    """What the stage asks of good sessions; where it asks nothing, some good sessions of any kind."""
    asked = [c for each in stage.exit for c in (each, *each.parts) if c.kind == "sessions"]
    return asked or [view.history.once("some good sessions", lambda: _some(view.rules["span.good_least"]))]


def _some(good: int) -> Criterion:
    return Criterion(kind="sessions", text="", source="", status="", good=good)


def _span(view: View, asked: Criterion, days: int) -> str:
    """The good sessions, or the good period, that span so many days, in words; empty where none does.

    So it is too where the good sessions asked are not reached. What was good before a flare shows nothing of
    the days since, so it is left out.
    """
    if count_run(view, asked).count < asked.good:
        return ""
    good = good_since_flare(view, asked, view.rules["span.window_days"])
    recorded = [seen.on for seen in good if not seen.told]
    if recorded and (recorded[0] - recorded[-1]).days >= days:
        return f"good sessions from {words_date(recorded[-1])} to {words_date(recorded[0])}"
    long = next((seen for seen in good if seen.period >= max(days, 1)), None)
    return f"good for {long.period} days up to {words_date(long.on)}, as told" if long else ""
