"""Values that contradict each other: marked, never resolved silently.

A contradictory value that passes is unknown until somebody confirms or corrects it; one that fails stays not
met. Drift, watch and response do not read contradictory values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import pairwise

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.motion import PAIRS, RANGES, degrees, number, values
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.light import NamedTuple


class Contradiction(NamedTuple):
    """An unconfirmed measurement, what it contradicts, and in what way."""

    measure: Measure
    against: Measure
    words: str


@once_a_view
def contradictions(view: View) -> dict[int, str]:
    """Unconfirmed measurements that contradict another, by entry id, with the words for it."""
    return {key: found.words for key, found in standing_contradictions(view).items()}


@once_a_view
def standing_contradictions(view: View) -> dict[int, Contradiction]:
    """As :func:`contradictions`, each with the measurement it contradicts."""
    known = ever_contradicted(view)
    return {key: found for key, found in known.items() if found.measure.on <= view.today}


def ever_contradicted(view: View) -> dict[int, Contradiction]:
    """The same of the whole history: what contradicts a value is of its own day, no later one adds to it."""
    return view.history.once("contradictions", lambda: _whenever(View(view.history, date.max)))


def _whenever(view: View) -> dict[int, Contradiction]:
    found: dict[int, Contradiction] = {}
    for pairs, words in (
        (_active_over_passive(view), "active range above passive on the same day"),
        (_same_day(view), "two values of one day and rater far apart"),
        (_hand_against_rotation(view), "hand behind back better while internal rotation was lost"),
    ):
        for one, two in pairs:
            for measure, against in ((one, two), (two, one)):
                if not measure.confirmed:
                    found[measure.id] = Contradiction(measure, against, words)
    return found


def _active_over_passive(view: View) -> Iterator[tuple[Measure, Measure]]:
    allowed = view.rules["contradiction.active_over_passive"]
    for active_name, passive_name in PAIRS:
        passives = _by_date(values(view, passive_name))
        for active in values(view, active_name):
            for passive in passives.get(active.on, ()):
                if degrees(active) - degrees(passive) > allowed:
                    yield active, passive


def _by_date(measures: Iterable[Measure]) -> dict[date, list[Measure]]:
    found: dict[date, list[Measure]] = {}
    for measure in measures:
        found.setdefault(measure.on, []).append(measure)
    return found


def _same_day(view: View) -> Iterator[tuple[Measure, Measure]]:
    allowed = view.rules["contradiction.same_day"]
    for name in RANGES:
        for one, two in pairwise(values(view, name)):
            same = one.on == two.on and one.rater == two.rater and one.rater is not None
            if same and abs(degrees(one) - degrees(two)) > allowed:
                yield one, two


def _hand_against_rotation(view: View) -> Iterator[tuple[Measure, Measure]]:
    lost = view.rules["contradiction.rotation_lost"]
    turned = _by_date(values(view, "passive_internal_rotation"))
    for before, after in pairwise(values(view, "hand_behind_back")):
        was, now = turned.get(before.on, ()), turned.get(after.on, ())
        if number(after) > number(before) and was and now and degrees(was[-1]) - degrees(now[-1]) >= lost:
            yield after, now[-1]
