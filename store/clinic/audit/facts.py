"""What an audit counts, one small fact at a time: each belongs to one case and one pathway.

A fact about a date belongs to the pathway the case was in on that date; so pathways add up to the clinic.
"""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from decimal import Decimal
from operator import attrgetter
from typing import Any, TypedDict

from armrise.store.clinic.time.duration import Stay
from armrise.store.record.light import dataclass

MOST_DAYS = 3660
"""Days of a period, by design: every week of it is worked out for every case, and ten years are hundreds."""


@dataclass(frozen=True, slots=True)
class Period:
    """The days ``first`` to ``last``, both included; ``known`` is the clinic date of the audit itself.

    What followed a fact (a flare, an answer, a slot's outcome) is read up to ``known``, the rest up to
    ``last``. Raises ValueError when the days are not in order, or more than :data:`MOST_DAYS`.
    """

    first: date
    last: date
    known: date

    def __post_init__(self) -> None:
        if self.first > self.last:
            raise ValueError(f"the period begins on {self.first} and ends before, on {self.last}")
        if (self.last - self.first).days >= MOST_DAYS:
            raise ValueError(f"the period has more than {MOST_DAYS} days, from {self.first} to {self.last}")
        if self.last > self.known:
            raise ValueError(f"the period ends on {self.last}, after the clinic date {self.known}")

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last


class Where(TypedDict):
    """The first two fields of every fact."""

    case: str
    pathway: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """Something about one case that is counted under one pathway (its code)."""

    case: str
    pathway: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Active(Fact):
    """A case being treated on the last day of the period, on hold or not."""

    side: str
    stage: str
    on_hold: bool
    tier: str
    overdue_days: int
    interval: int | None
    counted_days: int | None
    """Days in the stage over all stays of the episode, less days on hold."""
    stall_days: int | None
    held_days: int
    """Days on hold in the episode so far, all holds taken together."""
    heals: bool
    """The pathway has healing limits."""
    score_owed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun(Fact):
    """The first visit of an episode lay in the period. ``declined``: items asked but not answered."""

    on: date
    not_asked: int
    declined: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended(Fact):
    """A discharge in the period."""

    on: date
    outcome: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopened(Fact):
    """A closed case opened again in the period."""

    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored(Fact):
    """The outcome scores of an episode that ended in the period, or is going on (``ended`` False).

    ``baseline`` and ``newest`` say whether there is a total near the first visit and near the end;
    ``instrument`` names the one that has both. ``toward_better`` is None without a comparable pair.
    """

    ended: bool
    baseline: bool
    newest: bool
    instrument: str = ""
    not_comparable: bool = False
    toward_better: Decimal | None = None
    response_needed: Decimal | None = None
    """None: no comparable pair, or the first total leaves no room for a response."""
    beyond_error: bool | None = None

    @property
    def both(self) -> bool:
        """One instrument at both ends."""
        return bool(self.instrument)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stayed(Fact):
    """A stay in a stage, as it stood on the last day of the period."""

    stay: Stay
    moved_in_period: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot(Fact):
    """A booked slot whose day lay in the period; ``outcome`` is "not recorded" when nobody said."""

    on: date
    outcome: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepped(Fact):
    """A step forward or back in the period (placings are none)."""

    on: date
    direction: str
    stage: str


FLARE, NO_FLARE, NOTHING_TOLD, NOT_OVER = "flare", "no flare", "not known", "days not over"


@dataclass(frozen=True, slots=True, kw_only=True)
class Overridden(Fact):
    """A decision against the rule in the period, and what followed (one of the four words above)."""

    on: date
    against: str
    category: str
    reason: str
    author: str
    followed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Held(Fact):
    """A hold that began in the period."""

    on: date
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken(Fact):
    """A healing limit broken on a day of the period."""

    on: date
    severity: int
    answered: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Owed(Fact):
    """A letter owed from ``on``; ``sent`` is the day it was sent, None while it is owed on the last day."""

    on: date
    about: str
    sent: date | None

    def days(self, last: date) -> int:
        """Days from owed to sent, or so far."""
        return ((self.sent or last) - self.on).days


MEASURED, DECLINED, PROHIBITED, MISSING = "recorded", "declined", "prohibited", "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Due(Fact):
    """A value that was due: a measure at a visit, or a score of a check-in; ``found`` says what came."""

    name: str
    found: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Referred(Fact):
    """A referral on in the period; ``answered`` by the day of the audit."""

    on: date
    about: str
    urgency: str
    answered: bool
    days: int
    """Days to the answer, or so far."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Fact):
    """The tier a case stood in at the end of a week of the period."""

    week_end: date
    tier: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamped(Fact):
    """A rule version stamped on a verdict that a step or an override of the period was taken under."""

    on: date
    rules: str


@dataclass(frozen=True)
class Facts:
    """All facts of some cases in one period."""

    active: tuple[Active, ...] = ()
    begun: tuple[Begun, ...] = ()
    ended: tuple[Ended, ...] = ()
    reopened: tuple[Reopened, ...] = ()
    scored: tuple[Scored, ...] = ()
    stayed: tuple[Stayed, ...] = ()
    slots: tuple[Slot, ...] = ()
    stepped: tuple[Stepped, ...] = ()
    overridden: tuple[Overridden, ...] = ()
    held: tuple[Held, ...] = ()
    broken: tuple[Broken, ...] = ()
    owed: tuple[Owed, ...] = ()
    due: tuple[Due, ...] = ()
    referred: tuple[Referred, ...] = ()
    placed: tuple[Placed, ...] = ()
    stamped: tuple[Stamped, ...] = ()

    def of(self, pathway: str) -> Facts:
        """The facts of one pathway."""
        return Facts(
            **{f.name: tuple(x for x in _all(self, f.name) if x.pathway == pathway) for f in _FIELDS}
        )


_FIELDS = fields(Facts)
_case = attrgetter("case")


def _all(facts: Facts, name: str) -> tuple[Any, ...]:
    return getattr(facts, name)


def together(many: list[Facts]) -> Facts:
    """The facts of several cases as one: by case, each as found, whatever the order of the cases."""

    def kept(name: str) -> tuple[Any, ...]:
        return tuple(sorted((x for facts in many for x in _all(facts, name)), key=_case))

    return Facts(**{f.name: kept(f.name) for f in _FIELDS})
