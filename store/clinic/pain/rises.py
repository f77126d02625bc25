"""Pain and waking as told at visits, series by series: which causes of "worse at visits" a value makes true.

Each value is held against the best of its series (rulings 64, 94 and 95). What lies between the best and the
newest is carried along, so that one value more costs the same however long the series is.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
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


@dataclass(slots=True)
class Series:
    """The values of one series up to some day, and the value that an entry made the best."""

    least: tuple[int, ...]
    """Rises above the best that are asked for."""
    newest: Point | None = None
    before: Point | None = None
    """The one before the newest."""
    best: Point | None = None
    """The lowest unmasked value, of equals the newest; what was answered, until a lower one comes."""
    risen: dict[int, list[Point]] = field(default_factory=dict[int, list[Point]])
    """The values between the best and the newest that lie so far above it, by each rise asked for."""

    def add(self, point: Point) -> None:
        """One value more, on a later date than the others."""
        self.before, self.newest, best = self.newest, point, self.best
        if best is not None and self.before is not None and self.before.on > best.on:
            for least, found in self.risen.items():
                if self.before.value >= best.value + least:
                    found.append(self.before)
        if not point.masked and (best is None or point.value <= best.value):
            self.answer()

    def answer(self) -> None:
        """The newest value counts as the best from now on."""
        self.best, self.risen = self.newest, {least: [] for least in self.least}


def least_asked(rules: Rules) -> tuple[int, ...]:
    """The rises above the best that the causes ask for, in points."""
    return tuple({rules[f"visit.{name}"] for name in ("once_before", "rise", "worst_rise")})


def _at_once(rules: Rules, series: Series, best: Point, now: Point) -> Behind | None:
    """Cause (a): a large rise, very large or with another value above the best; the values it rests on."""
    rise = now.value - best.value
    if rise < rules["visit.once_rise"]:
        return None
    before = series.risen[rules["visit.once_before"]]
    if not before and rise < rules["visit.once_alone"]:
        return None
    return Behind(best, before, len(before), now)


def _confirmed(rules: Rules, series: Series, best: Point, now: Point, least: int) -> Behind | None:
    """Causes (b) and (c): risen by ``least``, and so a week or more before too; the values it rests on."""
    if now.value < best.value + least:
        return None
    before, latest = series.risen[least], now.on - timedelta(days=rules["visit.confirm_days"])
    count = bisect_right(before, latest, key=by_day)
    return Behind(best, before, count, now) if count else None


def by_day(point: Point) -> date:
    """The date of a value, to look for it by."""
    return point.on


def _waking(rules: Rules, series: Series, best: Point, now: Point) -> Behind | None:
    """Cause (e): woken on more nights, and on more the time before; the values it rests on."""
    before = series.before
    if before is None:
        return None
    risen = now.value - best.value >= rules["visit.waking_rise"]
    risen_before = before.value - best.value >= rules["visit.waking_before"]
    return Behind(best, [before], 1, now) if risen and risen_before else None


def true_causes(rules: Rules, name: str, series: Series) -> list[tuple[Cause, int, Behind]]:
    """The causes that the newest value of one series makes true, with severity and the values behind each."""
    best, now, letters = series.best, series.newest, LETTERS[name]
    if best is None or now is None:
        return []
    found: list[tuple[str, int, Behind | None]] = []
    if letters in ("ab", "d"):
        found.append((letters[0], 2, _at_once(rules, series, best, now)))
        found.append((letters[-1], 1, _confirmed(rules, series, best, now, rules["visit.rise"])))
    elif letters == "c":
        found.append(("c", 1, _confirmed(rules, series, best, now, rules["visit.worst_rise"])))
    else:
        found.append(("e", 1, _waking(rules, series, best, now)))
    return [((letter, name), severity, behind) for letter, severity, behind in found if behind]
