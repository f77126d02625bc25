"""A line of a longer text in a form: folded to the window, in full while it is typed in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import TextArea

from armrise.tui.forms.kit.fields import Changed, go_on, passed_on
from armrise.tui.forms.kit.line import Line
from armrise.tui.widgets.static import Static

AT_REST = 2
"""Rows that a line has at least where it needs them and nobody types in it; what is folded is marked."""


class Folded(TextArea):
    """The text of a paragraph. Enter goes on, up and down leave it at its ends; it holds no line break."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "row(-1)", "A row up", show=False),
        Binding("down", "row(1)", "A row down", show=False),
        Binding("pageup", "line(-1)", "The line before", show=False),
        Binding("pagedown", "line(1)", "The line after", show=False),
        Binding("f6", "screen.forget_left", "Forget what was typed", show=False),
        Binding("f7", "screen.send_off", "Record as sent", show=False),
    ]

    async def _on_key(self, event: events.Key) -> None:
        if passed_on(self, event):
            return
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            go_on(self)
        else:
            await super()._on_key(event)

    async def _on_paste(self, event: events.Paste) -> None:
        event.text = " ".join(event.text.split())
        await super()._on_paste(event)

    def action_row(self, by: int) -> None:
        """A row up or down; from the first row to the line before, from the last to the line after."""
        at = self.cursor_location
        ends = self.navigator.is_first_wrapped_line(at) if by < 0 else self.navigator.is_last_wrapped_line(at)
        if ends:
            self.action_line(by)
        elif by < 0:
            self.action_cursor_up()
        else:
            self.action_cursor_down()

    def action_line(self, by: int) -> None:
        """To the line before or after."""
        if by < 0:
            self.screen.focus_previous()
        else:
            go_on(self)


class Refold(Message):
    """The rows of a line may be others now."""


def share(rows: Sequence[int], room: int, whole: int | None) -> list[int]:
    """Rows shown of each of several lines in a room: the one at ``whole`` in full, of the others what fits.

    Each has :data:`AT_REST` where it needs them, also where the room is too low for that: it then scrolls.
    """
    shown = [n if at == whole else min(AT_REST, n) for at, n in enumerate(rows)]
    spare = room - sum(shown)
    for at, n in enumerate(rows):
        more = max(0, min(spare, n - shown[at]))
        shown[at] += more
        spare -= more
    return shown


class Paragraph(Line):
    """A number and the text beside it; its screen says how many rows of it are shown."""

    DEFAULT_CSS = """
    Paragraph .line-label { width: 4; }
    Paragraph Horizontal { height: auto; }
    Paragraph Folded { width: 1fr; height: 1; padding: 0; background: $surface; scrollbar-size: 0 0; }
    Paragraph Folded:focus { background: $boost; }
    """
    hint = ""

    def compose(self) -> ComposeResult:
        """Number, text, and what is said under it."""
        with Horizontal():
            yield Static(f"  {self.label}", classes="line-label", markup=False)
            text = Folded(self._first, compact=True, highlight_cursor_line=False)
            text.cursor_blink = False
            yield text
        yield Static("", classes="line-fault", markup=False)

    @property
    def area(self) -> Folded:
        """The text itself."""
        return self.query_one(Folded)

    @property
    def value(self) -> str:
        """What stands there, on one line."""
        return " ".join(self.area.text.split())

    def kept_text(self) -> str:
        """What has to be kept so that an unwritten form can be brought back."""
        return self.area.text

    def hold(self, text: str) -> None:
        """Hold another text, unfolded from its beginning."""
        with self.prevent(TextArea.Changed):
            self.area.load_text(text)
        self.post_message(Refold())

    def put_back(self, text: str, fault: str = "") -> None:
        """Hold again what was kept, marked as it was."""
        self.hold(text)
        self.fault = fault
        self.post_message(Changed())

    def focus(self, scroll_visible: bool = True) -> Paragraph:
        """The text takes the focus."""
        self.area.focus(scroll_visible)
        return self

    @property
    def rows(self) -> int:
        """Rows that the whole text takes in this window."""
        return max(1, self.area.wrapped_document.height)

    def fold_to(self, shown: int) -> None:
        """Show so many rows of it; two dots say that there are more."""
        area, more = self.area, shown < self.rows
        area.styles.height = shown
        if more:
            area.scroll_home(animate=False)
        marker = ">" if self.has_focus_within else " "
        self.query_one(".line-label", Static).update(
            f"{marker} {self.label}" + ("\n" * (shown - 1) + "  .." if more else "")
        )

    def on_descendant_focus(self) -> None:
        """Unfold."""
        self.post_message(Refold())

    def on_descendant_blur(self) -> None:
        """Fold again."""
        self.post_message(Refold())

    def on_resize(self) -> None:
        """Fold anew."""
        self.post_message(Refold())

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        """Tell the screen; a changed text is no longer at fault."""
        event.stop()
        self.post_message(Refold())
        if self._fault:
            self.fault = ""
        self.post_message(Changed())
