"""Many lines to scroll through: only those in sight are laid out, however many there are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from armrise.tui.widgets.painted import Brush, plain_scroll_bar
from armrise.tui.widgets.rows import Line


class Lines(Brush, ScrollView, can_focus=True, inherit_bindings=False):
    """Lines of spans, one a row of the screen."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,j", "move(1)", "scroll down", show=False, id="lines.down"),
        Binding("up,k", "move(-1)", "scroll up", show=False, id="lines.up"),
        Binding("pagedown,space", "page(1)", "page down", show=False, id="lines.page_down"),
        Binding("pageup", "page(-1)", "page up", show=False, id="lines.page_up"),
        Binding("home", "end(0)", "first line", show=False, id="lines.first"),
        Binding("end", "end(-1)", "last line", show=False, id="lines.last"),
    ]
    DEFAULT_CSS = """
    Lines { height: 1fr; background: $background; scrollbar-size-vertical: 1; overflow-x: hidden; }
    """

    def __init__(self, *, key: str) -> None:
        super().__init__(id=key)
        self.lines: Sequence[Line] = ()

    def on_mount(self) -> None:
        """A scroll bar that the terminal can show."""
        plain_scroll_bar(self)

    def tell(self, lines: Sequence[Line]) -> None:
        """Show these from the first."""
        self.lines = lines
        self.virtual_size = Size(self.size.width, len(lines))
        self.scroll_home(animate=False)
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """One line of those in sight."""
        at = self.scroll_offset.y + y
        line = self.lines[at] if at < len(self.lines) else []
        return self.strip(line, self.size.width)

    def action_move(self, lines: int) -> None:
        """Scroll."""
        self.scroll_relative(y=lines, animate=False)

    def action_page(self, pages: int) -> None:
        """Scroll a page."""
        self.scroll_relative(y=pages * max(1, self.size.height - 1), animate=False)

    def action_end(self, end: int) -> None:
        """To the first line, or to the last."""
        if end:
            self.scroll_end(animate=False)
        else:
            self.scroll_home(animate=False)
