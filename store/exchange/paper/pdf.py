"""A page for paper as PDF: its letters inside, the same page always the same bytes, nothing fetched."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from itertools import groupby

from armrise.store.exchange.paper.code_mark import Modules, modules, runs
from armrise.store.exchange.paper.flow import Piece, Sheets, tied
from armrise.store.exchange.paper.page import Block, CodeMark, Drawing, Lines, Page, Part, Table, Text
from armrise.store.exchange.paper.pdf_drawing import Row, draw_svg, measures, side_by_side
from armrise.store.exchange.paper.pdf_table import table_pieces
from armrise.store.exchange.paper.pen import CLEAR, LARGE, POINT, USUAL, Pen, Sizes, pen_of

SIDE, TOP, BOTTOM = 14.0, 13.0, 18.0
"""Margins in mm: narrower than any printer leaves white."""
MARK = 27.0
"""Side of a code mark in mm: a module of the smallest is then nearly 1 mm."""
BETWEEN = 4.0
SHORT, CLOSER = 3, 0.88
"""A document of at most so many sheets has its lines by this factor closer where it has one fewer then."""
NO_DATE = datetime(2000, 1, 1, tzinfo=UTC)
"""No date is in a file that the same page makes again; the library asks for one, which is left out."""
MISSING = "A sign that these letters have no picture of is printed as its number, such as <U+05D0>: {}."


def as_pdf(page: Page, size: str = "A4") -> bytes:
    """The page as PDF on paper of a size, "A4" or "Letter". Raises StoreError without the extra ``paper``."""
    pen = pen_of(size, landscape=page.landscape)
    sheet, sheets = _laid_out(page, pen)
    for number, placed in enumerate(sheets, 1):
        pen.of.add_page()
        for y, piece in placed:
            piece.draw(y)
        sheet.foot(number, len(sheets))
    return _bytes(pen, page)


def _laid_out(page: Page, pen: Pen) -> tuple[_Sheet, list[list[tuple[float, Piece]]]]:
    """The sheets; of a short document with its lines closer where that saves a sheet."""
    sizes = LARGE if page.large else CLEAR if page.clear else USUAL
    sheet = _Sheet(page, pen, sizes)
    sheets = sheet.filled()
    if 1 < len(sheets) <= SHORT:
        closer = _Sheet(page, pen, replace(sizes, apart=sizes.apart * CLOSER))
        if len(fewer := closer.filled()) < len(sheets):
            return closer, fewer
    return sheet, sheets


def producer(kind: str) -> bytes:
    """What stands in every PDF of a kind that is written here, and in no other."""
    return f"/Producer (armrise {kind})".encode()


def _bytes(pen: Pen, page: Page) -> bytes:
    from fpdf.prefs import ViewerPreferences

    pen.of.set_title(page.title)
    pen.of.set_lang(page.language)
    pen.of.set_producer(f"armrise {page.kind}")
    pen.of.set_creation_date(NO_DATE)
    pen.of.viewer_preferences = ViewerPreferences(display_doc_title=True)
    made = bytes(pen.of.output())
    date = b"/CreationDate (D:20000101000000Z)"
    return made.replace(date, b" " * len(date))


class _Sheet:
    """One page on paper of one size."""

    def __init__(self, page: Page, pen: Pen, sizes: Sizes) -> None:
        self.page, self.pen, self.sizes = page, pen, sizes
        self.left, self.room = SIDE, pen.of.w - 2 * SIDE
        self.feet = [line for said in page.foot for line in pen.lines(said, self.room - 20, self.sizes.small)]
        self.bottom = pen.of.h - BOTTOM - max(0, len(self.feet) - 1) * self._high(self.sizes.small)

    def filled(self) -> list[list[tuple[float, Piece]]]:
        """Where every piece lies, sheet by sheet."""
        return Sheets(TOP, self.bottom).fill(list(self.pieces()))

    def _high(self, size: float) -> float:
        return size * POINT * self.sizes.apart

    # --- in their order -----------------------------------------------------------------------------------

    def pieces(self) -> Iterator[Piece]:
        """Everything, from what is said first to the cautions."""
        yield from tied(list(self._top()))
        for part in self.page.parts:
            yield from self._part(part)
        small = partial(self._text, size=self.sizes.small, soft=True)
        ends = [piece for said in self.page.cautions for piece in small(said)]
        if self.pen.missing:
            signs = " ".join(sorted(f"<U+{ord(sign):04X}>" for sign in self.pen.missing))
            ends += small(MISSING.format(signs))
        if ends:
            yield Piece(5, space=True)
            yield Piece(1.5, partial(self._rule, 0.15), tied=True)
            yield from tied(ends)

    def _top(self) -> Iterator[Piece]:
        if self.page.fictional:
            yield from self._boxed(self.page.fictional, self.room)
            yield Piece(2)
        rows = modules(self.page.mark.text) if self.page.mark else None
        room = self.room - (MARK + 6 if self.page.mark else 0)
        made = list(self._text(self.page.title, self.sizes.title, bold=True, room=room))
        made += [piece for block in self.page.top for piece in self._block(block, room)]
        if self.page.mark:
            text, high = self.page.mark.text, MARK + self._high(self.sizes.body)
            yield Piece(0, partial(self._mark_at, rows, text, self.left + self.room - MARK))
            made.append(Piece(max(0, high - sum(piece.high for piece in made))))
        yield from made

    def _part(self, part: Part) -> Iterator[Piece]:
        made = [Piece(4.5 if part.heading else 1.5, space=True, fresh=part.new_page, tied=True)]
        if part.heading:
            lines = self.pen.lines(part.heading, self.room, self.sizes.heading, bold=True)
            made += [Piece(0, partial(self._section, part.heading), tied=True)]
            for line in lines:
                draw = partial(self._line, line, self.sizes.heading, True, False, self.left)
                made.append(Piece(self._high(self.sizes.heading), draw, tied=True))
            made.append(Piece(1.8, partial(self._rule, 0.25), tied=True))
        for drawn, group in groupby(part.blocks, lambda block: isinstance(block, Drawing)):
            if drawn:
                made += self._drawings([block for block in group if isinstance(block, Drawing)])
            else:
                made += [piece for block in group for piece in self._block(block, self.room)]
        yield from tied(made) if part.whole else made

    def _block(self, block: Block, room: float) -> Iterator[Piece]:
        match block:
            case Text(text, "boxed"):
                yield from self._boxed(text, room)
            case Text(text, look):
                size = self.sizes.small if look == "soft" else self.sizes.body
                yield from self._text(text, size, look == "strong", look == "soft", room)
            case Lines():
                yield from self._lines(block, room)
            case Table():
                yield from self._table(block)
            case CodeMark(text):
                rows = modules(text)
                yield Piece(MARK + self._high(self.sizes.body), partial(self._mark_at, rows, text, self.left))
            case Drawing():
                yield from self._drawings([block])
        yield Piece(1.2, space=True)

    # --- texts --------------------------------------------------------------------------------------------

    def _text(
        self,
        text: str,
        size: float,
        bold: bool = False,
        soft: bool = False,
        room: float | None = None,
        inset: float = 0,
    ) -> list[Piece]:
        """A paragraph: no line of it stands alone on a sheet."""
        lines = self.pen.lined(text, (self.room if room is None else room) - inset, size, bold)
        made = [
            Piece(self._high(size), partial(self._line, line, size, bold, soft, self.left + inset))
            for line in lines
        ]
        return tied(made) if len(made) <= 4 else [*tied(made[:2]), *made[2:-2], *tied(made[-2:])]

    def _line(self, line: str, size: float, bold: bool, soft: bool, x: float, y: float) -> None:
        self.pen.write(x, y, line, size, bold, soft)

    def _lines(self, block: Lines, room: float) -> Iterator[Piece]:
        for number, item in enumerate(block.items, 1):
            sign = f"{number}." if block.numbered else "•"
            inset = self.pen.wide("00. " if block.numbered else "•  ", self.sizes.body)
            draw = partial(self._line, sign, self.sizes.body, False, False, self.left)
            yield Piece(0, draw, tied=True)
            yield from self._text(item, self.sizes.body, room=room, inset=inset)
            yield Piece(0.8, space=True)

    def _boxed(self, text: str, room: float) -> Iterator[Piece]:
        lines = self.pen.lines(text, room - 6, self.sizes.body, bold=True)
        yield Piece(len(lines) * self._high(self.sizes.body) + 3, partial(self._draw_box, lines))

    def _draw_box(self, lines: Sequence[str], y: float) -> None:
        size = self.sizes.body
        wide = max(self.pen.wide(line, size, bold=True) for line in lines) + 6
        self.pen.frame(self.left, y, wide, len(lines) * self._high(size) + 3, 0.5)
        for place, line in enumerate(lines):
            self.pen.write(self.left + 3, y + 1.5 + place * self._high(size), line, size, bold=True)

    def _rule(self, weight: float, y: float) -> None:
        self.pen.rule(self.left, y + 0.4, self.room, weight)

    def _section(self, heading: str, _: float) -> None:
        self.pen.of.start_section(self.pen.shown(heading))

    # --- tables, marks, drawings --------------------------------------------------------------------------

    def _table(self, table: Table) -> Iterator[Piece]:
        yield Piece(1.5, space=True, tied=True)
        tallest = self.bottom - TOP
        made = list(table_pieces(table, self.pen, self.sizes, self.left, self.room, tallest))
        if table.notes:
            made[-1] = replace(made[-1], tied=True)
        yield from made
        if table.notes and table.to_fill:
            yield Piece(0.8, tied=True)
        for note in table.notes:
            yield from self._text(note, self.sizes.small, soft=True)
        yield Piece(1.5, space=True)

    def _mark_at(self, rows: Modules | None, text: str, x: float, y: float) -> None:
        size = self.sizes.body
        if rows is None:
            size = self.sizes.title
        else:
            module = MARK / len(rows)
            self.pen.of.set_fill_color(0)
            for row, column, count in runs(rows):
                self.pen.of.rect(x + column * module, y + row * module, count * module, module, "F")
        said = self.pen.shown(text)
        down = 0.0 if rows is None else MARK - 1.5
        self.pen.write(x + (MARK - self.pen.wide(said, size, bold=True)) / 2, y + down, said, size, bold=True)

    def _drawings(self, drawings: Sequence[Drawing]) -> Iterator[Piece]:
        for row in side_by_side(drawings, self.room, BETWEEN):
            high = max(measures(drawing)[1] * scale for drawing, scale in row)
            titled = self._high(self.sizes.small) if any(drawing.title for drawing, _ in row) else 0
            yield Piece(titled + high + 2, partial(self._draw_row, row, titled))

    def _draw_row(self, row: Row, titled: float, y: float) -> None:
        x = self.left
        for drawing, scale in row:
            self.pen.write(x, y, self.pen.shown(drawing.title), self.sizes.small, soft=True)
            draw_svg(self.pen, drawing, x, y + titled, scale)
            x += measures(drawing)[0] * scale + BETWEEN

    # --- the foot -----------------------------------------------------------------------------------------

    def foot(self, number: int, count: int) -> None:
        """At the foot of a sheet: what the page says there, and which sheet of how many it is."""
        size, pen = self.sizes.small, self.pen
        y = self.bottom + 4
        pen.rule(self.left, y - 1, self.room, 0.15, 150)
        which = f"{number} / {count}"
        pen.write(self.left + self.room - pen.wide(which, size), y, which, size, soft=True)
        for place, line in enumerate(self.feet):
            pen.write(self.left, y + place * self._high(size), line, size, soft=True)
