"""How long a value counts: at least until the next review is due and over, and never for ever (ruling 87)."""

from __future__ import annotations

from datetime import date

from armrise.store.clinic.case.view import View


def fresh_days(view: View, measure: str) -> int:
    """Days for which a value of ``measure`` counts in the present stage.

    The days of its rule, or the stage's review interval and some more where that is longer, up to the most.
    """
    spec = view.rules.measures[measure]
    days = spec.stale_days.whole
    if spec.stale_extra is not None and view.stage is not None:
        days = max(days, view.stage.review.whole + spec.stale_extra)
    return days if spec.stale_cap is None else min(days, spec.stale_cap)


def stale(view: View, measure: str, on: date) -> bool:
    """Whether a value of ``measure`` dated ``on`` has gone stale by the view's date."""
    return (view.today - on).days > fresh_days(view, measure)
