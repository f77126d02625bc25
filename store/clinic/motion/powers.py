"""What one value of lift or strength shows: less than the best, no lift at all, or nothing (ruling 65)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import accumulate, groupby
from typing import NamedTuple

from armrise.store.clinic.case.naming import tissue_onsets
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.motion import number, other_side, values
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import STRENGTHS, Measure
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain

FLEXION, PASSIVE = "active_flexion", "passive_flexion"
LIFTS = (FLEXION, "active_abduction")
GRADES = "grade 0-5"


class Point(NamedTuple):
    """The worst value of one series on one date."""

    on: date
    value: Decimal
    measures: tuple[Measure, ...]

    @property
    def limited(self) -> bool:
        """True when pain or guarding may have made it as low as it is."""
        return all(m.limited_by in ("pain", "guarding") for m in self.measures)

    @property
    def raters(self) -> set[str]:
        """Who measured it, as far as it was said."""
        return {m.rater for m in self.measures if m.rater is not None}


@dataclass(frozen=True)
class Series:
    """All values of one measure in one unit that count, oldest first."""

    name: str
    unit: str
    measures: tuple[Measure, ...]

    @cached_property
    def points(self) -> list[Point]:
        """One a date."""
        return _by_date(self.measures, min)

    @cached_property
    def on_day(self) -> dict[date, Point]:
        """The same by date."""
        return {point.on: point for point in self.points}

    @cached_property
    def _bests(self) -> dict[str | None, tuple[list[date], list[Point]]]:
        """The dates with a value and the best up to each of them, by rater and (None) by anyone."""
        raters = {m.rater for m in self.measures if m.rater is not None}
        of_one = {rater: [m for m in self.measures if m.rater == rater] for rater in raters}
        points = {rater: _by_date(found, min) for rater, found in of_one.items()}
        every: dict[str | None, list[Point]] = {**points, None: self.points}
        return {rater: ([p.on for p in found], _best_so_far(found)) for rater, found in every.items()}

    def best(self, day: date, rater: str | None = None) -> Point:
        """The highest value up to ``day``, of equals the newest: by ``rater``, or by anyone."""
        dates, bests = self._bests[rater]
        return bests[bisect_right(dates, day) - 1]


class Shown(NamedTuple):
    """One cause as one value shows it: the best it is less than (None: it needs none), entries and words."""

    best: Point | None
    entries: tuple[Entry, ...]
    words: str


def _by_date(measures: Iterable[Measure], worst: Callable[[Iterable[Decimal]], Decimal]) -> list[Point]:
    found: list[Point] = []
    for on, together in groupby(measures, key=lambda m: m.on):
        same_day = list(together)
        value = worst(number(m) for m in same_day)
        found.append(Point(on, value, tuple(m for m in same_day if number(m) == value)))
    return found


def _best_so_far(points: Iterable[Point]) -> list[Point]:
    return list(accumulate(points, lambda best, point: point if point.value >= best.value else best))


class Powers:
    """Lift and strength from the first visit, or from the newest surgery, fracture or dislocation on."""

    def __init__(self, view: View) -> None:
        self.view, self.rules = view, view.rules
        starts = [view.episode_first_visit, *(o.on for o in tissue_onsets(view))]
        self.start = max((day for day in starts if day), default=date.max)
        self.passive = _by_date(self._since_start(PASSIVE), max)
        """Of two values of a date the one that shows more lost lift."""
        self._passive_dates = [point.on for point in self.passive]
        self._best_passive = _best_so_far(self.passive)

    def _since_start(self, name: str) -> list[Measure]:
        return [m for m in values(self.view, name) if m.on >= self.start]

    def series(self) -> list[Series]:
        """Every series in which something was measured."""
        found = [Series(name, "degrees", tuple(self._since_start(name))) for name in LIFTS]
        for name in STRENGTHS:
            usual, measured = self.rules.measures[name].unit, self._since_start(name)
            for unit in sorted({m.unit or usual for m in measured}):
                alike = tuple(m for m in measured if (m.unit or usual) == unit)
                found.append(Series(name, unit, alike))
        return [one for one in found if one.measures]

    def causes(self, series: Series) -> tuple[str, ...]:
        """The letters of the causes that a series can show."""
        if series.name not in LIFTS:
            return ("c",)
        return ("a", "b") if series.name == FLEXION else ("a",)

    def shown(self, cause: str, series: Series, point: Point) -> Shown | None:
        """What ``point`` shows of a cause, whether or not pain limited it; None when nothing."""
        return {"a": self._lift_lost, "b": self._no_lift, "c": self._strength_lost}[cause](series, point)

    def counts(self, cause: str, series: Series, point: Point, shown: Shown) -> bool:
        """What pain limits counts only when an earlier value, after the best, showed the same."""
        if not point.limited:
            return True
        latest = point.on - timedelta(days=self.rules["function.limited_days"])
        first = shown.best.on if shown.best else date.min
        earlier = [p for p in series.points if first < p.on <= latest]
        return any(self.shown(cause, series, p) for p in earlier)

    def partner(self, day: date) -> Point | None:
        """The newest passive flexion measured near ``day``; None when there is none."""
        near = timedelta(days=self.rules["function.passive_days"])
        at = bisect_right(self._passive_dates, day + near)
        return self.passive[at - 1] if at and self._passive_dates[at - 1] >= day - near else None

    def passive_soon_after(self, day: date) -> bool:
        """Whether passive flexion was measured after ``day``, near enough for a value of up to that day."""
        near = timedelta(days=self.rules["function.passive_days"])
        dates = self._passive_dates
        return bisect_right(dates, day) < bisect_right(dates, day + near)

    # --- the causes -------------------------------------------------------------------------------------

    def _lost_from(self, series: Series, point: Point, lost: Callable[[Decimal, bool], bool]) -> Point | None:
        """The best that ``point`` lies too far below: that of the same rater, else that of anyone."""
        bests = [(series.best(point.on, rater), True) for rater in sorted(point.raters)]
        bests.append((series.best(point.on), False))
        return next((best for best, same in bests if lost(best.value, same)), None)

    def _lift_lost(self, series: Series, point: Point) -> Shown | None:
        """Cause (a): lift lost while the arm can still be moved as far, or nobody measured whether it can."""
        rules = self.rules

        def lost(best: Decimal, same: bool) -> bool:
            return best - point.value >= rules["function.lift_loss" if same else "function.lift_loss_other"]

        best, partner = self._lost_from(series, point, lost), self.partner(point.on)
        if best is None or (partner and not self._passive_kept(point, partner)):
            return None
        words = f"{self._label(series)} {plain(best.value)} to {plain(point.value)} degrees"
        passive = partner.measures if partner else ()
        entries = (*best.measures, *point.measures, *passive)
        return Shown(best, entries, f"{words}, {_passive_words(partner)}")

    def _passive_kept(self, point: Point, partner: Point) -> bool:
        own = self._best_passive[bisect_right(self._passive_dates, partner.on) - 1].value
        kept = own - partner.value < self.rules["function.passive_kept"]
        return kept or partner.value - point.value >= self.rules["function.gap_large"]

    def _no_lift(self, series: Series, point: Point) -> Shown | None:
        """Cause (b): not lifted to the figure though the arm can be moved further, or the other side can."""
        rules, partner = self.rules, self.partner(point.on)
        if point.value >= rules["function.lift_least"] or not self.lift_is_read(point.on):
            return None
        words = f"{self.cannot_lift}: {self._label(series)} {plain(point.value)}"
        if partner:
            far = partner.value - point.value >= rules["function.gap"]
            entries = (*point.measures, *partner.measures)
            return Shown(None, entries, f"{words}, {_passive_words(partner)}") if far else None
        other = other_side(self.view, FLEXION)
        if other is None or number(other) < rules["function.other_least"]:
            return None
        said = f"{words}, other side {plain(number(other))}, {_passive_words(None)}"
        return Shown(None, (*point.measures, other), said)

    @property
    def cannot_lift(self) -> str:
        """Cause (b) in words."""
        return f"cannot lift to {self.rules['function.lift_least']} degrees"

    def lift_is_read(self, day: date) -> bool:
        """Whether a look of ``day`` can show cause (b): there the arm should be lifted by then."""
        pathway = self.view.pathway
        rule = pathway.lift_rule_from if pathway else None
        if pathway is None or rule is None:
            return True
        if rule.stage:
            stage = self.view.history.stage_on(day)
            return stage is not None and pathway.index(stage.code) >= pathway.index(rule.stage)
        if rule.days is None or rule.never:
            return False
        onset = self.view.onset_for(pathway, day)
        return rule.days.whole == 0 or (onset is not None and (day - onset.on).days >= rule.days.whole)

    def _strength_lost(self, series: Series, point: Point) -> Shown | None:
        """Cause (c): strength lost beyond the error of measuring it."""
        rules = self.rules

        def lost(best: Decimal, same: bool) -> bool:
            less = best - point.value
            if series.unit == GRADES:
                return less >= rules["function.strength_grades"]
            if less <= 0 or (series.unit == "kg" and less < rules["function.strength_least"]):
                return False
            share = rules["function.strength_loss" if same else "function.strength_loss_other"]
            return less * 100 >= share * best

        best = self._lost_from(series, point, lost)
        if best is None:
            return None
        words = f"{self._label(series)} {plain(best.value)} to {plain(point.value)} {series.unit}"
        return Shown(best, (*best.measures, *point.measures), words)

    # --- how far ----------------------------------------------------------------------------------------

    def back(self, series: Series, point: Point) -> bool:
        """Whether ``point`` is near enough to the best for a loss to be over."""
        best = series.best(point.on).value
        return best - point.value <= self._step(series, best)

    def further(self, series: Series, answered: Decimal, point: Point) -> bool:
        """Whether so much more is lost than was answered that it speaks again; of grades any."""
        less = answered - point.value
        return less > 0 and (series.unit == GRADES or less >= self._step(series, answered))

    def _step(self, series: Series, value: Decimal) -> Decimal:
        if series.name in LIFTS:
            return Decimal(self.rules["function.back"])
        return value * self.rules["function.back_percent"] / 100

    def _label(self, series: Series) -> str:
        return self.rules.measures[series.name].label


def _passive_words(partner: Point | None) -> str:
    return f"passive flexion {plain(partner.value)}" if partner else "passive not measured: measure it"
