"""Which cases are on the list, their order, and the one sentence that answers "why is this above that?".

No scores and no weights: a case is placed by its highest-ranked unanswered reason, and ties are broken by
stated keys, compared left to right, so that the order is total and the same every time.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable

from armrise.store.clinic.case.standing import Reason, Standing
from armrise.store.record.words import count_days
from armrise.store.rules.tiers import TIERS

NO_FURTHER = 99
"""Stands after the ranks of the remaining reasons: a case with a further reason comes before one without."""

SEARCHED = 16
"""So many standings of a long list are looked at to find a place in it, more or less."""

Key = tuple[int, int, int, int, int, tuple[int, ...], str]


def sort_key(standing: Standing) -> Key:
    """The seven keys of the order; smaller comes first."""
    placing = standing.placing
    if placing is None:
        return (len(TIERS) - 1, 0, NO_FURTHER, 0, 0, (NO_FURTHER,), standing.code)
    return (
        TIERS.index(placing.tier),
        int(placing.in_hand),
        placing.rank,
        -placing.severity,
        -placing.days_open,
        (*_remaining(standing, placing), NO_FURTHER),
        standing.code,
    )


def _remaining(standing: Standing, placing: Reason) -> tuple[int, ...]:
    """Ranks of the live, unanswered reasons besides the placing one."""
    return tuple(r.rank for r in standing.reasons if not r.in_hand and r is not placing)


def on_list(standings: Iterable[Standing]) -> list[Standing]:
    """The cases of the list: active, on hold, and closed ones that still owe something.

    A referral that waits for its first visit has its own list, except where its letter tells of something for
    today: a possible red flag is never left off.
    """
    owing = [s for s in standings if s.status != "closed" or s.reasons]
    return [s for s in owing if s.status != "waiting" or s.tier == TIERS[0]]


def order(standings: Iterable[Standing]) -> list[Standing]:
    """The standings in list order."""
    return sorted(standings, key=sort_key)


def placed(ordered: Iterable[Standing], more: Iterable[Standing]) -> list[Standing]:
    """Standings that are in list order already, and some more, each at its place among them."""
    found, new = list(ordered), list(more)
    if len(new) * SEARCHED > len(found):
        return order([*found, *new])
    for standing in new:
        insort(found, standing, key=sort_key)
    return found


def why_above(above: Standing, below: Standing) -> str:
    """One sentence: the first key on which two cases differ, in words."""
    first, second = above.placing, below.placing
    names = f"{above.code} is above {below.code}"
    if first is None and second is None:
        return f"{names}: nothing is asked of either; listed by code"
    if second is None:
        return f"{names}: {_named(first)}; nothing is asked of {below.code}"
    if first is None:
        return f"{above.code} is below {below.code}: nothing is asked of it"
    return f"{names}: {_difference(above, below, first, second)}"


def _named(reason: Reason | None) -> str:
    return reason.name if reason else "no live reason"


def _difference(above: Standing, below: Standing, first: Reason, second: Reason) -> str:
    if first.tier != second.tier:
        return f"{first.name} is in tier {first.tier}, {second.name} in tier {second.tier}"
    if first.in_hand != second.in_hand:
        return f"{second.name} is in hand there, {first.name} is unanswered here"
    if first.rank != second.rank:
        return f"{first.name} ranks before {second.name}"
    if first.severity != second.severity:
        return f"both have {first.name}, here to a greater extent"
    if first.days_open != second.days_open:
        days = count_days(first.days_open)
        return f"both have {first.name} alike, here for {days} and there for {second.days_open}"
    return _further(above, below, first, second)


def _further(above: Standing, below: Standing, first: Reason, second: Reason) -> str:
    ours = [r for r in above.reasons if not r.in_hand and r is not first]
    theirs = [r for r in below.reasons if not r.in_hand and r is not second]
    for mine, other in zip(ours, theirs, strict=False):
        if mine.rank != other.rank:
            return f"alike in {first.name}; further, {mine.name} ranks before {other.name}"
    if len(ours) > len(theirs):
        return f"alike in {first.name}; further, it also has {ours[len(theirs)].name}"
    return "alike in every reason; listed by code"
