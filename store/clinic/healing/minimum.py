"""Minimum days in a stage. Where tissue heals they count from the day healing opened the stage (ruling 87).

So a case that was entered late does not wait twice; some days in the stage itself it waits all the same.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import gate, guarded
from armrise.store.clinic.time.clocks import total_days
from armrise.store.rules.pathway import Stage


class Minimum(NamedTuple):
    """The minimum days of a stay: days of each count so far, and those needed."""

    start: date
    healing_days: int
    """Since healing opened the stage, or since the step where that is earlier or alone counts."""
    stage_days: int
    least: int
    least_in_stage: int

    @property
    def waited(self) -> bool:
        """True when both counts are long enough."""
        return self.healing_days >= self.least and self.stage_days >= self.least_in_stage

    @property
    def served_on(self) -> date:
        """The date on which both counts are long enough."""
        by_healing = self.start + timedelta(days=self.stage_days - self.healing_days + self.least)
        return max(by_healing, self.start + timedelta(days=self.least_in_stage))


@once_a_view
def minimum(view: View) -> Minimum | None:
    """The minimum days of the present stay; None before placing and in a stage that the rule file lacks."""
    stage, start = view.stage, view.stage_start
    if stage is None or start is None:
        return None
    least, here = stage.minimum.whole, (view.today - start).days
    if not guarded(view.pathway):
        return Minimum(start, here, here, least, least)
    since = min(start, _opening_day(view, stage) or start)
    in_stage = min(view.rules["step.gated_least"], least)
    return Minimum(start, (view.today - since).days, here, least, in_stage)


def _opening_day(view: View, stage: Stage) -> date | None:
    opening = gate(view, stage)
    return opening.opens if opening else None


@once_a_view
def minimum_served(view: View) -> bool:
    """True when the minimum days are served: in this stay, or in full over all stays after a short step back.

    Healing time shortens no stay by the days of an earlier one: what was stepped back from is tried anew.
    """
    found = minimum(view)
    if found is None or found.waited:
        return found is not None
    return (total_days(view) or 0) >= found.least and stepped_back_shortly(view)


def stepped_back_shortly(view: View) -> bool:
    """True when the present stay follows a step back of at most the allowed length from the same stage."""
    spans = [s for s in view.history.spans if s.start <= view.today]
    for at in range(len(spans) - 2, -1, -1):
        if spans[at].stage == spans[-1].stage:
            away = (spans[-1].start - spans[at + 1].start).days
            back = spans[at + 1].step.direction == "back"
            return back and away <= view.rules["step.back_within_days"]
    return False
