"""Time in stage, counted honestly: who is still there has not finished, and is not left out either.

A stay ends with an event only when the case moves on. A stay that is still going on, or that ended another
way, is *censored*: it lasted at least so long. Leaving such stays out, or counting them as finished, makes
stages look shorter than they are (the drug arm of Freireich 1963: 10, 12.1 or 16 in place of 23).

The estimate is Kaplan and Meier's (J Am Stat Assoc 1958;53:457), its error Greenwood's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from itertools import zip_longest
from math import sqrt

from armrise.store.clinic.case.view import Span, View
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.paperwork import Discharge
from armrise.store.record.kinds.plan import Step
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days
from armrise.store.rules.pathway import Rules

FINISHED = ("goal met", "self-managing")
"""Discharge outcomes by which the last stage is finished."""

Pair = tuple[int, bool]
"""(days, ended by the event)."""


@dataclass(frozen=True, slots=True)
class Drop:
    """A duration on which events fell. ``still`` is the share not yet ended after it, exact."""

    days: int
    at_risk: int
    events: int
    still: Fraction
    error: float | None
    """Greenwood standard error of ``still``; None once nobody is left, where it has none."""


@dataclass(frozen=True, slots=True)
class Survival:
    """The Kaplan-Meier estimate of ``count`` durations, ``events`` of which ended."""

    drops: tuple[Drop, ...]
    count: int
    events: int
    longest: int

    @property
    def median(self) -> int | None:
        """The first duration after which at most half had not ended; None: not reached."""
        return next((drop.days for drop in self.drops if drop.still <= Fraction(1, 2)), None)


def survival(pairs: Iterable[Pair]) -> Survival | None:
    """The estimate from (days, ended) pairs, in any order; None without any. Days below 0 are refused.

    Someone censored on the day of an event was still there when it happened.
    """
    durations = list(pairs)
    if not durations:
        return None
    if min(days for days, _ in durations) < 0:
        raise ValueError("a duration is below 0 days")
    drops: list[Drop] = []
    still, spread = Fraction(1), Fraction(0)
    for days in sorted({days for days, ended in durations if ended}):
        at_risk = sum(other >= days for other, _ in durations)
        events = sum(other == days and ended for other, ended in durations)
        still *= Fraction(at_risk - events, at_risk)
        if still > 0:
            spread += Fraction(events, at_risk * (at_risk - events))
        error = float(still) * sqrt(spread) if still > 0 else None
        drops.append(Drop(days, at_risk, events, still, error))
    ended = sum(drop.events for drop in drops)
    return Survival(tuple(drops), len(durations), ended, max(days for days, _ in durations))


@dataclass(frozen=True, slots=True)
class Stay:
    """One stay of one case in one stage, in calendar days (holds included, as everywhere days in stage are).

    ``left`` says how it ended: "forward", "back", "placed elsewhere", "discharged" or "still there". Only
    "forward" is the event; a case whose last stage ended with the goal met or in self-management went
    forward too, because no step lies behind the last stage. Everything else is censored.
    """

    case: str
    stage: str
    days: int
    left: str

    @property
    def moved_on(self) -> bool:
        """True when the stay ended by moving on."""
        return self.left == "forward"

    @property
    def pair(self) -> Pair:
        """The stay as :func:`survival` reads it."""
        return self.days, self.moved_on


def stays(view: View) -> list[Stay]:
    """Every stay of one case up to the view's date, oldest first.

    A stay after a step back counts anew. A stage stepped through within one day was no stay.
    """
    return [stay for _, stay in dated_stays(view)]


def dated_stays(view: View) -> list[tuple[date, Stay]]:
    """The same, each with its first day."""
    spans = [span for span in view.history.spans if span.start <= view.today]
    pairs = zip_longest(spans, spans[1:])
    found = [(span.start, _stay(view, span, later.step if later else None)) for span, later in pairs]
    return [(start, stay) for start, stay in found if stay.days > 0 or stay.left == "still there"]


def own_stays(records: Iterable[CaseRecord], rules: Rules, view: View, stage: str) -> list[Stay]:
    """The stays in ``stage`` of the other cases of a caseload on the view's date."""
    others = [record for record in records if record.code != view.record.code]
    seen = [stay for record in others for stay in stays(View.of(record, rules, view.today))]
    return [stay for stay in seen if stay.stage == stage]


def own_cases(found: Sequence[Stay], least: int) -> str:
    """How long own past cases took in one stage, in words; empty when fewer than ``least`` moved on.

    ``found`` are stays in that stage. How many are still there is said too: they make the median what it is.
    """
    moved = sum(stay.moved_on for stay in found)
    if moved < least:
        return ""
    estimate = survival(stay.pair for stay in found)
    still = sum(stay.left == "still there" for stay in found)
    ended = f"{still} of {len(found)} still there"
    others = len(found) - moved - still
    if others:
        ended += f", {others} left another way"
    if estimate is None or estimate.median is None:
        return f"own past cases: median not reached, fewer than half moved on in this stage ({ended})"
    return f"own past cases took a median of {count_days(estimate.median)} in this stage ({ended})"


def _stay(view: View, span: Span, following: Step | None) -> Stay:
    """One stay: it ended by its discharge, else by the step that followed, else it is still going on."""
    pathway, left = view.history.pathway_of(span.stage), "still there"
    end = span.end if following and span.end else view.today
    # From the first discharge of the stay on nobody looked any more, reopened or not.
    discharges: list[Discharge] = view.since("discharges", span.start)
    discharge = next((d for d in discharges if span.end is None or d.on < span.end), None)
    if discharge is not None:
        last = pathway is not None and pathway.stages[-1].code == span.stage
        end, left = discharge.on, "forward" if last and discharge.outcome in FINISHED else "discharged"
    elif following is not None:
        stayed = pathway is view.history.pathway_of(following.stage)
        way = following.direction
        left = way if stayed and way in ("forward", "back") else "placed elsewhere"
    return Stay(view.record.code, span.stage, (end - span.start).days, left)
