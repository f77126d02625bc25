"""The entries of one case, painted line by line under their days, with a cursor that belongs to an entry.

As in the list of cases, the cost of a key press is the lines repainted, whatever the length of the history.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from armrise.store.record.light import NamedTuple
from armrise.tui.case.history_words import entry_lines, head_line
from armrise.tui.widgets.painted import Brush, ascii_terminal, plain_scroll_bar
from armrise.tui.widgets.rows import Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from datetime import date

    from armrise.store.caseload.timeline import Told
    from armrise.store.rules.pathway import Rules

GUTTER = 3


class Row(NamedTuple):
    """One line: a day's heading (entry 0), or a line of an entry."""

    entry: int
    text: str
    style: str


class EntryList(Brush, ScrollView, can_focus=True, inherit_bindings=False):
    """The timeline, newest first."""

    DEFAULT_CSS = """
    EntryList { height: 1fr; width: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden;
        background: $background; scrollbar-color: $text-muted; scrollbar-background: $panel; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "move(1)", "next entry", show=False, id="history.next"),
        Binding("up,k", "move(-1)", "entry above", show=False, id="history.previous"),
        Binding("pagedown,space", "page(1)", "page down", show=False, id="history.page_down"),
        Binding("pageup", "page(-1)", "page up", show=False, id="history.page_up"),
        Binding("home", "end(0)", "newest entry", show=False, id="history.first"),
        Binding("end", "end(-1)", "oldest entry", show=False, id="history.last"),
        Binding("enter", "open", "open", id="history.open"),
    ]
    cursor: reactive[int] = reactive(0, repaint=False)
    """The id of the entry under the cursor; 0 without one."""

    class Highlighted(Message):
        """The cursor came to an entry."""

    class Opened(Message):
        """The entry under the cursor was asked for."""

    def __init__(self) -> None:
        super().__init__(id="entries")
        self.ascii_only = ascii_terminal()
        self.shown: Sequence[Told] = ()
        self.rules: Rules | None = None
        self.today: date | None = None
        self._rows: list[Row] = []
        self._places: dict[int, tuple[int, int]] = {}
        self._laid_for = 0

    def on_mount(self) -> None:
        """A scroll bar that the terminal can show."""
        plain_scroll_bar(self)

    @property
    def ids(self) -> list[int]:
        """The entries shown, from the top."""
        return list(self._places)

    def tell(self, shown: Sequence[Told], rules: Rules, today: date) -> None:
        """Show these entries, newest first; the cursor stays on its entry, else goes to the newest."""
        self.shown, self.rules, self.today = shown, rules, today
        self._lay_out()
        if self.cursor not in self._places:
            self.cursor = next(iter(self._places), 0)
        self._reveal()
        self.post_message(self.Highlighted())

    def _lay_out(self) -> None:
        """Every line, for the present width."""
        width = self.scrollable_content_region.width or self.size.width
        self._rows, self._places, self._laid_for = [], {}, width
        if not width or self.today is None:
            return
        for on, of_day in groupby(self.shown, key=lambda told: told.entry.on):
            self._rows.append(Row(0, head_line(on, self.today), "accent"))
            for told in of_day:
                lines = entry_lines(told, self.rules, width - GUTTER)
                self._places[told.entry.id] = (len(self._rows), len(lines))
                self._rows += [Row(told.entry.id, line.text, line.style) for line in lines]
        self.virtual_size = Size(0, len(self._rows))
        self.refresh()

    def on_resize(self) -> None:
        """Fold anew; the entry under the cursor stays in sight."""
        if (self.scrollable_content_region.width or self.size.width) != self._laid_for:
            self._lay_out()
            if self.cursor not in self._places:
                self.cursor = next(iter(self._places), 0)
                self.post_message(self.Highlighted())
        self.call_after_refresh(self._reveal)

    def render_line(self, y: int) -> Strip:
        """One line of the window."""
        place, width = y + self.scroll_offset.y, self.size.width
        if place >= len(self._rows):
            return self.strip([], width)
        row = self._rows[place]
        text = words.cleaner(ascii_only=self.ascii_only)(row.text)
        if not row.entry:
            return self.strip([Span(text, row.style)], width)
        under = row.entry == self.cursor
        mark = Span((">" if self.ascii_only else "▌") if under else " ", "accent")
        space = " " * (GUTTER - 1)
        if row.style == "gone":  # the blanks before a struck text are not struck
            line = [mark, Span(space), Span(text.rstrip(), "gone")]
        else:
            line = [mark, Span(space + text, row.style)]
        return self.strip(line, width, "cursor" if under else "")

    # moving

    def watch_cursor(self, old: int, new: int) -> None:
        """Repaint the lines of both entries and nothing else."""
        for entry in (old, new):
            if entry in self._places:
                self.refresh_lines(*self._places[entry])
        self.post_message(self.Highlighted())

    def go_to(self, entry: int) -> bool:
        """Put the cursor on an entry; False when it is not shown."""
        if entry not in self._places:
            return False
        self.cursor = entry
        self._reveal()
        return True

    def _reveal(self) -> None:
        """Scroll no further than needed to see the entry under the cursor and a heading right above it."""
        if self.cursor not in self._places:
            return
        place, height = self._places[self.cursor]
        lead = 0 if self._rows[place - 1].entry else 1
        region = Region(0, place - lead, 1, height + lead)
        self.scroll_to_region(region, animate=False, immediate=True, x_axis=False)

    def action_move(self, by: int) -> None:
        """To the next entry, or the one above."""
        ids = self.ids
        if ids:
            place = ids.index(self.cursor) + by if self.cursor in self._places else 0
            self.go_to(ids[max(0, min(len(ids) - 1, place))])

    def action_page(self, by: int) -> None:
        """About a windowful of entries down or up."""
        if self.cursor not in self._places:
            return
        wanted = self._places[self.cursor][0] + by * max(1, self.size.height - 2)
        near = min(self._places, key=lambda entry: abs(self._places[entry][0] - wanted))
        self.go_to(near)

    def action_end(self, place: int) -> None:
        """To the newest or the oldest entry."""
        if self._places:
            self.go_to(self.ids[place])

    def action_open(self) -> None:
        """Open the entry under the cursor."""
        if self.cursor:
            self.post_message(self.Opened())

    def on_click(self, event: events.Click) -> None:
        """A click puts the cursor there, a second one opens."""
        place = event.get_content_offset_capture(self).y + self.scroll_offset.y
        if 0 <= place < len(self._rows) and self._rows[place].entry:
            self.go_to(self._rows[place].entry)
            if event.chain == 2:
                self.action_open()
