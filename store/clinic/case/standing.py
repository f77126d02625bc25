"""What follows from a case record on a clinic date: the words and numbers every screen and listing shows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import StrEnum
from typing import Protocol, TypeVar

from armrise.store.record.fields import Absence
from armrise.store.record.light import NamedTuple
from armrise.store.rules.do import Do
from armrise.store.rules.tiers import TIERS


class Truth(StrEnum):
    """The three values of a criterion."""

    MET = "met"
    NOT_MET = "not met"
    UNKNOWN = "unknown"

    @classmethod
    def of(cls, passes: bool) -> Truth:
        """MET or NOT_MET, of what is known."""
        return cls.MET if passes else cls.NOT_MET


class Word(StrEnum):
    """The verdict on a case's readiness to step forward."""

    READY = "READY"
    NOT_YET = "NOT YET"
    UNKNOWN = "UNKNOWN"
    STEP_BACK = "STEP BACK ADVISED"
    REFER = "REFER"
    ON_HOLD = "ON HOLD"
    NONE = "NONE"


class CriterionResult(NamedTuple):
    """One criterion opened up: what is needed, what was observed, when, and what follows."""

    text: str
    needed: str
    observed: str
    observed_on: date | None
    state: Truth
    source: str
    status: str
    ask: str = ""
    """What to record when unknown; a question sorts before a measurement by ``effort``."""
    effort: int = 0
    opens_on: date | None = None
    parts: tuple[CriterionResult, ...] = ()
    what: str = ""
    """What is judged, without the number asked for, for a narrow column; empty: ``text`` says it."""
    now: str = ""
    """What was observed in the fewest words; empty: ``observed`` says it."""


class Verdict(NamedTuple):
    """The verdict, its first line, and everything it rests on."""

    word: Word
    line: str
    criteria: tuple[CriterionResult, ...] = ()
    blocks: tuple[CriterionResult, ...] = ()
    """Blocking items, in the printed order, before the criteria."""
    also_missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    rule: str = ""
    """For REFER: the name of the rule, as an answering entry names it."""
    not_considered: str = "does not see imaging, medication changes, or what you observed"
    rule_version: str = ""
    signed_off: str = "NOT SIGNED OFF"

    @property
    def first_unmet(self) -> CriterionResult | None:
        """The first blocking item or criterion that is not met, else the first unknown one."""
        everything = (*self.blocks, *self.criteria)
        wanted = (r for state in (Truth.NOT_MET, Truth.UNKNOWN) for r in everything if r.state is state)
        return next(wanted, None)


class Reason(NamedTuple):
    """One reason for attention. ``rank`` 1 is the highest; ``days_open`` counts calendar days."""

    code: str
    name: str
    rank: int
    tier: str
    severity: int
    days_open: int
    since: date
    sentence: str
    in_hand_until: date | None = None
    in_hand_action: str = ""
    evidence: tuple[int, ...] = ()
    """Ids of the entries it rests on."""
    do: Do | None = None
    """What to do about it."""

    @property
    def in_hand(self) -> bool:
        """True when a clinician has answered it until a date still ahead."""
        return self.in_hand_until is not None


class Placing(Protocol):
    """What of a reason decides where its case stands."""

    @property
    def tier(self) -> str: ...
    @property
    def in_hand(self) -> bool: ...


AnyPlacing = TypeVar("AnyPlacing", bound=Placing)


class Review(NamedTuple):
    """The review owed. ``ratio`` is days overdue divided by the interval, 0 when not overdue."""

    due: date | None
    interval: int | None
    overdue_days: int
    ratio: float
    booked: date | None
    original_due: date | None = None
    note: str = ""
    booked_at: str | None = None
    """The hour of the booked slot, "09:20"; None where it was not told."""


class Pain(NamedTuple):
    """The last pain triple and the baseline it is judged against."""

    during: int | Absence | None
    later: int | Absence | None
    morning: int | Absence | None
    date: date | None
    baseline: int | None
    days_ago: int | None


class Standing(NamedTuple):
    """Everything the list and the five-second view say about one case on one clinic date."""

    code: str
    person: str
    side: str
    status: str
    """"active", "on hold", "closed" or "waiting"."""
    pathway: str
    pathway_name: str
    stage: str
    stage_name: str
    days_in_stage: int | None
    total_days_in_stage: int | None
    days_in_episode: int | None
    usual_days: int | None
    days_since_onset: int | None
    onset_word: str
    """"surgery", "injury" or empty."""
    review: Review
    pain: Pain
    trend: tuple[int | None, ...]
    """The last next-morning scores, oldest first, at most 14; None is a morning without a score."""
    reasons: tuple[Reason, ...]
    """Live reasons by rank, those in hand included."""
    verdict: Verdict
    limits: tuple[str, ...]
    """Limits in force today, most important first."""
    cautions: tuple[str, ...]
    as_of: date
    clinician: str = ""
    age_band: str | None = None
    linked: tuple[str, ...] = ()
    last_data: date | None = None
    last_override: str = ""
    hold_until: date | None = None
    extra: tuple[str, ...] = ()
    referrer: str = ""
    tried: str = ""
    """Attempts of today that reached nobody: "tried 08:41, no answer"."""

    @property
    def placing(self) -> Reason | None:
        """The reason that places the case: the first unanswered one, else a pinned "today" reason."""
        return placing_of(self.reasons)

    @property
    def tier(self) -> str:
        """The tier of the placing reason, or "none"."""
        return tier_of(self.reasons)


def placing_of(reasons: Sequence[AnyPlacing]) -> AnyPlacing | None:
    """The reason that places a case: the first unanswered one, else a "today" one that is pinned."""
    unanswered = [r for r in reasons if not r.in_hand]
    pinned = [r for r in reasons if r.in_hand and r.tier == TIERS[0]]
    if unanswered and (unanswered[0].tier == TIERS[0] or not pinned):
        return unanswered[0]
    return pinned[0] if pinned else None


def tier_of(reasons: Sequence[Placing]) -> str:
    """The tier of a case with these reasons, or "none"."""
    reason = placing_of(reasons)
    return reason.tier if reason else TIERS[-1]
