"""Which line of the list is what: headings, and rows of as many lines as they need, one of them opened.

Opening a row costs the same in a list of any length. Pure: codes and numbers of lines.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple


class Row(NamedTuple):
    """One line of the list: a heading, or a line of a case."""

    group: int
    """Under which heading, from 0."""
    code: str = ""
    """Empty for the heading itself."""
    line: int = 0
    """Which line of its case, from 0."""


class Layout:
    """The lines of a list in their order."""

    def __init__(
        self, groups: Iterable[Sequence[str]] = (), height: Callable[[str], int] = lambda _: 1
    ) -> None:
        """``groups``: the codes under each heading; ``height``: the lines of a row that is not opened.

        The first heading is no line of the list, unless nothing stands under it: it has its fixed place.
        """
        self._rows: list[Row] = []
        """Every line, with no row opened."""
        self.places: dict[str, int] = {}
        """Where the first line of each case is among them."""
        self.heights: dict[str, int] = {}
        self.opened = ""
        """The code of the opened row; empty for none."""
        self._more = 0
        """How many lines opening adds to it."""
        for number, codes in enumerate(groups):
            if number or not codes:
                self._rows.append(Row(number))
            for code in codes:
                self.places[code], self.heights[code] = len(self._rows), height(code)
                self._rows += [Row(number, code, line) for line in range(self.heights[code])]

    def open(self, code: str, height: int) -> None:
        """Open this row, of so many lines then, and close the one that was; no code opens none."""
        self.opened = code
        self._more = height - self.heights[code] if code else 0

    @property
    def height(self) -> int:
        """How many lines there are."""
        return len(self._rows) + self._more

    def place(self, code: str) -> int:
        """The line on which a case begins."""
        place = self.places[code]
        return place + self._more if self.opened and place > self.places[self.opened] else place

    def height_of(self, code: str) -> int:
        """How many lines a case has."""
        return self.heights[code] + (self._more if code == self.opened else 0)

    def row(self, y: int) -> Row | None:
        """What line ``y`` is, from 0; None beyond the last."""
        if self.opened:
            start = self.places[self.opened]
            end = start + self.height_of(self.opened)
            if start <= y < end:
                return self._rows[start]._replace(line=y - start)
            y -= self._more if y >= end else 0
        return self._rows[y] if 0 <= y < len(self._rows) else None

    def paged(self, code: str, lines: int) -> str:
        """The case so many lines below, or above when negative: at least the next one, at most the last."""
        codes, places = list(self.places), list(self.places.values())
        here, wanted = codes.index(code), self.places[code] + lines
        if lines > 0:
            return codes[min(len(codes) - 1, max(here + 1, bisect_right(places, wanted) - 1))]
        return codes[max(0, min(here - 1, bisect_left(places, wanted)))]
