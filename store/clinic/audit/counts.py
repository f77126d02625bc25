"""The facts of a pathway, or of the clinic, counted: every share as a count and what it is a count of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from armrise.store.clinic.audit.care import NOT_RECORDED
from armrise.store.clinic.audit.facts import (
    DECLINED,
    FLARE,
    MEASURED,
    MISSING,
    PROHIBITED,
    Due,
    Facts,
    Overridden,
    Owed,
    Period,
    Scored,
)
from armrise.store.clinic.audit.share import Counted, Days, Share, counted
from armrise.store.clinic.audit.stages import StageTime, stage_times
from armrise.store.clinic.scores.outcome import responders
from armrise.store.record.kinds.care import ATTENDANCES, MISSED
from armrise.store.record.kinds.paperwork import DISCHARGE_OUTCOMES
from armrise.store.rules.pathway import TIERS, Rules


@dataclass(frozen=True, slots=True, kw_only=True)
class Scores:
    """Paired outcome scores. ``entered`` counts everybody; change is read from comparable pairs alone."""

    entered: int
    both: Share
    baseline: Share
    newest: Share
    neither: Share
    not_comparable: int
    responded: Share
    """Reached the response threshold: of comparable pairs (measured)."""
    responded_entered: Share
    """The same, of everybody who entered."""
    beyond_error: Share
    beyond_error_entered: Share
    worse: Share
    """Worse by more than measurement error, of comparable pairs."""
    no_room: int
    """First total too good for the response threshold to be reached."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """An override, without its author: what it went against, why, and what followed."""

    case: str
    on: date
    against: str
    category: str
    reason: str
    followed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """A value that was due so many times, and what was found each time; the four add up."""

    name: str
    due: int
    recorded: int
    declined: int
    prohibited: int
    missing: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Overdue:
    """The worst overdue review: its case, days over, of an interval."""

    case: str
    side: str
    days: int
    interval: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The whole clinic (``code`` empty) or one pathway."""

    code: str
    name: str
    active: int
    on_hold: int
    new: int
    reopened: int
    discharged: int
    discharges: Counted
    ended: Scores
    going_on: Scores
    score_owed: Share
    """An outcome score fell due and was not answered, of those being treated."""
    stages: tuple[StageTime, ...]
    screened: Share
    """Red-flag screen with every item asked by the end of the first visit's day, of new cases."""
    screen_declined: int
    overdue: Share
    worst: Overdue | None
    slots: Counted
    missed: Share
    overrides: tuple[Override, ...]
    override_categories: Counted
    override_flares: Share
    override_followed: Counted
    step_backs: Share
    holds: Counted
    held_long: Share
    hold_most_days: int
    broken: int
    broken_unanswered: int
    broken_cases: Share
    letters_sent: Days
    letters_owed: Days
    missing: tuple[Missing, ...]
    referred: Share
    """Answered, of the referrals on of the period."""
    referrals_waiting: Days
    top_two: Share
    weeks: tuple[tuple[date, Share], ...]

    @property
    def empty(self) -> bool:
        """True when nothing in it says anything about the period."""
        told = (self.active, self.new, self.reopened, self.discharged, len(self.stages), len(self.slots))
        return not any(told) and not self.letters_owed.count and not self.letters_sent.count


def group(code: str, name: str, facts: Facts, rules: Rules, period: Period, ends: Sequence[date]) -> Group:
    """Everything counted over these facts."""
    active, most = facts.active, rules["hold.most_days"]
    slots = Counter(s.outcome for s in facts.slots)
    followed = Counter(o.followed for o in facts.overridden)
    backs = sum(s.direction == "back" for s in facts.stepped)
    sent = [o for o in facts.owed if o.sent is not None]
    return Group(
        code=code,
        name=name,
        active=len(active),
        on_hold=sum(a.on_hold for a in active),
        new=len(facts.begun),
        reopened=len(facts.reopened),
        discharged=len(facts.ended),
        discharges=counted(Counter(e.outcome for e in facts.ended), DISCHARGE_OUTCOMES),
        ended=scores([s for s in facts.scored if s.ended]),
        going_on=scores([s for s in facts.scored if not s.ended]),
        score_owed=Share(sum(a.score_owed for a in active), len(active)),
        stages=tuple(stage_times(facts.stayed, rules)),
        screened=Share(sum(b.not_asked == 0 for b in facts.begun), len(facts.begun)),
        screen_declined=sum(b.declined > 0 for b in facts.begun),
        overdue=Share(sum(a.overdue_days > 0 for a in active), len(active)),
        worst=_worst(facts),
        slots=counted(slots, (*ATTENDANCES, NOT_RECORDED)),
        missed=Share(sum(slots[m] for m in MISSED), len(facts.slots)),
        overrides=tuple(_override(o) for o in sorted(facts.overridden, key=lambda o: (o.on, o.case))),
        override_categories=counted(Counter(o.category for o in facts.overridden)),
        override_flares=Share(followed[FLARE], len(facts.overridden)),
        override_followed=counted(followed),
        step_backs=Share(backs, len(facts.stepped)),
        holds=counted(Counter(h.reason for h in facts.held)),
        held_long=Share(sum(a.held_days > most for a in active), len(active)),
        hold_most_days=most,
        broken=len(facts.broken),
        broken_unanswered=sum(not b.answered for b in facts.broken),
        broken_cases=_broken_cases(facts),
        letters_sent=Days.of(o.days(period.last) for o in sent),
        letters_owed=_still_owed(facts.owed, period),
        missing=tuple(_missing(facts.due)),
        referred=Share(sum(r.answered for r in facts.referred), len(facts.referred)),
        referrals_waiting=Days.of(r.days for r in facts.referred if not r.answered),
        top_two=Share(sum(a.tier in TIERS[:2] for a in active), len(active)),
        weeks=tuple((end, _week(facts, end)) for end in ends),
    )


def scores(entered: Sequence[Scored]) -> Scores:
    """Pairs, responders among those measured and among those entered; nobody is left out of ``entered``."""
    pairs = [s for s in entered if s.both and not s.not_comparable]
    responded, measured, everybody = responders((s.toward_better, s.response_needed) for s in entered)
    better = sum(_beyond(s, 1) for s in pairs)
    return Scores(
        entered=everybody,
        both=Share(sum(s.both for s in entered), everybody),
        baseline=Share(sum(s.baseline for s in entered), everybody),
        newest=Share(sum(s.newest for s in entered), everybody),
        neither=Share(sum(not s.baseline and not s.newest for s in entered), everybody),
        not_comparable=sum(s.not_comparable for s in entered),
        responded=Share(responded, measured),
        responded_entered=Share(responded, everybody),
        beyond_error=Share(better, measured),
        beyond_error_entered=Share(better, everybody),
        worse=Share(sum(_beyond(s, -1) for s in pairs), measured),
        no_room=sum(s.response_needed is None for s in pairs),
    )


def _beyond(scored: Scored, way: int) -> bool:
    """Changed by more than measurement error, toward better (1) or worse (-1)."""
    return bool(scored.beyond_error and scored.toward_better is not None and scored.toward_better * way > 0)


def _worst(facts: Facts) -> Overdue | None:
    """The review overdue by the largest share of its interval."""
    late = [a for a in facts.active if a.overdue_days > 0 and a.interval]
    if not late:
        return None
    worst = min(late, key=lambda a: (-a.overdue_days / (a.interval or 1), a.case))
    return Overdue(case=worst.case, side=worst.side, days=worst.overdue_days, interval=worst.interval or 0)


def _override(o: Overridden) -> Override:
    return Override(
        case=o.case, on=o.on, against=o.against, category=o.category, reason=o.reason, followed=o.followed
    )


def _broken_cases(facts: Facts) -> Share:
    """Cases with a broken limit, of those with healing limits that were treated or broke one."""
    broke = {b.case for b in facts.broken}
    return Share(len(broke), len(broke | {a.case for a in facts.active if a.heals}))


def _still_owed(owed: Sequence[Owed], period: Period) -> Days:
    return Days.of(o.days(period.last) for o in owed if o.sent is None)


def _missing(due: Sequence[Due]) -> Iterable[Missing]:
    """Each value that was due, the one most often missing first."""
    names = {d.name: Counter(x.found for x in due if x.name == d.name) for d in due}
    for name in sorted(names, key=lambda n: (n.startswith("check-in"), -names[n][MISSING], n)):
        found = names[name]
        yield Missing(
            name=name,
            due=sum(found.values()),
            recorded=found[MEASURED],
            declined=found[DECLINED],
            prohibited=found[PROHIBITED],
            missing=found[MISSING],
        )


def _week(facts: Facts, end: date) -> Share:
    placed = [p for p in facts.placed if p.week_end == end]
    return Share(sum(p.tier in TIERS[:2] for p in placed), len(placed))
