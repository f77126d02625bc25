"""A trial run: what two rule versions would have said of the whole recorded history, day by day.

Each clinic date is read with what was known at its end, because that is what the list could have said then; a
check-in told three days late changes no earlier day. Counted are the days on which a case was on the list
under one version or the other. Severity, days open and the wording of a sentence are not compared.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from armrise.store.clinic.case.standing import tier_of
from armrise.store.clinic.case.view import DAY, History
from armrise.store.clinic.standing.day_by_day import Carried, DayByDay
from armrise.store.record.known import Everything
from armrise.store.record.words import plain
from armrise.store.rules.noted import Noted
from armrise.store.rules.pathway import Rules
from armrise.store.rules.tiers import TIERS

ALARM_TIERS = TIERS[:2]
"""A reason of these tiers that begins is an alarm."""


class Said(NamedTuple):
    """What a case says on one day under one rule version: reasons by rank, those in hand among them."""

    status: str
    tier: str
    reasons: tuple[str, ...]
    in_hand: tuple[str, ...]
    alarms: frozenset[str]
    """Those of the top two tiers, in hand or not."""
    verdict: str

    @property
    def listed(self) -> bool:
        """Whether the case is on the list that day."""
        if self.status == "waiting":
            return self.tier == TIERS[0]
        return self.status != "closed" or bool(self.reasons)


class Reading:
    """What one history says on one day after another, the oldest first."""

    def __init__(self, history: History) -> None:
        self.history = history
        self._days = DayByDay()
        self._carried: Carried | None = None
        self._said: Said | None = None

    def said(self, day: date) -> Said:
        """What it says on ``day``: the same object as on the day before, where it says the same.

        Raises NeedsFullHistory where the record is a window.
        """
        if self._said is None or day >= self._days.until:
            carried = self._days.on(self.history.on(day))
            if self._said is None or carried is not self._carried:
                self._carried, self._said = carried, _said(carried)
        return self._said

    @property
    def until(self) -> date:
        """The first day on which it may say something else than on the day asked for last."""
        return self._days.until


def _said(carried: Carried) -> Said:
    live = carried.live
    return Said(
        carried.status,
        tier_of(live),
        tuple(reason.name for reason in live),
        tuple(reason.name for reason in live if reason.in_hand),
        frozenset(reason.name for reason in live if reason.tier in ALARM_TIERS),
        carried.word.value,
    )


@dataclass(frozen=True, slots=True)
class Difference:
    """One case on one day that reads differently under the two versions."""

    on: date
    old: Said
    new: Said

    @property
    def gained(self) -> tuple[str, ...]:
        """Reasons that only the new version gives."""
        return tuple(name for name in self.new.reasons if name not in self.old.reasons)

    @property
    def lost(self) -> tuple[str, ...]:
        """Reasons that only the old version gives."""
        return tuple(name for name in self.old.reasons if name not in self.new.reasons)

    @property
    def change(self) -> tuple[object, ...]:
        """What the difference consists in: two days with the same one are told together."""
        old, new = self.old, self.new
        return (
            self.gained,
            self.lost,
            old.in_hand,
            new.in_hand,
            old.verdict,
            new.verdict,
            old.tier,
            new.tier,
        )


@dataclass(frozen=True, slots=True)
class CaseTrial:
    """One case under both versions: ``days`` counted, and how many alarms began on them (old, new)."""

    code: str
    days: int
    differences: tuple[Difference, ...]
    alarms: tuple[int, int]
    verdicts: dict[tuple[str, str], int]
    """Days by (verdict of the old version, verdict of the new)."""


class Spell(NamedTuple):
    """Days, both included, on which a case says the same under each version, as far as was looked at."""

    first: date
    last: date
    old: Said
    new: Said


class Versions:
    """Two rule versions, and what of the old one is read that the new one has otherwise."""

    def __init__(self, old: Rules, new: Rules) -> None:
        self.both = (old, new)
        self._noted = Noted(old, new)

    def days(self, told: Everything, first: date, until: date) -> Iterator[tuple[date, Said, Said]]:
        """Each day from ``first`` to ``until`` with what either version says of it, as known at its end."""
        for spell in self.spells(told, first, until):
            yield from ((day, spell.old, spell.new) for day in _days(spell.first, spell.last))

    def spells(self, told: Everything, first: date, until: date) -> Iterator[Spell]:
        """The same in spells of days on which nothing has to be looked at.

        The new version is asked only from where something that it changes was read in this stretch of days:
        what rests on none of that it says too.
        """
        read, new = self._noted.read, self.both[1]
        for start, last, record in told.stretches(first, until):
            read.clear()
            reading, other = Reading(History(record, self._noted.rules)), None
            day = start
            while day <= last:
                one = two = reading.said(day)
                again = reading.until
                if read:
                    other = other or Reading(reading.history.under(new))
                    two, again = other.said(day), min(again, other.until)
                yield (spell := Spell(day, min(last, again - DAY), one, two))
                day = spell.last + DAY

    def case(self, told: Everything, *, since: date | None, until: date) -> CaseTrial:
        """One case read under both versions on every clinic date from registration to ``until``.

        ``since`` counts from a later date. The day before it is read too, so that what went on is no alarm.
        """
        first = max(told.record.registered_on, since or date.min)
        lead = max(told.record.registered_on, first - DAY)
        differences: list[Difference] = []
        verdicts: Counter[tuple[str, str]] = Counter()
        alarms = [0, 0]
        before: tuple[Said, Said] | None = None
        for begun, last, *both in self.spells(told, lead, until):
            one, other = both
            counted = _days(max(begun, first), last)
            if counted and (one.listed or other.listed):
                verdicts[one.verdict, other.verdict] += len(counted)
                for at, now in enumerate(both if begun >= first else ()):
                    alarms[at] += len(now.alarms - before[at].alarms if before else now.alarms)
                if one != other:
                    differences += (Difference(day, one, other) for day in counted)
            before = one, other
        count = (alarms[0], alarms[1])
        return CaseTrial(told.record.code, verdicts.total(), tuple(differences), count, dict(verdicts))


def _days(first: date, last: date) -> Sequence[date]:
    return [first + number * DAY for number in range((last - first).days + 1)]


@dataclass
class Trial:
    """A trial run so far: the two versions, and one :class:`CaseTrial` for each case that was read."""

    old: Rules
    new: Rules
    since: date | None
    until: date
    planned: int
    """Cases to read."""
    cases: list[CaseTrial] = field(default_factory=list[CaseTrial])

    @property
    def partial(self) -> bool:
        """True when it was stopped before the last case."""
        return len(self.cases) < self.planned

    @property
    def days(self) -> int:
        """Case-days counted."""
        return sum(case.days for case in self.cases)

    @property
    def differing(self) -> list[CaseTrial]:
        """The cases that read differently on some day."""
        return [case for case in self.cases if case.differences]

    @property
    def differences(self) -> list[Difference]:
        """Every case-day that reads differently."""
        return [difference for case in self.cases for difference in case.differences]

    @property
    def dates(self) -> int:
        """Clinic dates on which some case reads differently."""
        return len({difference.on for difference in self.differences})

    @property
    def alarms(self) -> tuple[int, int]:
        """Alarms that began under the old version and under the new."""
        return sum(case.alarms[0] for case in self.cases), sum(case.alarms[1] for case in self.cases)

    @property
    def verdicts(self) -> Counter[tuple[str, str]]:
        """Case-days by (verdict of the old version, verdict of the new)."""
        total: Counter[tuple[str, str]] = Counter()
        for case in self.cases:
            total.update(case.verdicts)
        return total

    def reasons(self) -> dict[str, tuple[int, int]]:
        """Case-days on which each reason was (gained, lost), by rank in the new version."""
        gained = Counter(name for d in self.differences for name in d.gained)
        lost = Counter(name for d in self.differences for name in d.lost)
        names = [*(rank.name for rank in self.new.ranks.values()), *gained, *lost]
        return {name: (gained[name], lost[name]) for name in names if gained[name] or lost[name]}


def per_hundred(alarms: int, days: int) -> str:
    """Alarms for each hundred case-days, to one place; "none counted" without days."""
    from decimal import Decimal

    return plain(round(Decimal(alarms * 100) / days, 1)) if days else "none counted"


def runs(differences: Iterable[Difference]) -> Iterator[tuple[Difference, Difference]]:
    """First and last of each unbroken stretch of days that differ in the same way."""
    first: Difference | None = None
    last: Difference | None = None
    for difference in differences:
        if first is None or last is None:
            first = difference
        elif difference.on - last.on != DAY or difference.change != last.change:
            yield first, last
            first = difference
        last = difference
    if first is not None and last is not None:
        yield first, last
