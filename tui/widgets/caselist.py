"""The list itself: headings and two-line rows, painted line by line, with a cursor that belongs to a case.

The cost of a key press is two rows repainted, whatever the length of the list. The cursor is a case code and
not a position, so it stays on its case through every refresh, filter, sort and change of size.
"""

from __future__ import annotations

from typing import ClassVar, NamedTuple

from rich.segment import Segment
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from armrise.tui.widgets import rows
from armrise.tui.widgets.groups import DAY
from armrise.tui.widgets.listing import Listing
from armrise.tui.widgets.painted import Brush, ascii_terminal, plain_scroll_bar
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words


class Row(NamedTuple):
    """One line of the list: a heading, or the first or second line of a case."""

    code: str
    part: int
    """0 heading, 1 first line, 2 second line."""
    heading: str


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
        """The columns have new widths."""

        def __init__(self, plan: rows.Plan) -> None:
            super().__init__()
            self.plan = plan

    def __init__(self, listing: Listing) -> None:
        super().__init__(id="list")
        self.listing = listing
        self.ascii_only = ascii_terminal()
        self.plan: rows.Plan | None = None
        self._rows: list[Row] = []
        self._places: dict[str, int] = {}
        self._headings: dict[str, str] = {}
        self._wanted = ""
        self._nowhere = False
        """True while the filter asks for no case: the cursor waits off the list until somebody moves it."""
        self._strips: dict[tuple[int, bool], Strip] = {}

    def on_mount(self) -> None:
        """A scroll bar that the terminal can show."""
        plain_scroll_bar(self)

    # what is shown

    @property
    def codes(self) -> list[str]:
        return list(self._places)

    def rebuild(self) -> None:
        """Lay the list out anew from the listing: cursor on its case, scroll offset as it was."""
        before = self.codes.index(self.cursor) if self.cursor in self._places else 0
        offset = self.scroll_offset.y
        self._rows, self._places, self._headings = [], {}, {}
        for group in self.listing.groups():
            self._rows.append(Row("", 0, self._head(group.tier, len(group.shown), group.total)))
            for standing in group.shown:
                self._places[standing.code] = len(self._rows)
                self._headings[standing.code] = group.tier
                self._rows += [Row(standing.code, 1, group.tier), Row(standing.code, 2, group.tier)]
        self._measure()
        self.virtual_size = Size(0, len(self._rows))
        self.scroll_to(y=offset, animate=False, immediate=True)
        self._restore(before)
        self.refresh()

    @staticmethod
    def _head(tier: str, shown: int, total: int) -> str:
        count = str(total) if shown == total else f"{shown} of {total}"
        return f"{words.TIER_HEADS[tier]}  {count}"

    def _restore(self, before: int) -> None:
        """Put the cursor back on the case it belongs to, else on the nearest that the filter asks for."""
        if self._nowhere:
            code = ""
        elif self._wanted in self._places:
            code = self._wanted
        else:
            found = set(self.listing.found())
            near = [*self.codes[before:], *reversed(self.codes[:before])]
            code = next((code for code in near if code in found), "")
        if not self._wanted:
            self._wanted = code
        same = code == self.cursor
        self.cursor = code
        self._reveal()
        if same:
            self.post_message(self.Highlighted(code))

    def _measure(self) -> None:
        width = self.scrollable_content_region.width or self.size.width
        if not width:
            return
        self._strips.clear()
        shown = [case for code in self._places if (case := self.listing.case(code))]
        self.plan = rows.plan(shown, width, ascii_only=self.ascii_only)
        self.post_message(self.Measured(self.plan))

    def on_resize(self) -> None:
        """New widths for the columns; the case under the cursor stays in sight."""
        self._measure()
        self.refresh()
        self.call_after_refresh(self._reveal)

    # painting

    def render_line(self, y: int) -> Strip:
        """One line of the window."""
        place = y + self.scroll_offset.y
        width = self.size.width
        if place >= len(self._rows) or self.plan is None:
            return self.strip([], width)
        row = self._rows[place]
        key = (place, bool(row.code) and row.code == self.cursor)
        if key not in self._strips:
            self._strips[key] = self._paint(row, key[1], width)
        return self._strips[key]

    def _paint(self, row: Row, under: bool, width: int) -> Strip:
        assert self.plan is not None
        case = self.listing.case(row.code)
        if case is None:
            return self.strip([Span(row.heading, "accent")], width)
        line: Line = (
            rows.first_line(case, self.plan)
            if row.part == 1
            else rows.second_line(case, self.plan, self._headings[row.code])
        )
        mark = Span(("▌" if not self.ascii_only else ">") if under else " ", "accent")
        space = Span(" " * (self.plan.form.gutter - 1))
        strip = self.strip([mark, space, *line], width, "cursor" if under else "")
        return Strip(self._ascii(strip), width) if self.ascii_only else strip

    @staticmethod
    def _ascii(strip: Strip) -> list[Segment]:
        return [segment._replace(text=words.plain(segment.text)) for segment in strip]

    def notify_style_update(self) -> None:
        """Another theme: paint anew."""
        self._strips.clear()
        super().notify_style_update()

    # moving

    def watch_cursor(self, old: str, new: str) -> None:
        """Repaint the two rows concerned and nothing else."""
        for code in (old, new):
            if code in self._places:
                self.refresh_lines(self._places[code], 2)
        self.post_message(self.Highlighted(new))

    def seek(self, code: str | None) -> None:
        """Of which case the cursor is when the list is laid out next: empty for no case, None as before."""
        self._nowhere = code == ""
        self._wanted = code or self._wanted

    def go_to(self, code: str) -> None:
        """Put the cursor on a case that is shown."""
        if code in self._places:
            self._nowhere = False
            self._wanted = code
            self.cursor = code
            self._reveal()

    def _reveal(self) -> None:
        """Scroll no further than needed to see the case under the cursor, and a heading right above it."""
        place = self._places.get(self.cursor)
        if place is None:
            return
        lead = 1 if self._rows[place - 1].part == 0 else 0
        self.scroll_to_region(
            Region(0, place - lead, 1, 2 + lead), animate=False, immediate=True, x_axis=False
        )

    def action_move(self, by: int) -> None:
        codes = self.codes
        if codes:
            place = codes.index(self.cursor) + by if self.cursor in self._places else 0
            self.go_to(codes[max(0, min(len(codes) - 1, place))])

    def action_page(self, by: int) -> None:
        """A windowful of cases down or up."""
        self.action_move(by * max(1, self.size.height // 2 - 1))

    def action_end(self, place: int) -> None:
        if self._places:
            self.go_to(self.codes[place])

    def action_open(self) -> None:
        """Ask for the case under the cursor; without one it is for the screen to say so."""
        self.post_message(self.Opened(self.cursor))

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there, a second one opens."""
        place = event.get_content_offset_capture(self).y + self.scroll_offset.y
        if 0 <= place < len(self._rows) and (code := self._rows[place].code):
            self.go_to(code)
            if event.chain == 2:
                self.action_open()
