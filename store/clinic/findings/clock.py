"""Day 0 of a finding: the newest onset or injury on or before it (rulings 66 and 94)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.safety import Event, Onset
from armrise.store.record.light import NamedTuple
from armrise.store.rules.pathway import Pathway
from armrise.store.rules.trigger import OWN_ONSET

INJURY, DISLOCATION = "other injury", "dislocation"


class DayZero(NamedTuple):
    """The day that others are counted from; not ``known``: at the latest this day, nobody recorded it."""

    on: date
    known: bool = True


def day_zero(view: View, pathway: Pathway | None, clock: Sequence[str], day: date) -> DayZero | None:
    """Day 0 of what was seen on ``day`` by a ``clock`` of the rule files; None where there is none.

    Where the onset of ``pathway`` itself is asked for and missing, at least the days on record have passed:
    a missing date silences nothing.
    """
    if OWN_ONSET in clock:
        own = view.onset_for(pathway, day)
        return DayZero(own.on) if own else DayZero(view.episode_first_visit or view.history.began)
    begun = [entry.on for entry in _injuries(view, pathway, clock) if entry.on <= day]
    if begun:
        return DayZero(max(begun))
    missing = pathway is not None and pathway.clock in clock and view.onset_for(pathway) is None
    return DayZero(view.segment_start or view.history.began, known=False) if missing else None


def _injuries(view: View, pathway: Pathway | None, clock: Sequence[str]) -> list[Onset | Event]:
    """Onsets of these kinds. Every event is an injury; one that is told as a dislocation is an onset of it
    where the pathway counts from none."""
    found: list[Onset | Event] = [onset for onset in view.upto("onsets") if onset.what in clock]
    events: list[Event] = view.upto("events")
    if INJURY in clock:
        found += events
    elif DISLOCATION in clock and pathway is not None and pathway.clock is None:
        found += [event for event in events if event.event == DISLOCATION]
    return found
