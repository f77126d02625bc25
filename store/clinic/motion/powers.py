"""What one value of lift or strength shows: less than the best, no lift at all, or nothing (ruling 65)."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate
from typing import NamedTuple

from armrise.store.clinic.case.lazy import Lazy
from armrise.store.clinic.case.measured import every_real, number
from armrise.store.clinic.case.naming import tissue_onsets
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.motion import other_side
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import STRENGTHS, Measure
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


class Series:
    """All values of one measure in one unit that count, oldest first."""

    def __init__(self, name: str, unit: str, measures: Sequence[Measure]) -> None:
        self.name, self.unit, self.measures = name, unit, measures
        self._bests: dict[str | None, tuple[list[date], list[Point]]] = {}
        self._dates = [measure.on for measure in measures]
        self._most = list(accumulate(map(number, measures), max))

    @Lazy
    def points(self) -> list[Point]:
        """One a date."""
        return _by_date(self.measures)

    @Lazy
    def on_day(self) -> dict[date, Point]:
        """The same by date."""
        return {point.on: point for point in self.points}

    def most(self, day: date) -> Decimal:
        """The highest value measured up to ``day``: no best of anybody lies above it."""
        return self._most[bisect_right(self._dates, day) - 1]

    def with_most(self) -> Iterable[tuple[Measure, Decimal]]:
        """Each value with the highest up to the end of its day."""
        twice = len(set(self._dates)) < len(self._dates)
        return zip(self.measures, map(self.most, self._dates) if twice else self._most, strict=True)

    def best(self, day: date, rater: str | None = None) -> Point:
        """The highest value up to ``day``, of equals the newest: by ``rater``, or by anyone."""
        found = self._bests.get(rater)
        if found is None:
            found = self._bests[rater] = self._bests_of(rater)
        return found[1][bisect_right(found[0], day) - 1]

    def _bests_of(self, rater: str | None) -> tuple[list[date], list[Point]]:
        """The dates with a value, and the best up to each of them."""
        own = [m for m in self.measures if m.rater == rater] if rater is not None else None
        points = self.points if own is None else _by_date(own)
        return [point.on for point in points], _best_so_far(points)


class Shown(NamedTuple):
    """One cause as one value shows it: the best it is less than (None: it needs none), entries and words."""

    best: Point | None
    entries: tuple[Entry, ...]
    words: Callable[[], str]


def _by_date(measures: Iterable[Measure], *, highest: bool = False) -> list[Point]:
    """One value a date, the lowest or the highest of it, with every measure that has it."""
    found: list[Point] = []
    for measure in measures:
        on, value = measure.on, number(measure)
        last = found[-1] if found and found[-1].on == on else None
        if last is None:
            found.append(Point(on, value, (measure,)))
        elif value == last.value:
            found[-1] = last._replace(measures=(*last.measures, measure))
        elif (value > last.value) is highest:
            found[-1] = Point(on, value, (measure,))
    return found


def _best_so_far(points: Iterable[Point]) -> list[Point]:
    return list(accumulate(points, lambda best, point: point if point.value >= best.value else best))


@once_a_view
def counts_from(view: View) -> date:
    """The first visit, or the newest surgery, fracture or dislocation: values of lift and strength count
    from then on."""
    starts = [view.episode_first_visit, *(o.on for o in tissue_onsets(view))]
    return max((day for day in starts if day), default=date.max)


class Powers:
    """Lift and strength from the day on from which they count."""

    def __init__(self, view: View) -> None:
        self.view, self.rules = view, view.rules
        self.start = counts_from(view)
        self.passive = _by_date(self._since_start(PASSIVE), highest=True)
        """Of two values of a date the one that shows more lost lift."""
        self._passive_dates = [point.on for point in self.passive]
        self._best_passive = _best_so_far(self.passive)

    def _since_start(self, name: str) -> list[Measure]:
        measures, dates = every_real(self.view.history, name)
        return measures[bisect_left(dates, self.start) : bisect_right(dates, self.view.today)]

    def series(self) -> list[Series]:
        """Every series in which something was measured."""
        found = [Series(name, "degrees", of) for name in LIFTS if (of := self._since_start(name))]
        for name in STRENGTHS:
            usual, measured = self.rules.measures[name].unit, self._since_start(name)
            for unit in sorted({m.unit or usual for m in measured}):
                found.append(Series(name, unit, [m for m in measured if (m.unit or usual) == unit]))
        return found

    def causes(self, series: Series) -> tuple[str, ...]:
        """The letters of the causes that a series can show."""
        if series.name not in LIFTS:
            return ("c",)
        return ("a", "b") if series.name == FLEXION else ("a",)

    def shown(self, cause: str, series: Series, point: Point) -> Shown | None:
        """What ``point`` shows of a cause, whether or not pain limited it; None when nothing."""
        if cause == "a":
            return self._lift_lost(series, point)
        return self._no_lift(series, point) if cause == "b" else self._strength_lost(series, point)

    def suspect(self, series: Series) -> Iterator[date]:
        """The days of a series whose values can show a cause: no other is low enough, whatever it is held
        against."""
        rules, lifted = self.rules, series.name in LIFTS
        low = rules["function.lift_least"] if series.name == FLEXION else None
        least = min(rules["function.lift_loss"], rules["function.lift_loss_other"]) if lifted else 0
        least = rules["function.strength_grades"] if series.unit == GRADES else least
        share = min(rules["function.strength_loss"], rules["function.strength_loss_other"])
        in_shares = not lifted and series.unit != GRADES
        for measure, most in series.with_most():
            value = number(measure)
            less = most - value
            lost = (less > 0 and less * 100 >= share * most) if in_shares else less >= least
            if lost or (low is not None and value < low):
                yield measure.on

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
        own, others = self.rules["function.lift_loss"], self.rules["function.lift_loss_other"]
        if series.most(point.on) - point.value < min(own, others):
            return None

        def lost(best: Decimal, same: bool) -> bool:
            return best - point.value >= (own if same else others)

        best, partner = self._lost_from(series, point, lost), self.partner(point.on)
        if best is None or (partner and not self._passive_kept(point, partner)):
            return None

        def words() -> str:
            from_to = f"{self._label(series)} {plain(best.value)} to {plain(point.value)} degrees"
            return f"{from_to}, {_passive_words(partner)}"

        passive = partner.measures if partner else ()
        return Shown(best, (*best.measures, *point.measures, *passive), words)

    def _passive_kept(self, point: Point, partner: Point) -> bool:
        own = self._best_passive[bisect_right(self._passive_dates, partner.on) - 1].value
        kept = own - partner.value < self.rules["function.passive_kept"]
        return kept or partner.value - point.value >= self.rules["function.gap_large"]

    def _no_lift(self, series: Series, point: Point) -> Shown | None:
        """Cause (b): not lifted to the figure though the arm can be moved further, or the other side can."""
        rules = self.rules
        if point.value >= rules["function.lift_least"] or not self.lift_is_read(point.on):
            return None

        def words(against: str = "") -> str:
            said = f"{self.cannot_lift}: {self._label(series)} {plain(point.value)}"
            return f"{said}, {against}{_passive_words(partner)}"

        if partner := self.partner(point.on):
            far = partner.value - point.value >= rules["function.gap"]
            return Shown(None, (*point.measures, *partner.measures), words) if far else None
        other = other_side(self.view, FLEXION)
        if other is None or number(other) < rules["function.other_least"]:
            return None
        return Shown(None, (*point.measures, other), lambda: words(f"other side {plain(number(other))}, "))

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
        if series.unit != GRADES and series.most(point.on) <= point.value:
            return None

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

        def words() -> str:
            return f"{self._label(series)} {plain(best.value)} to {plain(point.value)} {series.unit}"

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
