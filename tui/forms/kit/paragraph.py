"""A line of a longer text in a form: folded to the window, in full while it is typed in."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import TextArea

from armrise.tui.forms.kit.fields import Changed, go_on, passed_on
from armrise.tui.forms.kit.line import Line
from armrise.tui.widgets.static import Static

AT_REST = 2
"""Rows of a line that nobody types in, in a low window; what is folded away is marked."""


class Folded(TextArea):
    """The text of a paragraph. Enter goes on, up and down leave it at its ends; it holds no line break."""

    BINDINGS: ClassVar[list[BindingType]] = [
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

    def action_cursor_up(self, select: bool = False) -> None:
        """A row up; from the first row to the line before."""
        if self.navigator.is_first_wrapped_line(self.cursor_location) and not select:
            self.screen.focus_previous()
        else:
            super().action_cursor_up(select)

    def action_cursor_down(self, select: bool = False) -> None:
        """A row down; from the last row to the line after."""
        if self.navigator.is_last_wrapped_line(self.cursor_location) and not select:
            go_on(self)
        else:
            super().action_cursor_down(select)

    def action_cursor_page_up(self) -> None:
        """To the line before."""
        self.screen.focus_previous()

    def action_cursor_page_down(self) -> None:
        """To the line after."""
        go_on(self)


class Paragraph(Line):
    """A number and the text beside it; a low window shows two rows of it until it has the focus."""

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
        self.call_after_refresh(self.fold)

    def put_back(self, text: str, fault: str = "") -> None:
        """Hold again what was kept, marked as it was."""
        self.hold(text)
        self.fault = fault
        self.post_message(Changed())

    def focus(self, scroll_visible: bool = True) -> Paragraph:
        """The text takes the focus."""
        self.area.focus(scroll_visible)
        return self

    def fold(self) -> None:
        """As many rows as the text has, or as are shown of one that nobody types in."""
        area = self.area
        rows = max(1, area.wrapped_document.height)
        shown = rows if self.has_focus_within or self.screen.has_class("-high") else min(AT_REST, rows)
        area.styles.height = shown
        if shown < rows:
            area.scroll_home(animate=False)
        marker = ">" if self.has_focus_within else " "
        self.query_one(".line-label", Static).update(
            f"{marker} {self.label}" + ("\n  .." if shown < rows else "")
        )

    def on_descendant_focus(self) -> None:
        """Unfold."""
        self.fold()

    def on_descendant_blur(self) -> None:
        """Fold again."""
        self.call_after_refresh(self.fold)

    def on_resize(self) -> None:
        """Fold anew."""
        self.call_after_refresh(self.fold)

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        """Tell the screen; a changed text is no longer at fault."""
        event.stop()
        self.fold()
        if self._fault:
            self.fault = ""
        self.post_message(Changed())
