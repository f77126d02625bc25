"""A case over time: pain with its limits, range with its error, strength, baseline. Nothing is judged anew.

Classes, baselines, losses and thresholds are those of the rules; here they are only laid out by date. Outcome
scores over time are in :mod:`armrise.store.clinic.series.scores`.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.motion.drift import drift
from armrise.store.clinic.motion.losses import Loss, loss_at, series
from armrise.store.clinic.motion.motion import (
    PLANES,
    all_named,
    degrees,
    number,
    other_is_reference,
    other_side,
)
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.creep import creep, first_baseline
from armrise.store.clinic.pain.response import Response
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import STRENGTHS, Measure
from armrise.store.record.light import dataclass

RANGE = (*PLANES, "active_flexion")
Score = int | Absence | None


@dataclass(frozen=True, slots=True)
class Band:
    """A stay in a stage with its pain limits, in points: during, later, rise of the next morning."""

    stage: str
    name: str
    start: date
    end: date | None
    during: int
    later: int
    rise: int


@dataclass(frozen=True, slots=True)
class PainDay:
    """Pain of the exercise day ``on``; ``morning`` is that of the day after. ``klass`` None: no session."""

    on: date
    during: Score
    later: Score
    morning: Score
    baseline: int | None
    klass: str | None = None
    cause: str = ""
    days_late: int = 0

    @property
    def flare(self) -> bool:
        """True for a session that was a flare."""
        return self.klass == FLARE


def bands(view: View) -> list[Band]:
    """The stays in stages the rule file knows, oldest first."""
    found: list[Band] = []
    for span in view.history.spans:
        pathway = view.history.pathway_of(span.stage)
        stage = pathway.stage(span.stage) if pathway else None
        if stage and span.start <= view.today:
            limits = (stage.limits.during.whole, stage.limits.later.whole, stage.limits.rise.whole)
            found.append(Band(stage.code, stage.name, span.start, span.end, *limits))
    return found


def pain_days(view: View) -> list[PainDay]:
    """Every session, and every morning without a session before it, oldest first."""
    response = Response.of(view)
    found: list[PainDay] = []
    for session in view.upto("sessions"):
        judged = response.classes(session, view.today)
        told = judged.morning if judged and judged.morning is not None else None
        shown = session.morning if told is None and session.on < view.today else told
        klass, cause = (judged.klass, judged.cause) if judged else (None, "")
        known = (judged.baseline if judged else None, klass, cause, max(0, session.days_late - 1))
        found.append(PainDay(session.on, session.during, session.later, shown, *known))
    for wake in sorted(response.wakes):
        before = wake - DAY
        if wake <= view.today and before not in response.by_date:
            found.append(PainDay(before, None, None, response.worst_value(wake), response.baseline(before)))
    return sorted(found, key=lambda day: day.on)


@dataclass(frozen=True, slots=True)
class ErrorBand:
    """How far below ``best`` a value may lie and be no loss: ``watch`` and ``act`` degrees of allowance."""

    raters: str
    """"same rater TK" or "different raters"."""
    best: int
    watch: int
    act: int
    loss: int


@dataclass(frozen=True, slots=True)
class RangeSeries:
    """One movement: entries of both sides, the loss of the newest value, the error of the raters involved.

    ``entries`` holds absences and repeated values too; ``loss`` reads the values comparable with the newest.
    """

    name: str
    label: str
    entries: tuple[Measure, ...]
    others: tuple[Measure, ...]
    reference: bool
    """False when the other side is no reference."""
    loss: Loss | None
    errors: tuple[ErrorBand, ...]
    warning: str
    """What the drift rule says of this movement, empty when nothing."""


def range_series(view: View, name: str) -> RangeSeries:
    """One range of movement over time, in degrees."""
    comparable = series(view, name, early=True)
    loss = loss_at(view, name, comparable, len(comparable) - 1) if comparable else None
    state = drift(view)
    return RangeSeries(
        name,
        view.rules.measures[name].label,
        tuple(all_named(view, name)),
        tuple(all_named(view, name, view.record.other_side)),
        other_is_reference(view),
        loss,
        tuple(_errors(view, comparable, loss)) if loss else (),
        state.sentence if state and state.plane == name else "",
    )


def _errors(view: View, comparable: list[Measure], loss: Loss) -> list[ErrorBand]:
    """The allowance of the newest value's own rater, and that of different raters where there are any."""
    rules, now = view.rules, loss.at
    found: list[ErrorBand] = []
    if loss.same is not None:
        figures = rules["drift.same_watch"], rules["drift.same_act"]
        found.append(ErrorBand(f"same rater {now.rater}", degrees(now) + loss.same, *figures, loss.same))
    several = now.rater is None or any(m.rater != now.rater for m in comparable)
    if several and loss.anyone is not None:
        figures = rules["drift.other_watch"], rules["drift.other_act"]
        found.append(ErrorBand("different raters", degrees(now) + loss.anyone, *figures, loss.anyone))
    return found


@dataclass(frozen=True, slots=True)
class StrengthPoint:
    """One test: per cent of the other side (None: cannot be given), its error in per cent of the value."""

    entry: Measure
    percent: Decimal | None
    error: int
    raters: str


@dataclass(frozen=True, slots=True)
class StrengthSeries:
    """One strength test over time, against the newest value of the other side."""

    name: str
    label: str
    points: tuple[StrengthPoint, ...]
    other: Measure | None
    reference: bool


def strength_series(view: View, name: str) -> StrengthSeries:
    """Strength of the affected side over time; absences and repeated values have no per cent."""
    other = other_side(view, name)
    points: list[StrengthPoint] = []
    before: Measure | None = None
    for entry in all_named(view, name):
        percent = _percent(entry, other) if entry.real else None
        same = before is None or (entry.rater is not None and before.rater == entry.rater)
        error = view.rules["strength.error_same" if same else "strength.error_other"]
        points.append(StrengthPoint(entry, percent, error, "one rater" if same else "two raters"))
        before = entry if entry.real else before
    label = view.rules.measures[name].label
    return StrengthSeries(name, label, tuple(points), other, other_is_reference(view))


def _percent(entry: Measure, other: Measure | None) -> Decimal | None:
    if entry.unit == "percent of other side":
        return number(entry)
    graded = "grade 0-5" in (entry.unit, other.unit if other else None)
    if other is None or graded or number(other) <= 0:
        return None
    return number(entry) * 100 / number(other)


def strengths(view: View) -> list[str]:
    """The strength tests on record, in the order of the record; the first of all where there is none."""
    return [name for name in STRENGTHS if all_named(view, name)] or [STRENGTHS[0]]


@dataclass(frozen=True, slots=True)
class BaselineDay:
    """Pain on waking on ``on`` (None: none told), the baseline of that day, whether it has crept by then."""

    on: date
    morning: int | None
    baseline: int | None
    crept: bool


@dataclass(frozen=True, slots=True)
class BaselineSeries:
    """The morning baseline over days: ``first`` of the stage with its date, and the points that are creep."""

    days: tuple[BaselineDay, ...]
    first: tuple[int, date] | None
    creep_points: int
    crept: tuple[int, int, int, date] | None
    """(difference, from, to, since) today, None when the baseline has not crept."""


def baseline_series(view: View, start: date) -> BaselineSeries:
    """Every day from ``start`` to today."""
    response = Response.of(view)
    days: list[BaselineDay] = []
    for back in range((view.today - start).days, -1, -1):
        day = view.today - back * DAY
        baseline = response.baseline(day)
        crept = baseline is not None and creep(view.at(day)) is not None
        days.append(BaselineDay(day, response.worst_value(day), baseline, crept))
    first = first_baseline(view, view.stage_start) if view.stage_start else None
    return BaselineSeries(tuple(days), first, view.rules["creep.points"], creep(view))
