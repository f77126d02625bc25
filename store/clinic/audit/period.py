"""The audit of a period: counts first, every proportion with its denominator, the missing counted as missing.

A pure function of whole records (closed cases too), the rules and two dates. The clinic and each pathway are
counted by the same function over the same facts, so pathways add up to the clinic. Clinicians are not
compared: overrides of one author are counted apart only for that author.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from armrise.store.clinic.audit.case import week_ends
from armrise.store.clinic.audit.counts import Group, group
from armrise.store.clinic.audit.facts import (
    FLARE,
    NO_FLARE,
    NOT_OVER,
    NOTHING_TOLD,
    Active,
    Facts,
    Overridden,
    Period,
    together,
)
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days
from armrise.store.rules.pathway import Rules

__all__ = [
    "Audit",
    "Group",
    "Own",
    "Period",
    "Pick",
    "Version",
    "audit",
    "last_full_month",
    "month",
]


@dataclass(frozen=True, slots=True)
class Own:
    """One author's own overrides of the period, and what followed each within the days asked for."""

    author: str
    overrides: int
    flares: int
    no_flare: int
    nothing_told: int
    not_over: int


@dataclass(frozen=True, slots=True)
class Pick:
    """A case for supervision, with the rule that chose it."""

    case: str
    side: str
    why: str


@dataclass(frozen=True, slots=True)
class Version:
    """A rule version under which verdicts of the period were acted on: how many, and on which days."""

    rules: str
    count: int
    first: date
    last: date


@dataclass(frozen=True)
class Audit:
    """The audit of a period. ``groups`` holds the whole clinic first, then each pathway with any fact."""

    period: Period
    rule_version: str
    signed_off: str
    groups: tuple[Group, ...]
    supervision: tuple[Pick, ...]
    versions: tuple[Version, ...]
    own: Own | None
    percent_least: int
    after_days: int
    store_head: str = ""
    """The head of the store's chain when this was counted; empty where none is printed."""

    @property
    def clinic(self) -> Group:
        """The whole clinic."""
        return self.groups[0]


def last_full_month(today: date) -> tuple[date, date]:
    """The calendar month before the one of ``today``."""
    last = today.replace(day=1) - timedelta(days=1)
    return last.replace(day=1), last


def month(day: date, today: date) -> tuple[date, date]:
    """The calendar month of ``day``, as far as it has come by ``today``."""
    following = (day.replace(day=28) + timedelta(days=4)).replace(day=1)
    return day.replace(day=1), min(following - timedelta(days=1), today)


def audit(found: Iterable[Facts], rules: Rules, period: Period, author: str = "") -> Audit:
    """The audit of ``period`` from the facts of every case, whose order does not matter.

    ``author`` asks for that person's own overrides. The facts of a case are those of
    :func:`armrise.store.clinic.audit.case.case_facts`.
    """
    facts = together(list(found))
    ends = week_ends(period)
    groups = [group("", "whole clinic", facts, rules, period, ends)]
    for pathway in rules.pathways.values():
        groups.append(group(pathway.code, pathway.name, facts.of(pathway.code), rules, period, ends))
    for code in sorted(_codes(facts) - set(rules.pathways)):
        groups.append(group(code, f"{code}, not in the rule file", facts.of(code), rules, period, ends))
    return Audit(
        period=period,
        rule_version=rules.version,
        signed_off=rules.sign_off,
        groups=(groups[0], *(g for g in groups[1:] if not g.empty)),
        supervision=tuple(supervised(facts.active, facts.overridden)),
        versions=tuple(_versions(facts)),
        own=_own(facts.overridden, author) if author else None,
        percent_least=rules["audit.percent_least"],
        after_days=rules["audit.after_days"],
    )


def _codes(facts: Facts) -> set[str]:
    parts = (facts.active, facts.begun, facts.ended, facts.stayed, facts.slots, facts.owed, facts.due)
    return {fact.pathway for part in parts for fact in part}


def _own(overridden: Sequence[Overridden], author: str) -> Own:
    followed = Counter(o.followed for o in overridden if o.author == author)
    return Own(
        author,
        sum(followed.values()),
        followed[FLARE],
        followed[NO_FLARE],
        followed[NOTHING_TOLD],
        followed[NOT_OVER],
    )


def _versions(facts: Facts) -> list[Version]:
    days: dict[str, list[date]] = {}
    for stamped in facts.stamped:
        days.setdefault(stamped.rules, []).append(stamped.on)
    return [Version(name, len(on), min(on), max(on)) for name, on in sorted(days.items())]


def supervised(active: Sequence[Active], overridden: Sequence[Overridden]) -> list[Pick]:
    """Two cases chosen by rule: the longest in stage for its stage, and the one with most overrides.

    "Longest" is by days against the stage's own stall days, or late stages would always be chosen. Without
    an override, or where both rules choose one case, the next longest is the second.
    """
    placed = [a for a in active if a.counted_days is not None and a.stall_days]
    longest = sorted(placed, key=lambda a: (-_share_of_stall(a), a.case))
    sides = {a.case: a.side for a in active}
    count = Counter(o.case for o in overridden if o.case in sides)
    most = sorted(count, key=lambda code: (-count[code], code))
    picks = [Pick(a.case, a.side, _longest_words(a)) for a in longest]
    first = picks[:1]
    second = [_most(code, sides[code], count[code]) for code in most if code not in {p.case for p in first}]
    return [*first, *(second or picks[1:])[:1]]


def _most(code: str, side: str, count: int) -> Pick:
    times = "1 override" if count == 1 else f"{count} overrides"
    return Pick(code, side, f"most overrides: {times} in the period")


def _share_of_stall(active: Active) -> float:
    return (active.counted_days or 0) / (active.stall_days or 1)


def _longest_words(a: Active) -> str:
    return f"longest in stage: {count_days(a.counted_days or 0)} in {a.stage}, long from {a.stall_days}"
