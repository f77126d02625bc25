"""What a column means, chosen from everything it can mean: letters typed narrow the list."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList

from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.rowlist import RowList
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL

KEYS = "Enter takes it   Backspace one letter back   Esc leave, nothing changed"
NONE = "Nothing has these letters: Backspace takes one away."


class ChooseScreen(Framed, ModalScreen[str]):
    """Dismissed with the name of the meaning chosen, or with None."""

    READING: ClassVar[tuple[str, ...]] = (
        "Everything a column can mean. Type a few letters of it, several words in any order; Enter takes the "
        "one under the cursor.",
        "Nothing is written here.",
    )
    DEFAULT_CSS = """
    ChooseScreen { align: center middle; }
    ChooseScreen #choose { width: 100%; max-width: 76; height: 90%; background: $surface;
        border: solid $accent; padding: 0 1; }
    ChooseScreen.-plain #choose { border: ascii $accent; }
    ChooseScreen RowList { background: $surface; }
    ChooseScreen #choose-head { text-style: bold; }
    ChooseScreen #choose-samples, ChooseScreen #choose-keys { color: $text-muted; height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "leave", id="choose.leave")]

    def __init__(self, heading: str, samples: str, names: list[str], present: str) -> None:
        super().__init__()
        self.heading = heading
        self.samples = samples
        self.names = names
        self.present = present
        self.typed = ""

    def compose(self) -> ComposeResult:
        """The column, what was typed, the meanings, keys."""
        fictional = f"   {FICTIONAL}" if self.app.fictional else ""
        with Vertical(id="choose"):
            yield Static(f"What does column {self.heading} mean?{fictional}", id="choose-head", markup=False)
            yield Static(f"It holds {self.samples}", id="choose-samples", markup=False)
            yield Static("", id="choose-typed", markup=False)
            yield RowList(key="choose-list")
            yield Static(hinted(KEYS), id="choose-keys")

    def on_mount(self) -> None:
        """Ready to type, on what it means now."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        rows = self.query_one(RowList)
        rows.focus()
        self.narrow()
        if self.present in self.names:
            rows.highlighted = self.names.index(self.present)

    def narrow(self) -> None:
        """Show the meanings that have every word typed."""
        words = self.typed.casefold().split()
        found = [name for name in self.names if all(word in name.casefold() for word in words)]
        self.query_one(RowList).tell([(name, name) for name in found])
        told = f"Typed: {self.typed}" if self.typed else "Type a few letters of it"
        self.query_one("#choose-typed", Static).update(told if found else f"{told}. {NONE}")

    def on_key(self, event: events.Key) -> None:
        """Letters narrow the list."""
        if event.key == "backspace":
            self.typed = self.typed[:-1]
        elif event.character and event.is_printable:
            self.typed += event.character
        else:
            return
        event.stop()
        event.prevent_default()
        self.narrow()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take it."""
        event.stop()
        if self.query_one(RowList).chosen:
            self.dismiss(self.query_one(RowList).chosen)

    def action_leave(self) -> None:
        """Close."""
        self.dismiss(None)
