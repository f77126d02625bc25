"""The facts of a pathway, or of the clinic, counted: every share as a count and what it is a count of.

A line of the audit is one field: how it is counted, in which section of the sheet it stands, and its words.
Screen, plain text, page and JSON follow.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import field, fields
from datetime import date
from functools import cache, cached_property
from typing import Any

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
    Period,
    Scored,
)
from armrise.store.clinic.audit.share import Counted, Days, Share, counted
from armrise.store.clinic.audit.stages import StageTime, stage_times
from armrise.store.clinic.scores.outcome import responders
from armrise.store.record.kinds.care import ATTENDANCES, MISSED
from armrise.store.record.kinds.paperwork import DISCHARGE_OUTCOMES
from armrise.store.record.light import dataclass
from armrise.store.rules.pathway import Rules
from armrise.store.rules.tiers import TIERS


@dataclass(frozen=True, slots=True)
class Line:
    """How a field is counted, and the row it makes; without a label it makes none of its own.

    ``{last}``, ``{most}`` and ``{after}`` of a label are the last day, the longest hold and the days after an
    override.
    """

    count: Callable[[Any], Any]
    section: str = ""
    label: str = ""
    each: str = ""
    """A further row for each of its words, ``{word}``."""
    more: Callable[[Any, str], str] = lambda group, last: ""
    """What the row says behind the number."""
    late: bool = False
    """It stands behind the others of its section."""


def _field(count: Callable[[Any], Any], section: str = "", label: str = "", **more: Any) -> Any:
    """A field that is a line of the audit."""
    return field(metadata={"line": Line(count, section, label, **more)})


@cache
def lines(kind: type) -> Mapping[str, Line]:
    """The lines of a record, by field."""
    return {one.name: one.metadata["line"] for one in fields(kind) if "line" in one.metadata}


def _counted(kind: type, of: object) -> dict[str, Any]:
    return {name: one.count(of) for name, one in lines(kind).items()}


class Entered:
    """Everybody whose scores are looked at; change is read from comparable pairs alone."""

    def __init__(self, entered: Sequence[Scored]) -> None:
        self.entered = entered
        self.pairs = [s for s in entered if s.both and not s.not_comparable]
        changes = ((s.toward_better, s.response_needed) for s in entered)
        self.responded, self.measured, self.everybody = responders(changes)
        self.better = self.beyond(1)

    def beyond(self, way: int) -> int:
        """How many changed by more than measurement error, toward better (1) or worse (-1)."""
        moved = [s.toward_better for s in self.pairs if s.beyond_error and s.toward_better is not None]
        return sum(change * way > 0 for change in moved)


def _score(label: str, count: Callable[[Entered], int | Share]) -> Any:
    return _field(count, "scores", label)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scores:
    """Paired outcome scores. ``entered`` counts everybody; change is read from comparable pairs alone."""

    entered: int = _score("entered", lambda e: e.everybody)
    both: Share = _score("first and last score", lambda e: Share.having(e.entered, lambda s: s.both))
    baseline: Share = _score("first score", lambda e: Share.having(e.entered, lambda s: s.baseline))
    newest: Share = _score("last score", lambda e: Share.having(e.entered, lambda s: s.newest))
    neither: Share = _score(
        "neither", lambda e: Share.having(e.entered, lambda s: not s.baseline and not s.newest)
    )
    not_comparable: int = _score("both, not comparable", lambda e: sum(s.not_comparable for s in e.entered))
    responded: Share = _score("response reached, of those measured", lambda e: Share(e.responded, e.measured))
    responded_entered: Share = _score(
        "response reached, of those entered", lambda e: Share(e.responded, e.everybody)
    )
    beyond_error: Share = _score(
        "better beyond error, of those measured", lambda e: Share(e.better, e.measured)
    )
    beyond_error_entered: Share = _score(
        "better beyond error, of those entered", lambda e: Share(e.better, e.everybody)
    )
    worse: Share = _score("worse beyond error, of those measured", lambda e: Share(e.beyond(-1), e.measured))
    no_room: int = _score(
        "first score too good to respond", lambda e: sum(s.response_needed is None for s in e.pairs)
    )
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


class Counting:
    """The facts of a group with what several lines are counted from."""

    def __init__(self, facts: Facts, rules: Rules, period: Period, ends: Sequence[date]) -> None:
        self.facts, self.rules, self.period, self.ends = facts, rules, period, ends
        self.most = rules["hold.most_days"]

    @cached_property
    def slots(self) -> Counter[str]:
        """Slots by what became of them."""
        return Counter(s.outcome for s in self.facts.slots)

    @cached_property
    def followed(self) -> Counter[str]:
        """Overrides by what followed."""
        return Counter(o.followed for o in self.facts.overridden)

    def scores(self, *, ended: bool) -> Scores:
        """The outcome scores of those whose episode ended, or is going on."""
        return Scores(**_counted(Scores, Entered([s for s in self.facts.scored if s.ended is ended])))

    def owed(self, *, sent: bool) -> Days:
        """Letters sent, or still owed, and how long that took."""
        owed = [o for o in self.facts.owed if (o.sent is not None) is sent]
        return Days.of(o.days(self.period.last) for o in owed)


def line(count: Callable[[Counting], Any], section: str = "", label: str = "", **more: Any) -> Any:
    return _field(count, section, label, **more)


def _on_hold(group: Group, last: str) -> str:
    return f", {group.on_hold} of them on hold" if group.on_hold else ""


def _declined(group: Group, last: str) -> str:
    return f"; an answer declined in {group.screen_declined}" if group.screen_declined else ""


def _unanswered(group: Group, last: str) -> str:
    return f", {group.broken_unanswered} not answered by {last}" if group.broken else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The whole clinic (``code`` empty) or one pathway."""

    code: str
    name: str
    active: int = line(lambda c: len(c.facts.active), "cases", "being treated on {last}", more=_on_hold)
    on_hold: int = line(lambda c: sum(a.on_hold for a in c.facts.active))
    new: int = line(lambda c: len(c.facts.begun), "cases", "new: first visit of an episode in the period")
    reopened: int = line(lambda c: len(c.facts.reopened), "cases", "reopened")
    discharged: int = line(lambda c: len(c.facts.ended), "cases", "discharged")
    discharges: Counted = line(
        lambda c: counted(Counter(e.outcome for e in c.facts.ended), DISCHARGE_OUTCOMES),
        "cases",
        each="discharged, {word}",
    )
    ended: Scores = line(lambda c: c.scores(ended=True))
    going_on: Scores = line(lambda c: c.scores(ended=False))
    score_owed: Share = line(lambda c: Share.having(c.facts.active, lambda a: a.score_owed))
    """An outcome score fell due and was not answered, of those being treated."""
    stages: tuple[StageTime, ...] = line(lambda c: tuple(stage_times(c.facts.stayed, c.rules)))
    screened: Share = line(
        lambda c: Share.having(c.facts.begun, lambda b: b.not_asked == 0),
        "safety",
        "red-flag screen complete at the first visit, of new cases",
        more=_declined,
    )
    """Every item asked by the end of the first visit's day."""
    screen_declined: int = line(lambda c: sum(b.declined > 0 for b in c.facts.begun))
    overdue: Share = line(
        lambda c: Share.having(c.facts.active, lambda a: a.overdue_days > 0),
        "visits",
        "review overdue on {last}",
    )
    worst: Overdue | None = line(lambda c: _worst(c.facts), "visits", "worst, against its interval")
    slots: Counted = line(
        lambda c: counted(c.slots, (*ATTENDANCES, NOT_RECORDED)),
        "visits",
        "booked slots",
        each="slots, {word}",
    )
    missed: Share = line(
        lambda c: Share(sum(c.slots[m] for m in MISSED), len(c.facts.slots)),
        "visits",
        "missed, of booked slots",
    )
    overrides: tuple[Override, ...] = line(
        lambda c: tuple(_override(o) for o in sorted(c.facts.overridden, key=lambda o: (o.on, o.case)))
    )
    override_categories: Counted = line(
        lambda c: counted(Counter(o.category for o in c.facts.overridden)),
        "decisions",
        "overrides",
        late=True,
    )
    override_flares: Share = line(
        lambda c: Share(c.followed[FLARE], len(c.facts.overridden)),
        "decisions",
        "flare within {after} days of an override",
        late=True,
    )
    override_followed: Counted = line(lambda c: counted(c.followed))
    step_backs: Share = line(
        lambda c: Share.having(c.facts.stepped, lambda s: s.direction == "back"),
        "decisions",
        "steps back, of all steps",
    )
    holds: Counted = line(
        lambda c: counted(Counter(h.reason for h in c.facts.held)), "decisions", "holds begun"
    )
    held_long: Share = line(
        lambda c: Share.having(c.facts.active, lambda a: a.held_days > c.most),
        "decisions",
        "on hold for over {most} days in total",
    )
    hold_most_days: int = line(lambda c: c.most)
    broken: int = line(lambda c: len(c.facts.broken), "safety", "healing limits broken", more=_unanswered)
    broken_unanswered: int = line(lambda c: sum(not b.answered for b in c.facts.broken))
    broken_cases: Share = line(
        lambda c: _broken_cases(c.facts), "safety", "cases with a limit broken, of those with healing limits"
    )
    letters_sent: Days = line(
        lambda c: c.owed(sent=True), "letters", "letters sent in the period, days from owed to sent"
    )
    letters_owed: Days = line(lambda c: c.owed(sent=False), "letters", "letters owed on {last}, days so far")
    missing: tuple[Missing, ...] = line(lambda c: tuple(_missing(c.facts.due)))
    referred: Share = line(
        lambda c: Share.having(c.facts.referred, lambda r: r.answered),
        "letters",
        "referrals on, something came back",
    )
    """Answered, of the referrals on of the period."""
    referrals_waiting: Days = line(
        lambda c: Days.of(r.days for r in c.facts.referred if not r.answered),
        "letters",
        "referrals on, nothing came back, days so far",
    )
    top_two: Share = line(lambda c: Share.having(c.facts.active, lambda a: a.tier in TIERS[:2]))
    weeks: tuple[tuple[date, Share], ...] = line(
        lambda c: tuple((end, _week(c.facts, end)) for end in c.ends)
    )

    @property
    def empty(self) -> bool:
        """True when nothing in it says anything about the period."""
        told = (self.active, self.new, self.reopened, self.discharged, len(self.stages), len(self.slots))
        return not any(told) and not self.letters_owed.count and not self.letters_sent.count


def group(code: str, name: str, facts: Facts, rules: Rules, period: Period, ends: Sequence[date]) -> Group:
    """Everything counted over these facts."""
    return Group(code=code, name=name, **_counted(Group, Counting(facts, rules, period, ends)))


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


def _missing(due: Sequence[Due]) -> Iterable[Missing]:
    """Each value that was due, the one most often missing first."""
    names: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for one in due:
        names[one.name][one.found] += 1
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
    return Share.having(placed, lambda p: p.tier in TIERS[:2])
