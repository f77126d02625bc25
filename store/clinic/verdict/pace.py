"""At this pace, when? A numeric exit criterion that is not met, projected from its own values.

Said only where pace decides: never for a healing gate, and not at all in a stage that time protects or whose
next stage has not opened yet, because there no measurement opens anything. Only values of one rater by one
method count, repeated values never, and below four of them nothing is said. Where the interval of the slope
includes zero or the values go the wrong way, that is what is said: "no clear trend".
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from math import ceil

from armrise.store.clinic.case.staleness import fresh_days
from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.healing import gate
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.reference import no_reference
from armrise.store.clinic.motion.slope import Slope, days_from, theil_sen
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.scale import on_scale
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.light import dataclass
from armrise.store.record.words import words_date
from armrise.store.rules.criterion import Criterion

WEEK = 7


@dataclass(frozen=True, slots=True)
class Projection:
    """When a criterion is reached at the present pace. Weeks from today, rounded up; None: no clear trend."""

    sentence: str
    weeks: int | None
    soonest: int | None
    latest: int | None
    count: int
    since: date

    @property
    def line(self) -> str:
        """The sentence with what it rests on."""
        return f"{self.sentence}, from {self.count} values since {words_date(self.since)}"


def projection(view: View, criterion: Criterion, judged: CriterionResult) -> Projection | None:
    """The projection of one criterion as judged on the view's date; None where nothing may be said."""
    if judged.state is not Truth.NOT_MET or judged.opens_on is not None or _time_decides(view):
        return None
    dated = _values(view, criterion)
    target = _target(view, criterion)
    least = view.rules["trend.least_values"]
    if target is None or len({on for on, _ in dated}) < least:
        return None
    confidence = view.rules["trend.confidence_percent"] / 100
    slope = theil_sen(days_from(view.today, dated), confidence)
    return None if slope is None else _project(view, criterion, slope, dated, Fraction(target))


def paces(view: View) -> dict[CriterionResult, Projection]:
    """The projection of every exit criterion of the present stage that has one, parts of criteria included.

    Never asked for by the list: a slope is worked out over every pair of values.
    """
    waiting = [
        (criterion, evaluate(view, criterion)) for criterion in (view.stage.exit if view.stage else ())
    ]
    found: dict[CriterionResult, Projection] = {}
    while waiting:
        criterion, judged = waiting.pop(0)
        if judged.state is not Truth.NOT_MET:
            continue  # what is met as a whole waits for none of its parts
        if projected := projection(view, criterion, judged):
            found[judged] = projected
        waiting = [*zip(criterion.parts, judged.parts, strict=True), *waiting]
    return found


def _time_decides(view: View) -> bool:
    """True where a date opens the next stage: in a protected stage, or while the next gate is shut."""
    stage, following = view.stage, view.next_stage
    if view.closed or stage is None or stage.protected:
        return True
    opening = gate(view, following) if following else None
    return opening is not None and (opening.opens is None or opening.opens > view.today)


def _project(
    view: View, criterion: Criterion, slope: Slope, dated: list[tuple[date, Decimal]], target: Fraction
) -> Projection:
    """From the further of the last value and the line today, so that one good day promises nothing."""
    rising = criterion.at_least is not None
    here = (Fraction(dated[-1][1]), slope.on(0))
    left = target - min(here) if rising else max(here) - target
    paces = (slope.low, slope.high) if rising else (-slope.high, -slope.low)
    count, since = len(dated), dated[0][0]
    if not slope.clear or paces[0] <= 0 or left <= 0:
        return Projection("no clear trend", None, None, None, count, since)
    pace = slope.per_day if rising else -slope.per_day
    weeks, soonest, latest = (max(1, ceil(left / each / WEEK)) for each in (pace, paces[1], paces[0]))
    longest = view.rules["trend.longest_weeks"]
    if weeks > longest:
        return Projection(f"at this pace not within {longest} weeks", weeks, soonest, latest, count, since)
    return Projection(_words(weeks, soonest, latest, longest), weeks, soonest, latest, count, since)


def _words(weeks: int, soonest: int, latest: int, longest: int) -> str:
    about = f"at this pace in about {'1 week' if weeks == 1 else f'{weeks} weeks'}"
    if soonest == latest:
        return about
    return f"{about} ({soonest} to {f'more than {longest}' if latest > longest else latest})"


# --- the number to reach ----------------------------------------------------------------------------------


def _target(view: View, criterion: Criterion) -> Decimal | None:
    """The number a criterion asks for, in the unit of its values; None where it has none or no reference."""
    bound = criterion.at_least if criterion.at_least is not None else criterion.at_most
    if bound is None or criterion.kind not in ("measure", "score"):
        return None
    if criterion.of is None or _in_per_cent(view, criterion):
        return bound
    if criterion.of == "other side":
        if no_reference(view):
            typed = newest([t for t in view.upto("targets") if t.measure == criterion.measure])
            return typed.value if typed else None
        reference = motion.other_side(view, criterion.measure or "")
    else:
        reference = newest(motion.values(view, criterion.of))
    if reference is None or motion.number(reference) <= 0:
        return None
    return bound * motion.number(reference) / 100


def _in_per_cent(view: View, criterion: Criterion) -> bool:
    last = newest(motion.values(view, criterion.measure or ""))
    return last is not None and last.unit == "percent of other side"


# --- the values it is projected from ----------------------------------------------------------------------


def _values(view: View, criterion: Criterion) -> list[tuple[date, Decimal]]:
    """Dated values of the present pathway and window that are alike; empty when the newest is too old."""
    first = view.today - timedelta(days=view.rules["trend.window_days"])
    start = max(first, view.segment_start) if view.segment_start else first
    if criterion.kind == "score":
        spec = view.instruments[criterion.instrument or ""]
        scores = outcome.totals(view, spec.key)
        alike = [(s.on, total) for s in scores if (total := on_scale(spec, s)) is not None]
        most = spec.stale_days.whole
    else:
        known = view.rules.measures.get(criterion.measure or "")
        if known is None:
            return []
        alike = _alike(motion.values(view, known.key), asked=known.question)
        most = fresh_days(view, known.key)
    dated = [(on, value) for on, value in alike if on >= start]
    fresh = bool(dated) and (view.today - dated[-1][0]).days <= most
    return dated if fresh else []


def _alike(measures: list[Measure], *, asked: bool) -> list[tuple[date, Decimal]]:
    """Values measured like the newest one: same rater, method, position and unit. What was asked has no
    rater; what was measured by nobody named is left out, because no two such values are surely alike."""
    last = newest(measures)
    if last is None or (last.rater is None and not asked):
        return []

    def way(measure: Measure) -> tuple[str | None, ...]:
        measured = () if asked else (measure.rater, measure.method, measure.position)
        return (*measured, measure.unit)

    return [(m.on, motion.number(m)) for m in measures if way(m) == way(last)]
