"""Healing that the pathway of a case does not count: an onset that another pathway counts from (ruling 69).

Until the case changes its pathway, or somebody decides that no tissue heals, the stricter of both holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from armrise.store.clinic.case.naming import covers
from armrise.store.clinic.case.view import View, newest
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Decision
from armrise.store.record.kinds.safety import Event, Onset
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import days_ago
from armrise.store.rules.pathway import Pathway, Stage

MATTER = "healing clock"
"""What a decision names that says how healing counts."""
NO_FIT = "pathway and healing date do not fit"


class OtherClock(NamedTuple):
    """An onset, and the pathway that counts from it while the case is filed under another."""

    onset: Onset | Event
    pathway: Pathway
    filed: str
    """The name of the pathway the case is filed under."""

    def words(self, day: date) -> str:
        """ "surgery 21 days ago, filed as Cuff-related pain"."""
        ago = days_ago((day - self.onset.on).days)
        return f"{self.pathway.clock} {ago}, filed as {self.filed}"

    def stage(self, day: date, *, large: bool) -> Stage:
        """The stage that the template of its pathway alone would allow on ``day``."""
        reached, days = self.pathway.stages[0], (day - self.onset.on).days
        for stage in self.pathway.stages[1:]:
            opens = _opens(stage, large=large)
            if opens is not None and days < opens:
                break
            reached = stage
        return reached


def _opens(stage: Stage, *, large: bool) -> int | None:
    figure = (stage.opens_day_large if large else None) or stage.opens_day
    return None if figure is None else figure.whole


def other_clocks(view: View, day: date, *, large: bool) -> list[OtherClock]:
    """Onsets on or before ``day`` whose own pathway has not reached its last stage yet, filed under one
    without that clock, and not decided about by then."""
    if not view.upto("onsets") and not view.upto("events"):
        return []
    filed = _filed(view, day)
    if filed is None:
        return []
    found: list[OtherClock] = []
    for pathway in _counting(view):
        onset = newest([o for o in _onsets(view, filed, pathway.clock) if o.on <= day])
        if onset is None or pathway.clock == filed.clock or decided_on(view, onset, day):
            continue
        healed = _opens(pathway.stages[-1], large=large)
        if healed is not None and (day - onset.on).days < healed:
            found.append(OtherClock(onset, pathway, filed.name))
    return found


def _filed(view: View, day: date) -> Pathway | None:
    span = view.history.span_on(day)
    return view.history.pathway_of(span.stage if span else None)


def _counting(view: View) -> Iterator[Pathway]:
    """The first pathway that counts from each kind of onset."""
    first: dict[str, Pathway] = {}
    for pathway in view.rules.pathways.values():
        if pathway.clock is not None:
            first.setdefault(pathway.clock, pathway)
    yield from first.values()


def _onsets(view: View, filed: Pathway, kind: str | None) -> list[Onset | Event]:
    """Onsets of one kind, oldest first; where the case counts from none, a dislocation told as an event."""
    found: list[Onset | Event] = [onset for onset in view.upto("onsets") if onset.what == kind]
    if filed.clock is None and kind == "dislocation":
        found += [event for event in view.upto("events") if event.event == kind]
    return sorted(found, key=lambda entry: (entry.on, entry.id))


def decided_on(view: View, trouble: Entry, day: date) -> Decision | None:
    """The decision of ``day`` or before about how healing counts after ``trouble``, said in enough words."""
    least = view.rules["ready.clock_decision_shortest"]
    decisions = [d for d in view.upto("decisions") if d.about == MATTER and d.on <= day]
    return newest([d for d in decisions if len(d.note) >= least and covers(view, d, [trouble])])
