"""One criterion opened: its state, source and status, and the entries it was judged by."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import Account, Piece


class CriterionScreen(Framed, ModalScreen[None]):
    """One row of the table of a case, in full."""

    READING: ClassVar[tuple[str, ...]] = (
        "What was observed and what is needed, where the number comes from and how far it may be trusted.",
        "Below it the entries it was judged by, the newest first; h on the case shows every entry.",
    )

    DEFAULT_CSS = """
    CriterionScreen { align: center middle; background: $background 60%; }
    CriterionScreen #criterion { width: 100%; max-width: 96; height: auto; max-height: 100%;
        background: $surface; border: solid $accent; padding: 0 1; }
    CriterionScreen.-plain #criterion { border: ascii $accent; }
    CriterionScreen #criterion-head, CriterionScreen #criterion-keys { height: 1; color: $text-muted; }
    CriterionScreen #criterion-keys { dock: bottom; }
    CriterionScreen #criterion-body { height: auto; max-height: 1fr; scrollbar-size-vertical: 1; }
    CriterionScreen Account { height: auto; width: 100%; background: $surface; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,q", "close", "back", id="criterion.leave"),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="criterion.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="criterion.up"),
        Binding("pagedown,space", "scroll_by(10)", "page down", show=False, id="criterion.page_down"),
        Binding("pageup", "scroll_by(-10)", "page up", show=False, id="criterion.page_up"),
    ]

    def __init__(self, pieces: list[Piece], head: str) -> None:
        super().__init__()
        self.pieces = pieces
        self.head = head

    def compose(self) -> ComposeResult:
        """Head, the criterion, keys."""
        with Vertical(id="criterion"):
            yield Static(self.head, id="criterion-head", markup=False)
            with VerticalScroll(id="criterion-body", can_focus=False):
                account = Account()
                account.pieces = self.pieces
                yield account
            yield Static("Esc back   F8 blank", id="criterion-keys", markup=False)

    def on_mount(self) -> None:
        """Plain borders where the terminal has no others."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        plain_scroll_bar(self.query_one("#criterion-body"))

    def action_close(self) -> None:
        """Back to the case."""
        self.dismiss(None)

    def action_scroll_by(self, lines: int) -> None:
        """Scroll."""
        self.query_one("#criterion-body").scroll_relative(y=lines, animate=False)
