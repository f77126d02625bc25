"""Which line of the list is what: headings, and rows of as many lines as they need, one of them opened.

Opening a row costs the same in a list of any length. How many lines a row takes is asked for when somebody
looks at it or beyond it: every line above and in the window is where it will stay, and only the length of
what lies below may still be estimated. Pure: codes and numbers of lines.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from itertools import accumulate

from armrise.store.record.light import NamedTuple

ESTIMATED = 2
"""Lines of a row that nobody has looked at yet."""


class Row(NamedTuple):
    """One line of the list: a heading, or a line of a case."""

    group: int
    """Under which heading, from 0."""
    code: str = ""
    """Empty for the heading itself."""
    line: int = 0
    """Which line of its case, from 0."""


def none_known(group: int, codes: Sequence[str]) -> list[int]:
    """No height is known before it is asked for."""
    return [0] * len(codes)


class Layout:
    """The lines of a list in their order."""

    def __init__(
        self,
        groups: Iterable[Sequence[str]] = (),
        height: Callable[[str], int] = lambda _: 1,
        known: Callable[[int, Sequence[str]], list[int]] = none_known,
    ) -> None:
        """``groups``: the codes under each heading; ``height``: the lines of a row that is not opened;
        ``known``: those of a whole group as far as they are known already, else 0.

        The first heading is no line of the list, unless nothing stands under it: it has its fixed place.
        """
        self.codes: list[str] = []
        self.opened = ""
        """The code of the opened row; empty for none."""
        self._more = 0
        """How many lines opening adds to it."""
        self._items: list[str] = []
        """Every heading, which is empty, and every case."""
        self._lines: list[int] = []
        """How many lines each of them takes; 0 is not known yet."""
        self._begins: list[int] = []
        """With which of them each group begins."""
        self._headed: list[int] = []
        """How many cases stand before each heading that is a line."""
        self._height = height
        for number, codes in enumerate(groups):
            self._begins.append(len(self._items))
            if number or not codes:
                self._headed.append(len(self.codes))
                self._items.append("")
                self._lines.append(1)
            self.codes += codes
            self._items += codes
            self._lines += known(number, codes)
        self.index = dict(zip(self.codes, range(len(self.codes)), strict=True))
        """Which case of the list each is, from 0."""
        unknown = self._lines.count(0)
        first = self._lines.index(0) if unknown else len(self._lines)
        self._starts = list(accumulate(self._lines[:first], initial=0))
        """Where each of them begins as far as that is known, and then where the next one does."""
        self._below = sum(self._lines[first:]) + ESTIMATED * unknown
        """The lines from there on, as far as they are known."""

    def __contains__(self, code: str) -> bool:
        return code in self.index

    @property
    def settled(self) -> bool:
        """True when every height is known."""
        return len(self._starts) > len(self._items)

    def settle(self, rows: int) -> None:
        """Find out the heights of so many more rows."""
        self._know(min(len(self._items), len(self._starts) - 1 + rows) - 1)

    def _know(self, item: int) -> None:
        """Find out where everything up to this begins and ends."""
        for place in range(len(self._starts) - 1, item + 1):
            known = self._lines[place]
            if not known:
                self._lines[place] = self._height(self._items[place])
            self._starts.append(self._starts[-1] + self._lines[place])
            self._below -= known or ESTIMATED

    def _know_line(self, y: int) -> None:
        while self._starts[-1] <= y and not self.settled:
            self.settle(1)

    def _item(self, code: str) -> int:
        """Which of all items a case is; where it begins and ends is known then."""
        place = self.index[code]
        item = place + bisect_right(self._headed, place)
        self._know(item)
        return item

    def open(self, code: str, height: int) -> None:
        """Open this row, of so many lines then, and close the one that was; no code opens none."""
        self.opened = code
        self._more = height - self._lines[self._item(code)] if code else 0

    @property
    def height(self) -> int:
        """How many lines there are: estimated, until every height is known."""
        return self._starts[-1] + self._below + self._more

    def place(self, code: str) -> int:
        """The line on which a case begins."""
        below = bool(self.opened) and self.index[code] > self.index[self.opened]
        return self._starts[self._item(code)] + (self._more if below else 0)

    def height_of(self, code: str) -> int:
        """How many lines a case has."""
        return self._lines[self._item(code)] + (self._more if code == self.opened else 0)

    def row(self, y: int) -> Row | None:
        """What line ``y`` is, from 0; None beyond the last."""
        if self.opened:
            item = self._item(self.opened)
            start = self._starts[item]
            end = start + self._lines[item] + self._more
            if start <= y < end:
                return Row(self._group(item), self.opened, y - start)
            y -= self._more if y >= end else 0
        self._know_line(y)
        if not 0 <= y < self._starts[-1]:
            return None
        item = bisect_right(self._starts, y) - 1
        return Row(self._group(item), self._items[item], y - self._starts[item])

    def _group(self, item: int) -> int:
        return bisect_right(self._begins, item) - 1

    def paged(self, code: str, lines: int) -> str:
        """The case so many lines below, or above when negative: at least the next one, at most the last."""
        here = self.index[code]
        wanted = self._starts[self._item(code)] + lines
        self._know_line(wanted)
        if lines > 0:
            last = self._cases_before(bisect_right(self._starts, wanted)) - 1
            return self.codes[min(len(self.codes) - 1, max(here + 1, last))]
        first = self._cases_before(bisect_left(self._starts, wanted))
        return self.codes[max(0, min(here - 1, first))]

    def _cases_before(self, item: int) -> int:
        """How many of the first so many items are cases."""
        headings = sum(headed + number < item for number, headed in enumerate(self._headed))
        return min(item, len(self._items)) - headings
