"""What less of an exercise is after pain: less load, a smaller arc, the rung below (rulings 81 and 82).

Movement without load is not cut: it goes on through a smaller arc, as often as before. While range is being
lost it is never asked for less than that.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from armrise.store.clinic.motion.drift import drift
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.programme.facts import ItemFacts
from armrise.store.clinic.programme.ladder import (
    arc_words,
    cut_to_orders,
    open_below,
    ordered_arc,
    taken_up_again,
)
from armrise.store.clinic.programme.parts import ONE_SET_FEWER, Dose, deload, is_raised
from armrise.store.clinic.programme.proposal import (
    ARC,
    DELOAD,
    REDUCE,
    RUNG_BACK,
    STOP,
    Proposal,
    hold,
    propose,
)
from armrise.store.record.kinds.programme import ProgrammeItem, is_again


def after_flare(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    """Less after a flare: the load first."""
    if facts.is_mobility:
        return _less_movement(facts, said, *judged)
    lower = deload(facts.item, facts.case.home, facts.rules)
    if lower is None:
        return _below(facts, said, *judged) or _stop(facts, said, *judged)
    return propose(facts, DELOAD, lower[0], f"{said}; {lower[1]}", *judged)


def after_pair(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    """Less after two sessions over a limit running: a set first."""
    if facts.is_mobility:
        return _less_movement(facts, said, *judged)
    if facts.item.sets > 1:
        return _one_set_fewer(facts, said, *judged)
    lower = deload(facts.item, facts.case.home, facts.rules)
    if lower is None:
        return _below(facts, said, *judged) or _stop(facts, said, *judged)
    return propose(facts, REDUCE, lower[0], f"{said}: {lower[1]}", *judged)


def arc_as_ordered(facts: ItemFacts) -> Proposal | None:
    """An arc that goes beyond what the surgeon's orders allow today is cut to it (ruling 83)."""
    most, now = ordered_arc(facts.case.view, facts.item), facts.item.arc_to
    if most is None or now is None or now <= most:
        return None
    dose = Dose.of(cut_to_orders(facts.case.view, facts.item))
    return propose(facts, ARC, dose, f"arc to {now} degrees, the surgeon's order allows {most}")


def arc_cut(before: ProgrammeItem, after: ProgrammeItem) -> bool:
    """Whether a version is an accepted smaller arc: a lower end, or all the same where no arc is set."""
    if after.stopped is not None or after.load_class != before.load_class:
        return False
    if before.arc_to is None:
        return is_again(before, after)
    return after.arc_to is not None and after.arc_to < before.arc_to


def _less_movement(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    """A smaller arc at first; after that the rung below or a set, unless range is being lost."""
    if keeps_moving(facts) or not _arc_was_cut(facts):
        return _smaller_arc(facts, said, *judged)
    lower = _below(facts, said, *judged)
    if lower is not None:
        return lower
    fewer = facts.item.sets > 1
    return _one_set_fewer(facts, said, *judged) if fewer else _smaller_arc(facts, said, *judged)


def keeps_moving(facts: ItemFacts) -> bool:
    """True for movement without load while range is being lost: never anything less than a smaller arc."""
    return facts.is_mobility and drift(facts.case.view) is not None


def _arc_was_cut(facts: ItemFacts) -> bool:
    """Whether a smaller arc was accepted and nothing was raised since."""
    for before, after in reversed(list(pairwise(facts.versions))):
        if is_raised(before, after, facts.rules.class_order):
            return False
        if arc_cut(before, after):
            return True
    return False


def _smaller_arc(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    item, rules = facts.item, facts.rules
    why = f"{said}; range is being lost, so no less of it" if keeps_moving(facts) else said
    if item.arc_to is None:
        return replace(propose(facts, ARC, facts.current, f"{why}; smaller arc", *judged), again=True)
    percent, step = rules["dose.arc_percent"], rules["dose.arc_step"]
    end = max(rules["dose.arc_least"], item.arc_to * percent // 100 // step * step)
    if end >= item.arc_to or (item.arc_from is not None and end <= item.arc_from):
        return hold(facts, f"{why}; the arc is as small as it goes", *judged)
    dose = replace(facts.current, arc_to=end)
    return propose(facts, ARC, dose, f"{why}; {percent} % of {item.arc_to} degrees", *judged)


def _one_set_fewer(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    dose = replace(facts.current, sets=facts.item.sets - 1)
    return propose(facts, REDUCE, dose, f"{said}: {ONE_SET_FEWER}", *judged)


def _below(facts: ItemFacts, said: str, *judged: Judged) -> Proposal | None:
    """The rung below in the last dose used there, where one is allowed today."""
    view, item = facts.case.view, facts.item
    exercise = open_below(view, item.exercise)
    if exercise is None or any(i.exercise == exercise.name for i in facts.case.items):
        return None
    instead = taken_up_again(view, item, exercise)
    words = f"{said}: back to {exercise.name}{arc_words(view, instead)}"
    return replace(propose(facts, RUNG_BACK, Dose.of(instead), words, *judged), stops=True, instead=instead)


def _stop(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    """Nothing is left to lower (ruling 33)."""
    words = f"{said}; nothing is left to lower: choose another"
    return replace(propose(facts, STOP, None, words, *judged), stops=True)
