"""Range not measured (ruling 86): in stages that turn on passive range, nobody has measured it for long."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.turns import next_but_daily, next_placed
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.motion import PLANES, values
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.words import count_days


class Unmeasured(NamedTuple):
    """Days without a real value of passive range, since when that is too long, and the newest values."""

    days: int
    since: date
    evidence: tuple[int, ...]

    @property
    def sentence(self) -> str:
        """The reason in words."""
        return f"range not measured for {count_days(self.days)}"


def range_unmeasured(view: View) -> Unmeasured | None:
    """The reason on the view's date; None while passive range of any plane was measured lately."""
    counted = _counted(view)
    if counted is None or counted.since > view.today:
        return None
    return Unmeasured((view.today - counted.start).days, counted.since, tuple(m.id for m in counted.last))


class _Counted(NamedTuple):
    """From when days without a value are counted, the day on which they are too many, the newest values."""

    start: date
    since: date
    last: list[Measure]


def unmeasured_until(view: View) -> date:
    """The first day after the view's date on which :func:`range_unmeasured` may be found otherwise.

    A value measured puts it off: only what says from when values count brings it nearer.
    """
    counted = _counted(view)
    if counted and counted.since <= view.today:
        return next_but_daily(view)
    return min(next_placed(view, "onsets"), counted.since if counted else date.max)


def _counted(view: View) -> _Counted | None:
    stage, pathway = view.stage, view.pathway
    if view.closed or stage is None or pathway is None or stage.code not in pathway.measure_range:
        return None
    last = _last_measured(view)
    # Where tissue heals nothing is measured before the stage allows it, so the stage's first day counts.
    unseen = view.stage_start if pathway.clock else view.first_visit
    counts_from = last[0].on if last else unseen
    if counts_from is None:
        return None
    since = counts_from + timedelta(days=view.rules["range.intervals"] * stage.review.whole)
    return _Counted(counts_from, since, last)


def _last_measured(view: View) -> list[Measure]:
    """The values of the newest date with one, none from before the surgery or injury of the pathway."""
    onset = view.onset()
    starts = [day for day in (view.segment_start, onset.on if onset else None) if day]
    found = [m for plane in PLANES for m in values(view, plane) if not starts or m.on >= max(starts)]
    newest_day = max((m.on for m in found), default=None)
    return [m for m in found if m.on == newest_day]
