"""What each day showed of a matter that a trigger or a contradiction asks about (rulings 66 and 94)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import NamedTuple

from armrise.store.clinic.case.measured import of_either_side
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.motion.motion import number, values
from armrise.store.clinic.motion.powers import FLEXION, Powers
from armrise.store.record.kinds.head import MEASURED, Entry
from armrise.store.record.kinds.measured import Finding, Measure
from armrise.store.rules.pathway import Pathway
from armrise.store.rules.trigger import Condition


class Look(NamedTuple):
    """What one day showed: ``bad`` is as a condition has it, else a clinician saw the opposite.

    ``from_day``: the first day on which it counts, which is later for an event that was assessed later.
    """

    on: date
    bad: bool
    entries: tuple[Entry, ...]
    from_day: date


class _Seen(NamedTuple):
    """One entry: as the condition has it, or the opposite."""

    entry: Entry
    bad: bool
    from_day: date


def subjects(conditions: Sequence[Condition]) -> list[tuple[Condition, ...]]:
    """Conditions that are about one thing together: where a measure is named beside a finding, the newer look
    decides; else each speaks for itself."""
    if any(condition.measure for condition in conditions):
        return [
            tuple(c for c in conditions if not c.event),
            *((c,) for c in conditions if c.event),
        ]
    return [(condition,) for condition in conditions]


def looks(view: View, pathway: Pathway | None, conditions: Sequence[Condition]) -> list[Look]:
    """What each day showed of one thing, oldest first; of two answers of one date the worse holds."""
    seen = [one for condition in conditions for one in _seen(view, pathway, condition)]
    seen.sort(key=lambda one: (one.entry.on, one.entry.id))
    found: list[Look] = []
    for on, of_the_day in groupby(seen, key=lambda one: one.entry.on):
        together = list(of_the_day)
        bad = [one for one in together if one.bad]
        if not bad and not any(_by_clinician(one.entry) for one in together):
            continue
        entries = tuple(one.entry for one in bad or together)
        found.append(Look(on, bool(bad), entries, min(one.from_day for one in bad or together)))
    return found


def _by_clinician(entry: Entry) -> bool:
    """Whether a clinician saw it: what others tell opens a matter, and closes none."""
    return entry.source == MEASURED


def _seen(view: View, pathway: Pathway | None, condition: Condition) -> Iterator[_Seen]:
    if condition.finding:
        yield from _answers(view, condition)
    elif condition.measure:
        yield from _values(view, condition)
    else:
        yield from _events(view, pathway, condition)


def _answers(view: View, condition: Condition) -> Iterator[_Seen]:
    for finding in view.upto("findings"):
        if finding.name == condition.finding and finding.answer in ("yes", "no"):
            yield _Seen(finding, finding.answer == condition.answer, finding.on)


def _values(view: View, condition: Condition) -> Iterator[_Seen]:
    """The lowest value of each date. A low one that does not count is no look at all."""
    for on, of_the_day in groupby(values(view, condition.measure or ""), key=lambda m: m.on):
        lowest = min(of_the_day, key=number)
        low = number(lowest) < (condition.below or 0)
        if not low or _counts(view, lowest):
            yield _Seen(lowest, low, on)


@once_a_view
def _powers(view: View) -> Powers:
    return Powers(view)


def _counts(view: View, low: Measure) -> bool:
    """A low lift counts where the arm can be moved further than it lifts, or nobody measured if it can."""
    partner = _powers(view).partner(low.on) if low.name == FLEXION else None
    return partner is None or partner.value - number(low) >= view.rules["function.gap"]


def _events(view: View, pathway: Pathway | None, condition: Condition) -> Iterator[_Seen]:
    """Events, once assessed where that is asked. The one that began the healing is no further one."""
    assessed = [visit for visit in view.upto("visits") if visit.injury_assessed]
    began = [onset.on for onset in view.upto("onsets") if pathway and onset.what == pathway.clock][:1]
    for event in view.upto("events"):
        if event.event not in condition.event or event.on in began:
            continue
        if not condition.assessed:
            yield _Seen(event, True, event.on)
        elif visit := next((v for v in assessed if view.answers(v, event)), None):
            yield _Seen(event, True, visit.on)


def changed(view: View, finding: Finding, before: str, since: date) -> bool:
    """Whether ``finding`` came after the answer ``before``, given since a day."""
    last = (finding.on, finding.recorded_at, finding.id)
    said = [f for f in view.since("findings", since) if f.name == finding.name and f.answer == before]
    return any((f.on, f.recorded_at, f.id) < last for f in said)


def ever_bad(view: View, condition: Condition) -> bool:
    """Whether the record ever says what a condition asks for, on whatever day: else it opens nothing."""
    history = view.history
    if condition.finding:
        said = history.once(
            "findings said", lambda: {(f.name, f.answer) for f in history.ordered("findings")[0]}
        )
        return (condition.finding, condition.answer) in said
    if measure := condition.measure:
        lowest = history.once(("lowest", measure), lambda: _lowest(history, measure))
        return lowest is not None and lowest < (condition.below or 0)
    return any(event.event in condition.event for event in history.ordered("events")[0])


def _lowest(history: History, name: str) -> Decimal | None:
    """The lowest value of a measure, of either side."""
    return min(map(number, of_either_side(history, name).measures), default=None)
