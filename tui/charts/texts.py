"""What is written into a chart, cell by cell: values beside points, words at the ends of lines. Pure.

A chart is ``cells`` across and ``rows`` high; column 0 is at the left, row 0 at the top.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field
from math import ceil, floor

from rich.cells import cell_len

from armrise.store.record.light import NamedTuple, dataclass
from armrise.tui.charts.page import Page, Stroke


class Text(NamedTuple):
    """Words from a column on, in a row, in a style of the theme."""

    column: int
    row: int
    words: str
    style: str


@dataclass(frozen=True)
class Room:
    """Where days and values lie in the cells of a chart, and which cells are taken."""

    page: Page
    cells: int
    rows: int
    taken: set[tuple[int, int]] = field(default_factory=set[tuple[int, int]])

    @property
    def right(self) -> float:
        """The day at the right border: after the last, the room for the words of the lines."""
        named = max((cell_len(s.edge) for s in self.page.strokes if len(s.edge) > 1), default=0)
        inside = max(self.cells // 3, self.cells - named - 2) if named else self.cells
        return self.page.days.end * self.cells / inside

    def column(self, x: float) -> int:
        """The column in which a day lies."""
        return min(self.cells - 1, max(0, floor(x / self.right * self.cells)))

    def row(self, y: float) -> int:
        """The row in which a value lies."""
        share = (y - self.page.low) / (self.page.high - self.page.low)
        return min(self.rows - 1, max(0, ceil(self.rows - 1 - share * self.rows)))

    def free(self, column: int, row: int, words: str) -> bool:
        """True where words find room inside the chart, with a cell beside them."""
        inside = column >= 0 and column + cell_len(words) <= self.cells and 0 <= row < self.rows
        return inside and self.taken.isdisjoint(self._of(column - 1, row, cell_len(words) + 2))

    def take(self, column: int, row: int, words: str) -> None:
        """Keep these cells for these words."""
        self.taken.update(self._of(column, row, cell_len(words)))

    @staticmethod
    def _of(column: int, row: int, length: int) -> list[tuple[int, int]]:
        return [(at, row) for at in range(column, column + length)]


def shaded(room: Room) -> Iterator[tuple[str, list[tuple[int, int]]]]:
    """Each band: its character, with the columns and rows of the cells it fills, left of the words."""
    last = room.column(room.page.days.end)
    for band in room.page.bands:
        rows = range(room.row(band.high), room.row(band.low) + 1)
        yield band.char, [(column, row) for row in rows for column in range(last)]


def written(room: Room) -> list[Text]:
    """Every text of the chart: no value hides a point, no words hide a value, none is left out."""
    for marks in room.page.marks:
        for x, y in zip(marks.xs, marks.ys, strict=True):
            room.take(room.column(x), room.row(y), marks.char)
    return [*_values(room), *_edges(room)]


def _values(room: Room) -> Iterator[Text]:
    """A value right of its point, else above, below or left of it, where no other stands."""
    for marks in room.page.marks:
        for x, y, value in zip(marks.xs, marks.ys, marks.values, strict=False):
            column, row, long = room.column(x), room.row(y), cell_len(value)
            places = [(column + 2, row), (column, row - 1), (column, row + 1), (column - long - 1, row)]
            places += [(column + 2, row + by) for by in (-1, 1, -2, 2)]
            place = next((p for p in places if room.free(*p, value)), places[0])
            room.take(*place, value)
            yield Text(*place, value, "strong")


def _edges(room: Room) -> Iterator[Text]:
    """The words of each line at its right end: its own row, else the nearest that is free."""
    named = sorted((s for s in room.page.strokes if s.edge and len(s.ys)), key=lambda s: -s.ys[-1])
    for stroke in named:
        column = _beside(room, stroke) if len(stroke.edge) == 1 else room.column(room.page.days.end) + 2
        own = room.row(stroke.ys[-1])
        rows = [own] if len(stroke.edge) == 1 else sorted(range(room.rows), key=lambda row: abs(row - own))
        row = next((row for row in rows if room.free(column, row, stroke.edge)), own)
        room.take(column, row, stroke.edge)
        yield Text(column, row, stroke.edge, "strong" if len(stroke.edge) == 1 else stroke.style)


def _beside(room: Room, stroke: Stroke) -> int:
    """The last column of a line whose letter is not taken: letters of one row stand side by side."""
    column, row = room.column(stroke.xs[-1] - 1e-6), room.row(stroke.ys[-1])
    while (column, row) in room.taken and column:
        column -= 1
    return column
