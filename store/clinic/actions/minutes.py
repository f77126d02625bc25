"""The minutes of a week's sweep: how many, what was decided, and what remains. Codes only, no names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from armrise.store.clinic.actions.sweep import SWEPT, SweepCase
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.slots import ahead, hour_of
from armrise.store.record.kinds.care import SWEEP_DECISIONS, SweepDecision
from armrise.store.record.light import dataclass
from armrise.store.record.words import clock_words, near_date

WEEK = 7


@dataclass(frozen=True, slots=True)
class Decided:
    """One decision of the week and what remains of its case today."""

    code: str
    side: str
    entry: SweepDecision
    remains: str


@dataclass(frozen=True, slots=True)
class Minutes:
    """The sweep of one week, Monday to Sunday, as it stands on the clinic date."""

    first: date
    last: date
    as_of: date
    decided: tuple[Decided, ...]
    remaining: tuple[SweepCase, ...]
    store_head: str = ""
    """The head of the store's chain when they were put together; empty where none is printed."""

    @property
    def counts(self) -> dict[str, int]:
        """How many of each decision, in the order of the keys."""
        found = Counter(d.entry.decision for d in self.decided)
        return {decision: found[decision] for decision in SWEEP_DECISIONS}

    @property
    def closed(self) -> int:
        """Cases decided this week that are not in the queue again: what the progress counts."""
        back = {case.standing.code for case in self.remaining}
        return len({d.code for d in self.decided} - back)

    @property
    def total(self) -> int:
        """Cases decided and cases that remain."""
        return self.closed + len(self.remaining)


def week_of(today: date) -> tuple[date, date]:
    """Monday and Sunday of the week of a clinic date."""
    first = today - timedelta(days=today.weekday())
    return first, first + timedelta(days=WEEK - 1)


def decided_in(view: View, standing: Standing, first: date, last: date) -> list[Decided]:
    """The decisions recorded of one case in a week, oldest first; withdrawn ones are not in the record."""
    decisions: list[SweepDecision] = [d for d in view.upto("sweep_decisions") if first <= d.on <= last]
    return [
        Decided(view.record.code, view.record.side, d, remains(view, standing, d))
        for d in sorted(decisions, key=lambda d: (d.recorded_at, d.id))
    ]


def minutes(today: date, decided: Iterable[Decided], remaining: Sequence[SweepCase]) -> Minutes:
    """The minutes of the week of ``today``."""
    first, last = week_of(today)
    ordered = sorted(decided, key=lambda d: (d.entry.on, d.code))
    return Minutes(first, last, today, tuple(ordered), tuple(remaining))


def remains(view: View, standing: Standing, decision: SweepDecision) -> str:
    """What is still owed of a decided case, in words."""
    parts = [_next(view, decision)]
    still = [r.name for r in standing.reasons if r.code in SWEPT]
    if view.closed:
        still = ["discharge letter owed"] if _letter_owed(view) else []
    elif decision.decision == "refer" and any(r.code == "LTR" for r in standing.reasons):
        still.append("referral letter owed")
    slots = ahead(view)
    if slots and decision.decision != "rebook":
        parts.append(f"booked {near_date(slots[0], view.today)}{clock_words(hour_of(view, slots[0]))}")
    return "; ".join([*parts, f"still: {', '.join(still)}"] if still else parts)


def _next(view: View, decision: SweepDecision) -> str:
    day = near_date(decision.until, view.today)
    if view.closed:
        return "closed"
    return {
        "seen": f"next review {day}",
        "rebook": f"booked {day}{clock_words(hour_of(view, decision.until))}",
        "phone": f"in the sweep again from {day}",
        "hold": f"on hold until {day}",
        "refer": f"answer to be asked for on {day}",
        "discharge": "open again",
    }[decision.decision]


def _letter_owed(view: View) -> bool:
    ended = view.closed
    if ended is None or not ended.letter or ended.outcome in ("died", "moved"):
        return False
    letters = view.since("letters", ended.on)
    return not any(x.state == "sent" and x.about == "discharge" for x in letters)


def counted(week: Minutes) -> str:
    """ "11 decided: 2 seen, 4 phone ...; 0 remain"."""
    parts = [f"{number} {decision}" for decision, number in week.counts.items() if number]
    what = f": {', '.join(parts)}" if parts else ""
    left = len(week.remaining)
    return f"{len(week.decided)} decided{what}; {left} {'remains' if left == 1 else 'remain'}"
