"""One page of the charts as plain data: what is drawn, how it is read, and the same values as a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from textwrap import wrap

from rich.cells import cell_len

from armrise.store.record.light import NamedTuple, dataclass
from armrise.store.record.words import month_day
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

SOLID, DASHES, DOTS = "solid", "dashes", "dots"
DRAWN = {SOLID: "──", DASHES: "╌╌", DOTS: "┈┈"}
"""How each kind of line looks in the legend."""
DAY, WEEK = timedelta(days=1), timedelta(days=7)
LETTERS = 1.05
"""How much wider than its days a chart is."""
TICK_CELLS = 9
"""Cells a date takes below the chart, with the space beside it."""


class Marks(NamedTuple):
    """Points drawn with one character each; ``words`` say in the legend what they are."""

    xs: Sequence[float]
    ys: Sequence[float]
    char: str
    words: str
    style: str = "strong"
    values: Sequence[str] = ()
    """What is printed beside each point; nothing where the axis alone tells the value."""


class Stroke(NamedTuple):
    """A line through points. ``edge`` stands at its right end, so that no line is told by colour.

    A letter, which the legend explains by ``words``, or the words themselves.
    """

    xs: Sequence[float]
    ys: Sequence[float]
    kind: str = SOLID
    edge: str = ""
    words: str = ""
    style: str = ""


class Band(NamedTuple):
    """Values from ``low`` to ``high`` shaded over all days; ``words`` say in the legend what they are."""

    low: float
    high: float
    words: str
    char: str = "░"


class Column(NamedTuple):
    """A column of the table."""

    head: str
    right: bool = False


class Above(NamedTuple):
    """A word in the row above the chart, at ``x``."""

    x: float
    text: str


@dataclass(frozen=True)
class Page:
    """A chart with its reading. ``empty`` is what is said, and what to record, where there is no value."""

    title: str
    days: Days
    marks: Sequence[Marks] = ()
    strokes: Sequence[Stroke] = ()
    bands: Sequence[Band] = ()
    above: Sequence[Sequence[Above]] = ()
    low: float = 0
    high: float = 10
    ticks: Sequence[float] = ()
    tick_words: Mapping[float, str] = field(default_factory=dict[float, str])
    """What stands at the ticks in place of their numbers."""
    notes: Sequence[str] = ()
    columns: Sequence[Column] = ()
    rows: Sequence[Sequence[str]] = ()
    empty: str = ""
    legend: str = field(init=False, default="")

    def __post_init__(self) -> None:
        told = [f"{m.char} {m.words}" for m in self.marks if m.words and len(m.xs)]
        told += [f"{DRAWN[s.kind]}{s.edge} {s.words}" for s in self.strokes if s.words and len(s.xs)]
        told += [f"{band.char} {band.words}" for band in self.bands]
        object.__setattr__(self, "legend", "   ".join(dict.fromkeys(told)))


@dataclass(frozen=True)
class Days:
    """The axis of days: ``first`` is 0, a little after ``today`` the right end."""

    first: date
    today: date

    @classmethod
    def of(cls, dates: Sequence[date], today: date) -> Days:
        """From a little before the first of ``dates`` to today: two weeks at least."""
        first = min(dates, default=today)
        return cls(min(first - max(1, (today - first).days // 20) * DAY, today - 13 * DAY), today)

    def at(self, day: date, part: float = 0.0) -> float:
        """Where a day lies; ``part`` 0 to 1 is how far through it."""
        return (day - self.first).days + part

    @property
    def end(self) -> float:
        """The right end: the end of today, and room for the letters of the lines."""
        return self.at(self.today, 1.0) * LETTERS

    def ticks(self, cells: int) -> list[tuple[float, str]]:
        """Mondays with their dates, as far apart as their words need in ``cells``; none cut at an end."""
        weeks = max(1, -(-int(self.end) * TICK_CELLS // max(1, cells) // 7))
        monday = self.first + timedelta(days=-self.first.weekday() % 7)
        found: list[tuple[float, str]] = []
        edge = TICK_CELLS / 3 * self.end / max(1, cells)
        while monday <= self.today:
            at = self.at(monday)
            if edge <= at <= self.end - edge:
                found.append((at, month_day(monday)))
            monday += weeks * WEEK
        return found


def steps(low: float, high: float, by: int) -> list[float]:
    """The multiples of ``by`` from ``low`` to ``high``."""
    first = -(-int(low) // by) * by
    return [float(n) for n in range(first, int(high) + 1, by)]


def tabled(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> list[Line]:
    """Head and rows in columns as wide as their widest word; the last takes the rest and hangs."""
    last = len(columns) - 1
    cells = [[c.head, *(row[n] for row in rows)] for n, c in enumerate(columns)]
    wide = [max(map(cell_len, column)) for column in cells]
    lead = sum(wide[:last]) + 2 * last
    wide[last] = max(12, width - lead)
    lines = [_row([c.head for c in columns], columns, wide, "head")]
    for row in rows:
        first, *more = wrap(row[last], wide[last]) or [""]
        for shown in ([*row[:last], first], *([*[""] * last, part] for part in more)):
            lines.append(_row(shown, columns, wide, ""))
    return lines


def _row(texts: Sequence[str], columns: Sequence[Column], wide: Sequence[int], style: str) -> Line:
    parts = [words.fit(t, w, right=c.right) for t, w, c in zip(texts, wide, columns, strict=True)]
    return [Span("  ".join(parts).rstrip(), style)]
