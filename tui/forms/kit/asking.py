"""One line asked for over the screen beneath: checked as it is given, kept as typed when it does not hold."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from armrise.tui.forms.kit.fields import Changed, Moved
from armrise.tui.forms.kit.line import Line
from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL


class AskScreen(Framed, ModalScreen[Any]):
    """Dismissed with what ``read`` makes of the line, or with None.

    ``read`` raises an error of one sentence for a line that does not hold.
    """

    READING: ClassVar[tuple[str, ...]] = (
        "One line is asked for; the line below says what it may hold. Enter takes it, Esc leaves.",
        "Nothing is written here.",
    )

    DEFAULT_CSS = """
    AskScreen { align: center middle; }
    AskScreen #ask { width: 100%; max-width: 80; height: auto; background: $surface;
        border: solid $accent; padding: 0 1; }
    AskScreen.-plain #ask { border: ascii $accent; }
    AskScreen #ask-head { text-style: bold; }
    AskScreen #ask-hint, AskScreen #ask-keys { color: $text-muted; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "leave", id="ask.leave")]

    def __init__(self, title: str, label: str, hint: str, keys: str, read: Callable[[str], Any]) -> None:
        super().__init__()
        self.told = (title, hint, keys)
        self.label = label
        self.read = read

    def compose(self) -> ComposeResult:
        """What is asked, the line, what may be typed, keys."""
        title, hint, keys = self.told
        fictional = f"   {FICTIONAL}" if self.app.fictional else ""
        with Vertical(id="ask"):
            yield Static(f"{title}{fictional}", id="ask-head", markup=False)
            yield Line(self.label, key="answer")
            yield Static(hint, id="ask-hint", markup=False)
            yield Static(hinted(keys), id="ask-keys")

    def on_mount(self) -> None:
        """Ready to type."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        self.query_one(Line).focus()

    def on_changed(self, event: Changed) -> None:
        """Nothing follows from half a line."""
        event.stop()

    def on_moved(self, event: Moved) -> None:
        """Enter: take it, or say why not."""
        event.stop()
        line = self.query_one(Line)
        try:
            found = self.read(line.value)
        except Exception as error:
            if not type(error).__module__.startswith("armrise.store."):
                raise
            line.fault = str(error)
            return
        self.dismiss(found)

    def action_leave(self) -> None:
        """Close."""
        self.dismiss(None)
