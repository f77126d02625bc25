"""A red-flag "no" that a finding does not go with (rulings 67 and 94).

Neither is believed over the other: the item is asked again, and the answer says in a note what was thought.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.evidence import together
from armrise.store.clinic.case.naming import known
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.findings.clock import day_zero
from armrise.store.clinic.findings.looks import Look, ever_bad, looks
from armrise.store.clinic.pain.visits import may_show, shown_at_visits
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.safety import RETIRED_SCREEN_ITEMS, Screen, parts_of
from armrise.store.rules.trigger import Contradiction

_READ = (
    *("findings", "measures", "events", "onsets", "visits", "steps", "medicines", "reopenings", "discharges"),
    *("screens", "flag_outcomes", "referrals", "decisions"),
)


class Contradicted(NamedTuple):
    """An item of the screen to be asked again: since when, in words, by which entries."""

    item: str
    since: date
    sentence: str
    evidence: tuple[int, ...]


@once_a_view
def contradicted(view: View) -> list[Contradicted]:
    """Items answered "no" that a finding contradicts, each once, in the order of the rule file."""
    if not may_contradict(view):
        return []
    key = ("contradicted", view.pathway.code if view.pathway else None, known(view, *_READ))
    return view.history.once(key, lambda: list(_each(view)))


def may_contradict(view: View) -> bool:
    """Whether the record holds, on whatever day, what a "no" does not go with."""

    def found() -> bool:
        rules = view.rules.contradictions
        causes = [one.visit_cause for one in rules if one.visit_cause is not None]
        return may_show(view, causes) or any(
            ever_bad(view, condition) for one in rules for condition in one.when
        )

    return view.history.once("may contradict", found)


def _each(view: View) -> Iterator[Contradicted]:
    for item in dict.fromkeys(one.item for one in view.rules.contradictions):
        rules = [one for one in view.rules.contradictions if one.item == item]
        shown = (each for rule in rules for each in _shown(view, rule))
        found = [f for day, entries in shown if (f := _against(view, item, day, entries))]
        whole = together(sorted(found, key=lambda f: f.since))
        if whole:
            yield whole


def _against(view: View, item: str, day: date, entries: Sequence[Entry]) -> Contradicted | None:
    """What a finding said on ``day`` against the newest answer by then; None once that was asked again."""
    denied = newest([s for s in _said(view, item) if s.on <= day])
    if denied is None or denied.answer == "yes" or _answered(view, item, day, entries):
        return None
    words = f"screen says no, finding says yes: {item}; ask again"
    return Contradicted(item, day, words, (*dict.fromkeys(e.id for e in entries), denied.id))


def _said(view: View, item: str) -> list[Screen]:
    """The answers "yes" and "no" to an item, oldest first."""
    return [s for s in view.upto("screens") if s.answer in ("yes", "no") and item in parts_of(s.item)]


def _answered(view: View, item: str, on: date, entries: Sequence[Entry]) -> bool:
    """A "yes", an answer to the item itself with a note recorded after the finding, or the flag's outcome."""
    told, sees = max(e.recorded_at for e in entries), view.record.could_see
    later: list[Screen] = [s for s in view.since("screens", on) if item in parts_of(s.item)]
    named = (item, *(old for old, parts in RETIRED_SCREEN_ITEMS.items() if item in parts))
    noted = [s for s in later if s.answer == "no" and s.item in named and s.note and s.recorded_at > told]
    outcomes = [
        o for o in view.since("flag_outcomes", on) if o.item in ("all", *named) and o.recorded_at >= told
    ]
    knew = (a for a in (*noted, *outcomes) if all(sees(a.id, e.id) for e in entries))
    return any(knew) or any(s.answer == "yes" for s in later)


# --- what a contradiction rests on --------------------------------------------------------------------------


def _shown(view: View, rule: Contradiction) -> Iterator[tuple[date, tuple[Entry, ...]]]:
    """Each day on which the record showed what a "no" does not go with, and its entries.

    What was found before the item was asked for the first time, and stands, speaks on the day it is asked: a
    "no" in a list cannot have weighed it.
    """
    if rule.visit_cause is not None:
        yield from ((max(e.on for e in made), made) for made in shown_at_visits(view, rule.visit_cause))
    seen = [looks(view, view.pathway, (condition,)) for condition in rule.when]
    asked = {screen.on for screen in _said(view, rule.item)[:1]}
    for day in sorted(asked | {look.on for matter in seen for look in matter if look.bad}):
        so_far = [newest(matter[: bisect_right(matter, day, key=_day)]) for matter in seen]
        bad = [look for look in so_far if look and look.bad]
        enough = len(bad) == len(seen) if rule.together else bool(bad)
        fresh = bad if day in asked else [look for look in bad if look.on == day]
        if enough and fresh and _in_time(view, rule, max(look.on for look in bad)):
            yield day, tuple(entry for look in (bad if rule.together else fresh) for entry in look.entries)


def _day(look: Look) -> date:
    return look.on


def _in_time(view: View, rule: Contradiction, day: date) -> bool:
    if not rule.clock:
        return True
    zero = day_zero(view, view.pathway, rule.clock, day)
    first = timedelta(days=rule.from_day.whole if rule.from_day else 0)
    return zero is not None and day >= zero.on + first
