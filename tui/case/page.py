"""The page of a case as it is painted: what has to be read at once, the table with its cursor, the rest.

From :data:`BESIDE_FROM` columns the mornings are drawn beside the table: in windows of 110, whose last one
is that of the scroll bar.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from textual.geometry import Size
from textual.strip import Strip

from armrise.store.record.light import NamedTuple
from armrise.tui.case import mornings
from armrise.tui.case.account import WEIGHT, at_once, further, verdict_line
from armrise.tui.case.table import missing_first, table
from armrise.tui.widgets.painted import Painted, ascii_terminal
from armrise.tui.widgets.pieces import BLANK, Piece, laid
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import CriterionResult, Standing
    from armrise.tui.case.reading import CaseReading

BESIDE_FROM = 109
"""Columns of the page from which the mornings stand beside the table."""
GUTTER, BETWEEN = 1, 3
CURSOR = "▌"


class Told(NamedTuple):
    """What a page tells: the case, what to do, why it stands above the next, the rules' stamp, the record."""

    standing: Standing
    do: str = ""
    above: str = ""
    signed: str = ""
    reading: CaseReading | None = None


class Layout(NamedTuple):
    """The lines of a page, and where among them each criterion begins and ends.

    ``beside`` are the lines drawn at the right, by the number of the line they stand beside, ``room`` columns
    from its beginning.
    """

    lines: list[Line]
    places: list[tuple[int, int]]
    beside: Mapping[int, Line]
    room: int


def laid_page(told: Told, width: int) -> Layout:
    """The page in at most ``width`` cells."""
    s, reading = told.standing, told.reading
    charted = width >= BESIDE_FROM and mornings.told(s)
    limit = reading.limit if reading else None
    beside = mornings.chart(s, limit, ascii_only=ascii_terminal()) if charted else []
    inner = width - GUTTER
    room = inner - mornings.WIDTH - BETWEEN if charted else inner
    lines = laid(at_once(s, told.do, reading, charted=charted), inner)
    top = len(lines)
    left, places = _table(s, room)
    left += laid([BLANK, *further(s, told.above, told.signed, reading)], room)
    left += [[] for _ in range(len(beside) - len(left))]
    placed = [(top + first, top + last) for first, last in places]
    return Layout([*lines, *left], placed, dict(enumerate(beside, top)), room + BETWEEN)


def _table(s: Standing, width: int) -> tuple[list[Line], list[tuple[int, int]]]:
    """The table of the criteria with its heads, and the lines of each row; nothing without criteria."""
    results = missing_first(s)
    if not results:
        return [], []
    word = str(s.verdict.word)
    title = Span("to step forward", "muted") if verdict_line(s) else Span(word, WEIGHT.get(word, "muted"))
    head, rows = table(s, results, width, title)
    lines, places = [head], list[tuple[int, int]]()
    for row in rows:
        places.append((len(lines), len(lines) + len(row)))
        lines += row
    return lines, places


class CasePage(Painted):
    """A case on one page, as high as it is; the cursor stands on a criterion."""

    told: Told | None = None
    instead: Piece = BLANK
    """What is said while there is no case to tell of."""
    at = 0
    _kept: tuple[int, Layout] | None = None

    def tell(self, told: Told | None, instead: str = "") -> None:
        """Show a case; the cursor stays on its criterion while there is one."""
        if self._kept is not None and (told, Piece(instead)) == (self.told, self.instead):
            return
        self.told, self.instead, self._kept = told, Piece(instead), None
        self.at = max(0, min(self.at, len(self.results) - 1))
        self.refresh(layout=True)

    @property
    def results(self) -> list[CriterionResult]:
        """The criteria in the order of the rows."""
        return missing_first(self.told.standing) if self.told else []

    def move(self, by: int) -> bool:
        """The cursor on the next row; False at the end of the table."""
        to = self.at + by
        if not 0 <= to < len(self.results):
            return False
        self.at = to
        self.refresh()
        return True

    def place(self) -> tuple[int, int] | None:
        """The lines on which the criterion under the cursor stands; None without criteria."""
        places = self.layout_in(self.size.width).places
        return places[self.at] if self.at < len(places) else None

    def layout_in(self, width: int) -> Layout:
        """The page for a width, worked out once."""
        if self._kept is None or self._kept[0] != width:
            told = self.told
            page = (
                laid_page(told, width)
                if told
                else Layout(laid([self.instead], max(10, width)), [], {}, width)
            )
            self._kept = (width, page)
        return self._kept[1]

    def laid_out(self, width: int) -> list[Line]:
        """The lines of the page."""
        return self.layout_in(width).lines

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self.laid_out(width))

    def render_line(self, y: int) -> Strip:
        """One line; the row under the cursor is marked before it and lies on another ground."""
        page, place = self.layout_in(self.size.width), self.place()
        here = place is not None and place[0] <= y < place[1]
        line = [Span((CURSOR if here else "").ljust(GUTTER), "accent"), *(page.lines[y : y + 1] or [[]])[0]]
        back, drawn = "cursor" if here else "", page.beside.get(y)
        if drawn is None:
            return self.strip(_plainly(line), self.size.width, back)
        left = self.strip(_plainly(line), GUTTER + page.room, back)
        return Strip.join([left, self.strip(drawn, self.size.width - GUTTER - page.room)])


def _plainly(line: Line) -> Line:
    """The line in the letters that the terminal has."""
    clean = words.cleaner(ascii_only=ascii_terminal())
    return [Span(clean(span.text), span.style) for span in line]
