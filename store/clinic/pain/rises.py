"""Pain and waking as told at visits, series by series: which causes of "worse at visits" a value makes true.

Each value is held against the best of its series (rulings 64, 94 and 95). What lies between the best and the
newest is carried along, so that one value more costs the same however long the series is.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple

from armrise.store.record.kinds.head import Entry
from armrise.store.rules.pathway import Rules

USUAL_MORNING = "usual_morning"
REST, NIGHT = "rest_pain", "night_pain"
LETTERS = {REST: "ab", NIGHT: "ab", "worst_pain": "c", USUAL_MORNING: "d", "night_waking": "e"}
"""The series in the order they are printed, and the causes each can give."""
Cause = tuple[str, str]
"""The letter of the ruling and the series; (f) is of two series and names none."""


class Point(NamedTuple):
    """The worst value of one series on one date."""

    on: date
    value: Decimal
    entries: tuple[Entry, ...]
    masked: bool


class Behind(NamedTuple):
    """The values that make a cause true: ``first``, so many of a run that only grows, and the newest."""

    first: Point
    run: list[Point]
    many: int
    last: Point

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The entries that told them, the oldest value first."""
        points = (self.first, *self.run[: self.many], self.last)
        return tuple(entry for point in points for entry in point.entries)


class Figures(NamedTuple):
    """The figures of the causes, in points or nights, as the rule file has them."""

    once_rise: int
    once_alone: int
    once_before: int
    rise: int
    worst_rise: int
    waking_rise: int
    waking_before: int
    confirm: timedelta

    @classmethod
    def of(cls, rules: Rules) -> Figures:
        return cls(
            rules["visit.once_rise"],
            rules["visit.once_alone"],
            rules["visit.once_before"],
            rules["visit.rise"],
            rules["visit.worst_rise"],
            rules["visit.waking_rise"],
            rules["visit.waking_before"],
            timedelta(days=rules["visit.confirm_days"]),
        )

    def least(self, name: str) -> Decimal:
        """The rise of a series below which nothing of it is true."""
        letters = LETTERS[name]
        if letters in _AT_ONCE:
            return Decimal(min(self.rise, self.once_rise))
        return Decimal(self.worst_rise if letters == "c" else self.waking_rise)


_AT_ONCE = ("ab", "d")
"""The letters of the series of which a large rise counts at once."""


class Series:
    """The values of one series up to some day, and the value that an entry made the best."""

    def __init__(self, name: str, figures: Figures) -> None:
        self.figures = figures
        self.newest: Point | None = None
        self.before: Point | None = None
        """The one before the newest."""
        self.best: Point | None = None
        """The lowest unmasked value, of equals the newest; what was answered, until a lower one comes."""
        self.high: list[Point] = []
        """The values between the best and the newest so far above it that a large rise counts at once."""
        self.risen: list[Point] = []
        """Those far enough above it to confirm a later one."""
        self._risen_on: list[date] = []
        letters = LETTERS[name]
        self._first, self._last = (letters[0], name), (letters[-1], name)
        self._confirms = figures.worst_rise if letters == "c" else figures.rise
        self._at_once, self._by_nights = letters in _AT_ONCE, letters == "e"
        self._least = figures.least(name)

    def add(self, point: Point) -> None:
        """One value more, on a later date than the others."""
        before = self.before = self.newest
        best, self.newest = self.best, point
        if best is not None and before is not None and before.on > best.on and not self._by_nights:
            rise = before.value - best.value
            if rise >= self.figures.once_before:
                self.high.append(before)
            if rise >= self._confirms:
                self.risen.append(before)
                self._risen_on.append(before.on)
        if not point.masked and (best is None or point.value <= best.value):
            self.answer()

    def answer(self) -> None:
        """The newest value counts as the best from now on."""
        self.best, self.high, self.risen, self._risen_on = self.newest, [], [], []

    def causes(self) -> list[tuple[Cause, int, Behind]]:
        """The causes that the newest value makes true, with severity and the values behind each."""
        best, now = self.best, self.newest
        if best is None or now is None or (rise := now.value - best.value) < self._least:
            return []
        found = (
            (self._first, 2, self._large(rise, best, now) if self._at_once else None),
            (self._last, 1, (self._waking if self._by_nights else self._confirmed)(rise, best, now)),
        )
        return [(cause, severity, behind) for cause, severity, behind in found if behind]

    def _large(self, rise: Decimal, best: Point, now: Point) -> Behind | None:
        """Cause (a): a large rise, very large or with another value above the best; what it rests on."""
        if rise < self.figures.once_rise or (not self.high and rise < self.figures.once_alone):
            return None
        return Behind(best, self.high, len(self.high), now)

    def _confirmed(self, rise: Decimal, best: Point, now: Point) -> Behind | None:
        """Causes (b) and (c): risen so far, and so a week or more before too; the values it rests on."""
        if rise < self._confirms:
            return None
        count = bisect_right(self._risen_on, now.on - self.figures.confirm)
        return Behind(best, self.risen, count, now) if count else None

    def _waking(self, rise: Decimal, best: Point, now: Point) -> Behind | None:
        """Cause (e): woken on more nights, and on more the time before; the values it rests on."""
        before = self.before
        if before is None or rise < self.figures.waking_rise:
            return None
        risen_before = before.value - best.value >= self.figures.waking_before
        return Behind(best, [before], 1, now) if risen_before else None


def by_day(point: Point) -> date:
    """The date of a value, to look for it by."""
    return point.on
