"""A page drawn as lines of text: fine dots for lines, a character a point, axes with round values. Pure.

A cell holds two by four fine dots, those of a braille letter (Unicode 2800 to 28FF). What is drawn later
stands before what was drawn earlier: shading, lines, words, points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from math import floor

from armrise.tui.charts.page import DASHES, DOTS, Page, Stroke
from armrise.tui.charts.texts import Room, shaded, written
from armrise.tui.widgets.rows import Line, Span

LEFT = 6
"""Cells left of the chart, for the numbers of its axis."""
BENEATH = 2
"""Rows beneath the chart: its axis, and the dates."""
ACROSS, DOWN = 2, 4
"""Fine dots in a cell."""
PATTERN = {DASHES: (6, 4), DOTS: (1, 3)}
"""Fine dots drawn and left out along a line."""
EMPTY, BRAILLE = " ", 0x2800
BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
"""What each fine dot adds to the letter: by column, then by row (Unicode, Braille Patterns)."""

Dot = tuple[int, int]
"""A fine dot: its column from the left, its row from the top."""


def lines(page: Page, width: int, height: int) -> list[Line]:
    """The chart with its axes in ``width`` by ``height`` cells; nothing where that is too small for one."""
    cells, rows = width - LEFT - 2, height - BENEATH
    if cells < 2 or rows < 1:
        return []
    room = Room(page, cells, rows)
    sheet = Sheet(room)
    sheet.draw()
    return [*_with_numbers(sheet, room), *_dates(room)]


class Sheet:
    """The cells of a chart: of each what stands in it, and in which style of the theme."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.cells = [[(EMPTY, "")] * room.cells for _ in range(room.rows)]
        self._dots: dict[tuple[int, int], int] = {}
        """The fine dots of a cell, by its column and row."""

    def draw(self) -> None:
        """Everything on the page, from what lies behind to what lies before."""
        for char, places in shaded(self.room):
            for place in places:
                self._put(*place, char, "muted")
        for stroke in self.room.page.strokes:
            for dot in dots(self.room, stroke):
                self._dot(dot, stroke.style)
        for text in written(self.room):
            for n, char in enumerate(text.words):
                self._put(text.column + n, text.row, char, text.style)
        for marks in self.room.page.marks:
            for x, y in zip(marks.xs, marks.ys, strict=True):
                self._put(self.room.column(x), self.room.row(y), marks.char, marks.style)

    def _put(self, column: int, row: int, char: str, style: str) -> None:
        if 0 <= column < self.room.cells and 0 <= row < self.room.rows:
            self.cells[row][column] = (char, style)

    def _dot(self, dot: Dot, style: str) -> None:
        (column, across), (row, down) = divmod(dot[0], ACROSS), divmod(dot[1], DOWN)
        if 0 <= column < self.room.cells and 0 <= row < self.room.rows:
            found = self._dots[column, row] = self._dots.get((column, row), 0) | BITS[across][down]
            self.cells[row][column] = (chr(BRAILLE + found), style)


def dots(room: Room, stroke: Stroke) -> Iterator[Dot]:
    """The fine dots of a line; of dashes and dots those of their pattern, whatever the width."""
    on, off = PATTERN.get(stroke.kind, (1, 0))
    points = [_dot(room, x, y) for x, y in zip(stroke.xs, stroke.ys, strict=True)]
    drawn = [dot for start, end in pairwise(points) for dot in _between(start, end)]
    for n, dot in enumerate(dict.fromkeys(drawn)):
        if n % (on + off) < on:
            yield dot


def _dot(room: Room, x: float, y: float) -> Dot:
    """The fine dot of a day and a value: in the cell, and beside the middle, of a point of that value.

    So a value at its limit stands on the line, and not above or beneath it. Of two lines in one row the
    higher takes the upper of the two dots in the middle.
    """
    across = room.cells * ACROSS
    above = (room.page.high - y) / (room.page.high - room.page.low) * room.rows
    row = room.row(y)
    column = min(across - 1, max(0, floor(x / room.right * across)))
    return column, row * DOWN + (1 if above - row <= 0.5 else 2)


def _between(start: Dot, end: Dot) -> Iterator[Dot]:
    """The dots of the straight line from one to another, both among them."""
    (x, y), (to_x, to_y) = start, end
    steps = max(abs(to_x - x), abs(to_y - y), 1)
    for n in range(steps + 1):
        yield round(x + (to_x - x) * n / steps), round(y + (to_y - y) * n / steps)


def _with_numbers(sheet: Sheet, room: Room) -> Iterator[Line]:
    """The rows of the chart, each behind the axis and its number, if a tick lies in it."""
    numbers: dict[int, str] = {}
    for tick in sorted(room.page.ticks):
        numbers.setdefault(room.row(tick), room.page.tick_words.get(tick, f"{tick:g}"))
    for row, cells in enumerate(sheet.cells):
        number = numbers.get(row, "")
        yield [Span(f"{number:>{LEFT - 1}} "), Span("┤" if number else "│", "muted"), *_spans(cells)]


def _spans(cells: Sequence[tuple[str, str]]) -> Iterator[Span]:
    for style, run in groupby(cells, key=lambda cell: cell[1]):
        yield Span("".join(char for char, _ in run), style)


def _dates(room: Room) -> Iterator[Line]:
    """The axis of days with its ticks, and beneath them their dates."""
    axis, dates = ["─"] * room.cells, ""
    for at, words in room.page.days.ticks(room.column(room.page.days.end)):
        column = room.column(at)
        axis[column] = "┬"
        start = max(len(dates) + 1 if dates else 0, LEFT + 1 + column - len(words) // 2)
        dates = dates.ljust(start) + words
    yield [Span(" " * LEFT), Span("└" + "".join(axis), "muted")]
    yield [Span(dates)]
