"""The list itself: headings and rows of as many lines as they need, with a cursor that belongs to a case.

A key press lays out two rows, whatever the length of the list: the one the cursor leaves and the one it comes
to, which is opened. The cursor is a case code and not a position, so it stays on its case through every
refresh, filter, sort and change of size.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from rich.segment import Segment
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from armrise.tui.widgets.columns import GUTTER, Plan, plan
from armrise.tui.widgets.groups import DAY
from armrise.tui.widgets.layout import Layout, Row
from armrise.tui.widgets.listing import Group, Listing
from armrise.tui.widgets.painted import Brush, ascii_terminal, plain_scroll_bar
from armrise.tui.widgets.rows import Line, Look, Span, case_lines, one_line
from armrise.tui.words import standing as words

TIER_STYLES = {"today": "loud", "harm if left": "harm", "none": "muted"}
"""Headings in the colour of their tier; the others are plain."""
DONE, NEWS, OWN, CURSOR = "✓", "•", "*", "▌"
"""The marks of the gutter."""


class CaseList(Brush, ScrollView, can_focus=True, inherit_bindings=False):
    """The morning list."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "move(1)", "next case", show=False, id="list.next"),
        Binding("up,k", "move(-1)", "case above", show=False, id="list.previous"),
        Binding("pagedown", "page(1)", "page down", show=False, id="list.page_down"),
        Binding("pageup", "page(-1)", "page up", show=False, id="list.page_up"),
        Binding("home", "end(0)", "first case", show=False, id="list.first"),
        Binding("end", "end(-1)", "last case", show=False, id="list.last"),
        Binding("enter", "open", "open", id="list.open", group=DAY),
    ]
    cursor: reactive[str] = reactive("", repaint=False)
    """The code of the case under the cursor; empty without a case."""

    class Highlighted(Message):
        """The cursor came to a case, or the case under it has new words."""

        def __init__(self, code: str) -> None:
            super().__init__()
            self.code = code

    class Opened(Message):
        """The case under the cursor was asked for; empty when the cursor is on none."""

        def __init__(self, code: str) -> None:
            super().__init__()
            self.code = code

    class Measured(Message):
        """The columns have new widths, or the first row in sight stands under another heading."""

        def __init__(self, plan: Plan, heading: Line) -> None:
            super().__init__()
            self.plan = plan
            self.heading = heading

    def __init__(self, listing: Listing) -> None:
        super().__init__(id="list")
        self.listing = listing
        self.ascii_only = ascii_terminal()
        self.plan: Plan | None = None
        self.compact = False
        """One line a case."""
        self.keys: Mapping[str, str] = {}
        """The keys of what the row under the cursor says to do."""
        self._heads: list[Line] = []
        self._layout = Layout()
        self._wanted = ""
        self._nowhere = False
        """True while the filter asks for no case: the cursor waits off the list until somebody moves it."""
        self._anew = False
        """True while something else is asked for: a case that it leaves out has no neighbours there."""
        self._lines: dict[tuple[str, bool], list[Line]] = {}
        self._strips: dict[tuple[Row, bool], Strip] = {}

    def on_mount(self) -> None:
        """A scroll bar that the terminal can show."""
        plain_scroll_bar(self)

    # what is shown

    @property
    def codes(self) -> list[str]:
        return list(self._layout.places)

    def rebuild(self) -> None:
        """Lay the list out anew from the listing: cursor on its case, scroll offset as it was."""
        near = self.cursor in self._layout.places and not self._anew
        before, self._anew = (self.codes.index(self.cursor) if near else 0), False
        offset = self.scroll_offset.y
        self._lay()
        self.scroll_to(y=offset, animate=False, immediate=True)
        self._restore(before)
        self.refresh()

    def _lay(self) -> None:
        """Every row anew, at the present width."""
        self._lines.clear()
        self._strips.clear()
        if self.size.width:
            # the scroll bar has its column even where there is none: a filter moves no column
            cases, by_hour = self.listing.cases(), self.listing.by_hour
            self.plan = plan(cases, self.size.width - 1, by_hour=by_hour, ascii_only=self.ascii_only)
        groups = self.listing.groups()
        self._heads = [self._head(group) for group in groups]
        self._layout = Layout(([s.code for s in group.shown] for group in groups), self._height)
        self._open(self.cursor)

    @staticmethod
    def _head(group: Group) -> Line:
        return [Span(group.head, TIER_STYLES.get(group.tier, "strong"))]

    def _height(self, code: str) -> int:
        """The lines of a row that is not opened; most are one and need not be laid out for it."""
        case = self.listing.case(code)
        if case is None or self.plan is None or one_line(case, self.plan, self._look(code, opened=False)):
            return 1
        return len(self._laid(code, opened=False))

    def _look(self, code: str, *, opened: bool) -> Look:
        listing = self.listing
        return Look(listing.heading(code), opened, self.compact, code in listing.gone, self.keys)

    def _laid(self, code: str, *, opened: bool) -> list[Line]:
        """The lines of a case's row, worked out when they are first asked for."""
        key = (code, opened)
        if key not in self._lines:
            case = self.listing.case(code)
            assert case is not None
            assert self.plan is not None
            self._lines[key] = case_lines(case, self.plan, self._look(code, opened=opened))
        return self._lines[key]

    def _open(self, code: str) -> None:
        """Open the row under the cursor, and close the one that was."""
        if code in self._layout.places and self.plan is not None:
            self._layout.open(code, len(self._laid(code, opened=True)))
        else:
            self._layout.open("", 0)
        self.virtual_size = Size(0, self._layout.height)
        self._tell()

    def _tell(self) -> None:
        """Say what the fixed line over the rows shows: the heading of the first in sight, and the columns."""
        row = self._layout.row(self.scroll_offset.y)
        if self.plan is not None:
            self.post_message(self.Measured(self.plan, self._heads[row.group] if row and row.code else []))

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """The fixed line follows the rows."""
        super().watch_scroll_y(old_value, new_value)
        self._tell()

    def _restore(self, before: int) -> None:
        """Put the cursor back on the case it belongs to, else on the nearest to row ``before``."""
        if self._nowhere:
            code = ""
        elif self._wanted in self._layout.places:
            code = self._wanted
        else:
            near = [*self.codes[before:], *reversed(self.codes[:before])]
            code = next(iter(near), "")
        if not self._wanted:
            self._wanted = code
        same = code == self.cursor
        self.cursor = code
        self._reveal()
        if same:
            self.post_message(self.Highlighted(code))

    def on_resize(self) -> None:
        """New widths for the columns; the case under the cursor stays in sight."""
        self._lay()
        self.refresh()
        self.call_after_refresh(self._reveal)

    # painting

    def render_line(self, y: int) -> Strip:
        """One line of the window."""
        row, width = self._layout.row(y + self.scroll_offset.y), self.size.width
        if row is None or self.plan is None:
            return self.strip([], width)
        key = (row, bool(row.code) and row.code == self.cursor)
        if key not in self._strips:
            self._strips[key] = self._paint(row, key[1], width)
        return self._strips[key]

    def _paint(self, row: Row, under: bool, width: int) -> Strip:
        if not row.code:
            return self.strip(self._heads[row.group], width)
        lines = self._laid(row.code, opened=under)
        line = [*self._gutter(row, under), *lines[row.line]]
        strip = self.strip(line, width, "cursor" if under else "")
        return Strip(self._ascii(strip), width) if self.ascii_only else strip

    def _gutter(self, row: Row, under: bool) -> Line:
        """The cursor on every line of its row; on the first one's own mark, and whether it is done or new."""
        bar = Span(CURSOR if under else " ", "strong")
        if row.line:
            return [bar, Span(" " * (GUTTER - 1))]
        own = OWN if row.code in self.listing.marked else " "
        news = NEWS if row.code in self.listing.news else " "
        done = DONE if self.listing.done(row.code) else news
        return [bar, Span(own, "strong"), Span(done, "strong")]

    @staticmethod
    def _ascii(strip: Strip) -> list[Segment]:
        return [segment._replace(text=words.plain(segment.text)) for segment in strip]

    def notify_style_update(self) -> None:
        """Another theme: paint anew."""
        self._strips.clear()
        super().notify_style_update()

    # moving

    def watch_cursor(self, old: str, new: str) -> None:
        """Close one row, open the other, and repaint from the upper one on."""
        layout = self._layout
        first = min((layout.place(code) for code in (old, new) if code in layout.places), default=0)
        self._open(new)
        self.refresh_lines(first, layout.height - first + self.size.height)
        self.post_message(self.Highlighted(new))

    def seek(self, code: str | None) -> None:
        """Of which case the cursor is when something else is shown next: empty for no case, None as before.

        A case that is not shown leaves the cursor to the first one: what is asked for is read from its top.
        """
        self._anew = True
        self._nowhere = code == ""
        self._wanted = code or self._wanted

    def go_to(self, code: str) -> None:
        """Put the cursor on a case that is shown."""
        if code in self._layout.places:
            self._nowhere = False
            self._wanted = code
            self.cursor = code
            self._reveal()

    def _reveal(self) -> None:
        """Scroll no further than needed to see the case under the cursor, and a heading right above it."""
        layout = self._layout
        if self.cursor not in layout.places:
            return
        place, height = layout.place(self.cursor), layout.height_of(self.cursor)
        above = layout.row(place - 1) if place else None
        lead = 1 if above is not None and not above.code else 0
        self.scroll_to_region(
            Region(0, place - lead, 1, min(height + lead, self.size.height)),
            animate=False,
            immediate=True,
            x_axis=False,
        )

    def action_move(self, by: int) -> None:
        codes = self.codes
        if codes:
            place = codes.index(self.cursor) + by if self.cursor in self._layout.places else 0
            self.go_to(codes[max(0, min(len(codes) - 1, place))])

    def action_page(self, by: int) -> None:
        """A windowful down or up."""
        if self.cursor in self._layout.places:
            self.go_to(self._layout.paged(self.cursor, by * max(1, self.size.height - 2)))
        else:
            self.action_move(by)

    def action_end(self, place: int) -> None:
        if self._layout.places:
            self.go_to(self.codes[place])

    def action_open(self) -> None:
        """Ask for the case under the cursor; without one it is for the screen to say so."""
        self.post_message(self.Opened(self.cursor))

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there, a second one opens."""
        place = event.get_content_offset_capture(self).y + self.scroll_offset.y
        if (row := self._layout.row(place)) and row.code:
            self.go_to(row.code)
            if event.chain == 2:
                self.action_open()
