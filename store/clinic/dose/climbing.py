"""Going up a ladder: the next exercise once this one is easy, or once no dose is left to raise (ruling 82).

The next rung is offered only where its class is allowed today; how easy it was opens nothing (ruling 83).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import islice, pairwise

from armrise.store.clinic.pain.classes import GOOD
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.programme.facts import FULL, ItemFacts, Told
from armrise.store.clinic.programme.ladder import arc_words, begun, is_climb, lacks_load, rungs, shut
from armrise.store.clinic.programme.parts import Dose
from armrise.store.clinic.programme.proposal import CLIMB, Proposal, hold, propose
from armrise.store.rules.exercise import EASY, TOP


def climb_when_easy(facts: ItemFacts) -> Proposal | None:
    """The next rung where this one, which climbs when easy, was so on enough dates running."""
    rules = facts.rules
    days = rules["ladder.days"]
    last = [*islice(facts.done, days)][::-1]
    apart = all((b.on - a.on).days <= rules["ladder.apart_days"] for a, b in pairwise(last))
    if not _climbs(facts, EASY) or len(last) < days or not apart or not all(_easy(facts, t) for t in last):
        return None
    mark = rules.figures["ladder.days"].mark
    reason = (
        f"easy on {days} dates running, the whole arc with pain of {rules['ladder.during']} or less{mark}"
    )
    return _climb(facts, reason, *(told.judged for told in last))


def climb_at_top(facts: ItemFacts, reason: str, *judged: Judged) -> Proposal | None:
    """The next rung where this one, which climbs at the top of its dose, has no more to raise."""
    return _climb(facts, reason, *judged) if _climbs(facts, TOP) else None


def has_climbed(facts: ItemFacts) -> bool:
    """Whether the exercise was begun in place of a lower rung, and nothing was changed in it since."""
    first = facts.versions[0]
    below = {exercise.name for exercise in rungs(facts.case.view, first.exercise)[0]}
    gone = [v for v in facts.case.view.upto("programme") if v.exercise in below and v.stopped is not None]
    climbed = any(v.on == first.on and is_climb(facts.case.view, v) for v in gone)
    return climbed and facts.set_on is first


def _climbs(facts: ItemFacts, when: str) -> bool:
    view = facts.case.view
    named = view.rules.exercise(facts.item.exercise, view.pathway.code if view.pathway else None)
    return named is not None and named.climb == when


def _easy(facts: ItemFacts, told: Told) -> bool:
    """One date at the present dose: good, whole dose, whole arc, hardly any pain during it."""
    sessions = facts.case.response.by_date[told.on]
    most = facts.rules["ladder.during"]
    calm = all(isinstance(s.during, int) and s.during <= most for s in sessions)
    arcs = [done.full_arc for done in facts.done_on(told.judged)]
    whole = bool(arcs) and all(arc == "yes" for arc in arcs)
    return told.at_this_dose and told.judged.klass == GOOD and told.full == FULL and calm and whole


def _climb(facts: ItemFacts, reason: str, *judged: Judged) -> Proposal | None:
    """The next rung at its start; HOLD naming it where it is shut, None where there is none to begin."""
    view = facts.case.view
    above = rungs(view, facts.item.exercise)[1]
    if not above or any(item.exercise == above[0].name for item in facts.case.items):
        return None
    following = above[0]
    if when := shut(view, following):
        return hold(facts, f"{reason}; next: {following.name}, {when}", *judged)
    made = begun(view, facts.item, following)
    if lacks_load(following, made):
        words = f"{reason}: record a {following.equipment} at home to begin {following.name}"
        return propose(facts, CLIMB, None, words, *judged)
    found = propose(facts, CLIMB, Dose.of(made), f"{reason}{arc_words(view, made)}", *judged)
    return replace(found, stops=True, instead=made)
