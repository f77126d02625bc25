"""Values that contradict each other: marked, never resolved silently.

A contradictory value that passes is unknown until somebody confirms or corrects it; one that fails stays not
met. Drift, watch and response do not read contradictory values.
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise

from store.clinic.motion import PAIRS, RANGES, degrees, number, values
from store.clinic.record import Measure
from store.clinic.view import View


def contradictions(view: View) -> dict[int, str]:
    """Unconfirmed measurements that contradict another, by entry id, with the words for it."""
    memo = view.history.memo
    if "contradictions" not in memo:
        memo["contradictions"] = _find_contradictions(view)
    known: dict[int, tuple[date, str]] = memo["contradictions"]
    return {key: words for key, (on, words) in known.items() if on <= view.today}


def _find_contradictions(view: View) -> dict[int, tuple[date, str]]:
    found: dict[int, tuple[date, str]] = {}
    everything = View(view.history, date.max)
    for pairs, words in (
        (_active_over_passive(everything), "active range above passive on the same day"),
        (_same_day(everything), "two values of one day and rater far apart"),
        (_hand_against_rotation(everything), "hand behind back better while internal rotation was lost"),
    ):
        for measure in pairs:
            if not measure.confirmed:
                found[measure.id] = (measure.on, words)
    return found


def _active_over_passive(view: View) -> list[Measure]:
    allowed = view.rules["contradiction.active_over_passive"]
    found: list[Measure] = []
    for active_name, passive_name in PAIRS:
        for active in values(view, active_name):
            for passive in values(view, passive_name):
                if active.on == passive.on and degrees(active) - degrees(passive) > allowed:
                    found += [active, passive]
    return found


def _same_day(view: View) -> list[Measure]:
    allowed = view.rules["contradiction.same_day"]
    found: list[Measure] = []
    for name in RANGES:
        seen = values(view, name)
        for one, two in pairwise(seen):
            same = one.on == two.on and one.rater == two.rater and one.rater is not None
            if same and abs(degrees(one) - degrees(two)) > allowed:
                found += [one, two]
    return found


def _hand_against_rotation(view: View) -> list[Measure]:
    lost = view.rules["contradiction.rotation_lost"]
    hand = values(view, "hand_behind_back")
    turned = values(view, "passive_internal_rotation")
    found: list[Measure] = []
    for before, after in pairwise(hand):
        was = [m for m in turned if m.on == before.on]
        now = [m for m in turned if m.on == after.on]
        if number(after) > number(before) and was and now and degrees(was[-1]) - degrees(now[-1]) >= lost:
            found += [after, now[-1]]
    return found
