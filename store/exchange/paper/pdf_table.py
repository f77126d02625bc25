"""A table in a PDF: how wide its columns are, its rows one by one, its head again on every sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from armrise.store.exchange.paper.flow import Piece, tied
from armrise.store.exchange.paper.page import Table
from armrise.store.exchange.paper.pen import POINT, Pen, Sizes

GUTTER = 3.0
"""Between columns."""
INSIDE = 1.6
"""Between a frame and what is written in it."""
ROOM_TO_WRITE = 8.0
"""The least height of a row that is filled in by hand, in mm: a line of handwriting. By design."""
WITHOUT = 6.0
"""The least width of a column."""


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where columns begin and how wide their text may be."""

    pen: Pen
    sizes: Sizes
    left: float
    room: float
    size: float
    wide: tuple[float, ...]
    to_fill: bool

    @property
    def line(self) -> float:
        """The height of a line."""
        return self.size * POINT * self.sizes.apart

    @property
    def pad(self) -> float:
        """Above and below the text of a row."""
        return INSIDE if self.to_fill else 0.9

    def text_room(self, column: int) -> float:
        """How wide the text of a column may be."""
        return self.wide[column] - (2 * INSIDE if self.to_fill else GUTTER)

    def draw(self, cells: list[list[str]], high: float, bold: int, ends: bool, soft: bool, y: float) -> None:
        """Draw one row, or a piece of one; the first ``bold`` cells are bold."""
        x = self.left
        for number, (lines, wide) in enumerate(zip(cells, self.wide, strict=True)):
            if self.to_fill:
                self.pen.frame(x, y, wide, high)
            inset = INSIDE if self.to_fill else 0
            for place, line in enumerate(lines):
                down = y + self.pad + place * self.line
                self.pen.write(x + inset, down, line, self.size, number < bold, soft)
            x += wide
        if not self.to_fill and ends:
            self.pen.rule(self.left, y + high, sum(self.wide), 0.15, 0 if soft else 150)


def table_pieces(
    table: Table, pen: Pen, sizes: Sizes, left: float, room: float, tallest: float
) -> Iterator[Piece]:
    """The table as pieces; ``tallest`` is the height of an empty sheet."""
    rows = table.listed
    if table.title:
        for line in pen.lines(table.title, room, sizes.table, bold=True):
            draw = partial(_line, pen, left, line, sizes.table)
            yield Piece(sizes.table * POINT * sizes.apart + 0.6, draw, tied=True)
    size = _size(table, rows, pen, sizes, room)
    if size is None:
        for cells in rows:
            yield from _under_each_other(table, cells, pen, sizes, left, room)
        return
    wide = _widths(table, rows, pen, size, room)
    grid = _Grid(pen, sizes, left, room, size, tuple(wide), table.to_fill)
    head = tuple(_row(grid, table.head, len(table.head), tallest, soft=True)) if any(table.head) else ()
    yield from (Piece(piece.high, piece.draw, tied=True) for piece in head)
    most = tallest - sum(piece.high for piece in head)
    for cells in rows:
        for piece in _row(grid, cells, 1, most, soft=False):
            yield Piece(piece.high, piece.draw, piece.tied, again=head)


def _line(pen: Pen, left: float, line: str, size: float, y: float) -> None:
    pen.write(left, y, line, size, bold=True)


def _row(grid: _Grid, cells: Sequence[str], bold: int, most: float, *, soft: bool) -> Iterator[Piece]:
    """One row; one that is taller than a sheet in several pieces."""
    lines = [
        grid.pen.lined(cell, grid.text_room(column), grid.size, column < bold)
        for column, cell in enumerate(cells)
    ]
    fits = max(1, int((most - 2 * grid.pad) / grid.line))
    count = max(map(len, lines))
    for first in range(0, count, fits):
        part = [of[first : first + fits] for of in lines]
        high = max(map(len, part)) * grid.line + 2 * grid.pad
        if grid.to_fill and not all(cells):
            high = max(high, ROOM_TO_WRITE)
        yield Piece(high, partial(grid.draw, part, high, bold, first + fits >= count, soft))


# --- columns --------------------------------------------------------------------------------------------


def _size(table: Table, rows: Sequence[Sequence[str]], pen: Pen, sizes: Sizes, room: float) -> float | None:
    """The largest letters in which no word has to be cut; None where there are none, unless it is a form."""
    size = sizes.table
    while size >= sizes.smallest:
        if sum(_least(table, rows, pen, size, room)) <= room:
            return size
        size -= 0.5
    return sizes.smallest if table.to_fill else None


def _between(table: Table) -> float:
    return 2 * INSIDE if table.to_fill else GUTTER


def _least(table: Table, rows: Sequence[Sequence[str]], pen: Pen, size: float, room: float) -> list[float]:
    """The width of the widest word of each column; one wider than half of the paper is cut in any case."""
    found: list[float] = []
    for column, head in enumerate(table.head):
        words = [pen.longest(head, size, bold=True)]
        words += [pen.longest(cells[column], size, column == 0) for cells in rows]
        found.append(max(WITHOUT, min(max(words), room / 2) + _between(table) + 0.1))
    return found


def _widths(table: Table, rows: Sequence[Sequence[str]], pen: Pen, size: float, room: float) -> list[float]:
    """By the shares given, or by what the columns hold; none narrower than its widest word if that can be."""
    least = _least(table, rows, pen, size, room)
    if sum(least) > room:
        return [wide * room / sum(least) for wide in least]
    if table.widths:
        wished = [share * room / sum(table.widths) for share in table.widths]
        return _given(least, [max(low, wish) for low, wish in zip(least, wished, strict=True)], room)
    whole = [
        _whole(pen, column, (head, *(cells[column] for cells in rows)), size)
        for column, head in enumerate(table.head)
    ]
    wished = [max(low, max(of) + _between(table) + 0.1) for low, of in zip(least, whole, strict=True)]
    if table.to_fill and sum(wished) < room:
        return [wide * room / sum(wished) for wide in wished]
    broken = [sum(max(0.0, one - low) for one in of) for low, of in zip(least, whole, strict=True)]
    return _shared(least, wished, broken, room)


def _whole(pen: Pen, column: int, texts: Sequence[str], size: float) -> list[float]:
    """How wide each cell of a column is in one line, its head first."""
    return [pen.whole(text, size, column == 0 or not row) for row, text in enumerate(texts)]


def _given(least: Sequence[float], wished: Sequence[float], room: float) -> list[float]:
    """What is wished where there is room; else what is over goes to those that wish more, as they wish."""
    return _shared(least, wished, [wish - low for low, wish in zip(least, wished, strict=True)], room)


def _shared(
    least: Sequence[float], wished: Sequence[float], weights: Sequence[float], room: float
) -> list[float]:
    """What is left of the room by weight, to none more than it wishes."""
    wide: list[float] = list(least)
    open_: list[int] = [n for n, weight in enumerate(weights) if weight > 0]
    while open_ and (over := room - sum(wide)) > 0.01:
        all_of = sum(weights[n] for n in open_)
        for n in open_:
            wide[n] = min(wished[n], wide[n] + over * weights[n] / all_of)
        open_ = [n for n in open_ if wide[n] < wished[n] - 0.01]
    return wide


# --- where no columns fit -------------------------------------------------------------------------------


def _under_each_other(
    table: Table, cells: Sequence[str], pen: Pen, sizes: Sizes, left: float, room: float
) -> Iterator[Piece]:
    """A row whose words are too long for columns: each cell on its own lines, after its column's name."""
    made: list[Piece] = []
    high = sizes.table * POINT * sizes.apart
    for column, (head, cell) in enumerate(zip(table.head, cells, strict=True)):
        text = cell if column == 0 or not head else f"{head}: {cell or '-'}"
        inset = 0 if column == 0 else 5
        for line in pen.lined(text, room - inset, sizes.table, column == 0):
            draw = partial(_stacked, pen, left + inset, line, sizes.table, column == 0)
            made.append(Piece(high, draw))
    yield from tied(made)
    yield Piece(1.5, space=True)


def _stacked(pen: Pen, x: float, line: str, size: float, bold: bool, y: float) -> None:
    pen.write(x, y, line, size, bold)
