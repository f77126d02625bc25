"""The list itself: headings and rows of as many lines as they need, with a cursor that belongs to a case.

A key press lays out two rows, whatever the length of the list: the one the cursor leaves and the one it comes
to, which is opened. The cursor is a case code and not a position, so it stays on its case through every
refresh, filter, sort and change of size.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.binding import Binding, BindingType
from textual.color import Color
from textual.filter import LineFilter
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import Reactive, reactive
from textual.scroll_view import ScrollView
from textual.scrollbar import ScrollBar
from textual.strip import Strip
from textual.timer import Timer

from armrise.tui.widgets.columns import GUTTER, Plan
from armrise.tui.widgets.groups import DAY
from armrise.tui.widgets.layout import Layout, Row
from armrise.tui.widgets.lined import Lined
from armrise.tui.widgets.listing import Group, Listing
from armrise.tui.widgets.painted import Brush, ascii_terminal, drawn, plain_scroll_bar, stretches
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

TIER_STYLES = {"today": "loud", "harm if left": "harm", "none": "muted"}
"""Headings in the colour of their tier; the others are plain."""
DONE, NEWS, OWN, CURSOR = "✓", "•", "*", "▌"
"""The marks of the gutter."""
AT_ONCE = 100
"""Rows whose height is found out before the list is shown."""
SPARE, STRETCH = 0.02, 0.004
"""Seconds until the next rows are looked at, and that are spent on them: nobody waits for a key meanwhile."""
AWAITED = 0.03
"""The same while somebody waits for the rest of what a search finds: a key still comes in between."""
FIRST_LEARNT = 48
"""Cases, beside those known already, that the first letters of a search look at before it shows something."""
SEARCHED = 1.0
"""Seconds after which the words are put together by which the rows are found: not while somebody moves on."""


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
    virtual_size: Reactive[Size] = Reactive(Size(0, 0), repaint=False)
    """As Textual has it; how many lines there are is no reason to lay the screen out again."""
    cursor: reactive[str] = reactive("", repaint=False)
    """The code of the case under the cursor; empty without a case."""

    class Opened(Message):
        """The case under the cursor was asked for; empty when the cursor is on none."""

        def __init__(self, code: str) -> None:
            super().__init__()
            self.code = code

    class Learnt(Message):
        """Every case can be searched now, and a search has shown no more than what it had found so far."""

    def __init__(
        self,
        listing: Listing,
        moved: Callable[[], None] = lambda: None,
        measured: Callable[[Plan, Line], None] = lambda plan, heading: None,
    ) -> None:
        """``moved`` is called when the cursor has come to a case, or that under it has new words;
        ``measured`` with the columns, and the heading of the first row in sight, when they may be others.

        Within the key press: what changes with a key is painted with it, once.
        """
        super().__init__(id="list")
        self.listing = listing
        listing.at_once = FIRST_LEARNT
        self.moved = moved
        self.measured = measured
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
        self._lined = Lined(listing)
        self._spare: Timer | None = None
        """Runs while something is left to be done in spare time."""
        self._learnt = -1
        """The reading whose cases can all be searched at once."""
        self._ground: tuple[Style, Color] | None = None
        """What the strips lie on."""
        self._plain: dict[tuple[object, ...], Strip] = {}
        """Lines that belong to no case."""
        self._in_sight: dict[int, Strip] = {}
        """What was last painted, by the line of the window."""
        self._bar: list[tuple[str, bool]] = []
        """The scroll bar as it was last drawn."""

    def on_mount(self) -> None:
        """A scroll bar that the terminal can show."""
        plain_scroll_bar(self)

    # what is shown

    @property
    def codes(self) -> list[str]:
        """The cases shown; not to be changed."""
        return self._layout.codes

    def rebuild(self) -> None:
        """Lay the list out anew from the listing: cursor on its case, scroll offset as it was."""
        near = not self._anew and self.cursor in self._layout
        before, self._anew = (self._layout.index[self.cursor] if near else 0), False
        offset = self.scroll_offset.y
        self._lay()
        self.scroll_to(y=offset, animate=False, immediate=True)
        self._restore(before)
        self._repaint()

    def _lay(self) -> None:
        """Every row at the present width, those near the window as they are, the others as they come."""
        groups = self.listing.groups()
        self._heads = [self._head(group) for group in groups]
        if self.size.width:
            # the scroll bar has its column even where there is none: a filter moves no column
            self.plan = self._lined.see(
                self.size.width - 1, compact=self.compact, keys=self.keys, ascii_only=self.ascii_only
            )
            known, height = self._lined.heights(groups), self._lined.height
            self._layout = Layout((group.codes for group in groups), height, known)
            self._layout.settle(AT_ONCE)
        else:
            self._layout = Layout(group.codes for group in groups)
        self._open(self.cursor)
        self._settle_later()

    @staticmethod
    def _head(group: Group) -> Line:
        return [Span(group.head, TIER_STYLES.get(group.tier, "strong"))]

    def _settle_later(self) -> None:
        """In spare time find out how many lines the rows further below take, then what each is found by."""
        if self._spare is None and not (self._layout.settled and self._learnt == self.listing.version):
            self._spare = self.set_timer(SEARCHED if self._layout.settled else SPARE, self._settle)

    def _settle(self) -> None:
        self._spare, version = None, self.listing.version
        until = time.monotonic() + (AWAITED if self.listing.partly else STRETCH)
        while not self._layout.settled and time.monotonic() < until:
            self._layout.settle(1)
        self._size_lines()
        more = self._learnt != version
        while more and time.monotonic() < until:
            more = self.listing.learn(1)
        self._learnt = self._learnt if more else version
        if more:
            self._spare = self.set_timer(SPARE, self._settle)
        elif self.listing.partly:
            self.post_message(self.Learnt())
        self._settle_later()

    def _open(self, code: str) -> None:
        """Open the row under the cursor, and close the one that was."""
        if code in self._layout and self.plan is not None:
            self._layout.open(code, len(self._lined.row(code, opened=True).lines))
        else:
            self._layout.open("", 0)
        self._size_lines()
        self._tell()

    def _size_lines(self) -> None:
        """As many lines as there are: the scroll bar follows, and nothing else is laid out for it."""
        size = Size(0, self._layout.height)
        if size != self.virtual_size:
            self.virtual_size = size
            if self.show_vertical_scrollbar == (size.height > self.container_size.height):
                self.scroll_y = self.validate_scroll_y(self.scroll_y)
            else:
                self._scroll_update(size)
            self._move_bar()

    def _move_bar(self) -> None:
        """The scroll bar as it now is: in a long list a step moves it by less than can be seen."""
        if self.show_vertical_scrollbar:
            bar, lines = self.vertical_scrollbar, self.container_size.height
            bar.set_reactive(ScrollBar.window_virtual_size, self.virtual_size.height)
            bar.set_reactive(ScrollBar.window_size, lines)
            bar.set_reactive(ScrollBar.position, self.scroll_y)
            if (bar_drawn := drawn(bar, lines)) != self._bar:
                self._bar = bar_drawn
                bar.refresh()

    def _tell(self) -> None:
        """Say what the fixed line over the rows shows: the heading of the first in sight, and the columns."""
        if self.plan is not None:
            row = self._layout.row(self.scroll_offset.y)
            self.measured(self.plan, self._heads[row.group] if row and row.code else [])

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """The rows and the bar, and the fixed line over them."""
        self._move_bar()
        if round(old_value) != round(new_value):
            self._repaint()
            self._tell()

    def _restore(self, before: int) -> None:
        """Put the cursor back on the case it belongs to, else on the nearest to row ``before``."""
        if self._nowhere or not self.codes:
            code = ""
        elif self._wanted in self._layout:
            code = self._wanted
        else:
            code = self.codes[min(before, len(self.codes) - 1)]
        if not self._wanted:
            self._wanted = code
        same = code == self.cursor
        self.cursor = code
        self._reveal()
        if same:
            self.moved()

    def on_resize(self) -> None:
        """New widths for the columns; the case under the cursor stays in sight."""
        self._lay()
        self.refresh()
        self.call_after_refresh(self._reveal)

    # painting

    def render_lines(self, crop: Region) -> list[Strip]:
        """The lines of the window, each painted once; while the list is dimmed, as Textual does.

        It has no border and no padding, and what was painted on another ground holds no longer. Shown for the
        first time it is laid out here: it is painted before it is told its size.
        """
        if self.plan is None and self.size.width:
            self._lay()
        ground = (self.rich_style, self.background_colors[1])  # neither differs between the lines
        if ground != self._ground:
            self._ground = ground
            self._lined.unpaint()
            self._plain.clear()
        if self.opacity < 1 or self.styles.tint.a:
            self._in_sight.clear()
            return super().render_lines(crop)
        filters = [(one, ground[1]) for one in self.get_line_filters()]
        self.base = ground[0]
        strips = [self._seen(y, filters) for y in crop.line_range]
        self.base = None
        left, right = crop.column_span
        whole = (left, right) == (0, self.size.width)
        return strips if whole else [strip.crop(left, right) for strip in strips]

    def _seen(self, y: int, filters: Sequence[tuple[LineFilter, Color]]) -> Strip:
        """One line as the terminal gets it, through each filter on its ground, noted as what is in sight."""
        self._in_sight[y] = strip = self.render_line(y)
        for one, ground in filters:
            strip = strip.apply_filter(one, ground)
        return strip

    def _repaint(self) -> None:
        """Paint those lines that are others than the ones in sight."""
        lines, width = self.size.height, self.size.width
        changed = [y for y in range(lines) if self._in_sight.get(y) is not self.render_line(y)]
        if len(changed) == lines:
            self.refresh()
        elif changed:
            self.refresh(*stretches(changed, width))

    def render_line(self, y: int) -> Strip:
        """One line of the window: the same strip as long as it looks the same."""
        row, width = self._layout.row(y + self.scroll_offset.y), self.size.width
        if row is None or self.plan is None:
            return self._of_spans([], width)
        if not row.code:
            return self._of_spans(self._heads[row.group], width)
        return self._painted(row, width, under=row.code == self.cursor)

    def _of_spans(self, line: Line, width: int) -> Strip:
        """A line that belongs to no case."""
        key = (width, *line)
        if key not in self._plain:
            self._plain[key] = self.strip(line, width)
        return self._plain[key]

    def _painted(self, row: Row, width: int, *, under: bool) -> Strip:
        """One line of a case, painted once while what it says, its marks and its ground stay."""
        laid, marks = self._lined.row(row.code, opened=under), self._marks(row)
        key = (row.line, width, *marks)
        if key not in laid.strips:
            line = [Span(CURSOR if under else " ", "strong"), *marks, *laid.lines[row.line]]
            strip = self.strip(line, width, "cursor" if under else "")
            laid.strips[key] = Strip(self._ascii(strip), width) if self.ascii_only else strip
        return laid.strips[key]

    def _marks(self, row: Row) -> Line:
        """Beside the cursor, on the first line of a row: its own mark, and whether it is done or new."""
        if row.line:
            return [Span(" " * (GUTTER - 1))]
        own = OWN if row.code in self.listing.marked else " "
        news = NEWS if row.code in self.listing.news else " "
        return [Span(own, "strong"), Span(DONE if self.listing.done(row.code) else news, "strong")]

    @staticmethod
    def _ascii(strip: Strip) -> list[Segment]:
        return [segment._replace(text=words.plain(segment.text)) for segment in strip]

    def notify_style_update(self) -> None:
        """Another theme: paint anew."""
        self._lined.unpaint()
        self._plain.clear()
        super().notify_style_update()

    # moving

    def watch_cursor(self, old: str, new: str) -> None:
        """Close one row, open the other, and repaint no more than has changed by it."""
        self._open(new)
        self._repaint()
        self.moved()

    def seek(self, code: str | None) -> None:
        """Of which case the cursor is when something else is shown next: empty for no case, None as before.

        A case that is not shown leaves the cursor to the first one: what is asked for is read from its top.
        """
        self._anew = True
        self._nowhere = code == ""
        self._wanted = code or self._wanted

    def go_to(self, code: str) -> None:
        """Put the cursor on a case that is shown."""
        if code in self._layout:
            self._nowhere = False
            self._wanted = code
            self.cursor = code
            self._reveal()

    def _reveal(self) -> None:
        """Scroll no further than needed to see the case under the cursor, and a heading right above it."""
        layout = self._layout
        if self.cursor not in layout:
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
        if self.codes:
            place = self._layout.index.get(self.cursor, -by) + by
            self.go_to(self.codes[max(0, min(len(self.codes) - 1, place))])

    def action_page(self, by: int) -> None:
        """A windowful down or up."""
        if self.cursor in self._layout:
            self.go_to(self._layout.paged(self.cursor, by * max(1, self.size.height - 2)))
        else:
            self.action_move(by)

    def action_end(self, place: int) -> None:
        if self.codes:
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
