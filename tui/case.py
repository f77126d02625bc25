"""One case on the whole screen, a sentence on its own, and the blank screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from tui.actions import CaseActions, why_above
from tui.widgets.bars import HeadBar, KeyBar
from tui.widgets.painted import plain_scroll_bar
from tui.widgets.pane import whole
from tui.widgets.pieces import Account, Piece
from tui.words import FICTIONAL

if TYPE_CHECKING:
    from store.clinic.standing import Standing
    from tui.board import BoardScreen


class CaseScreen(CaseActions, Screen[None]):
    """The five-second view first, then every reason and every criterion."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "leave", "to the list", id="case.leave"),
        *CaseActions.BINDINGS,
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="case.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="case.up"),
        Binding("pagedown,space", "scroll_page(1)", "page down", show=False, id="case.page_down"),
        Binding("pageup", "scroll_page(-1)", "page up", show=False, id="case.page_up"),
    ]

    def __init__(self, board: BoardScreen, code: str) -> None:
        super().__init__()
        self.board = board
        self.code = code

    def compose(self) -> ComposeResult:
        """Head, the case, keys."""
        yield HeadBar(id="head")
        with VerticalScroll(id="case", can_focus=False):
            yield Account(id="account")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Show the case as the list knows it."""
        plain_scroll_bar(self.query_one("#case"))
        self.update()

    def update(self) -> None:
        """Show what the case now says."""
        standing = self.in_view()
        self.query_one(HeadBar).say(self.board.head)
        if standing is not None:
            below = self.next_below(standing)
            above = why_above(standing, below) if below is not None else ""
            self.query_one("#account", Account).tell(whole(standing, above, self.board.signed))

    def in_view(self) -> Standing | None:
        """The case of this screen."""
        return self.board.listing.case(self.code)

    def next_below(self, standing: Standing) -> Standing | None:
        """The case next below in the list."""
        return self.board.listing.after(standing.code)

    def written(self, words: str) -> None:
        """Read again, and show what the case now says."""
        self.board.written(words)

    def action_leave(self) -> None:
        """Back to the list."""
        self.dismiss(None)

    def action_scroll_by(self, lines: int) -> None:
        """Scroll a line."""
        self.query_one("#case").scroll_relative(y=lines, animate=False)

    def action_scroll_page(self, pages: int) -> None:
        """Scroll a page."""
        view = self.query_one("#case")
        view.scroll_relative(y=pages * max(1, view.size.height - 2), animate=False)


class AnyKeyScreen(Screen[None]):
    """A screen that any key or click leaves, and that no key does anything else in."""

    inherit_bindings = False

    def on_key(self, event: events.Key) -> None:
        """Leave."""
        event.stop()
        event.prevent_default()
        self.dismiss(None)

    def on_click(self, event: events.Click) -> None:
        """Leave."""
        event.stop()
        self.dismiss(None)


class BlankScreen(AnyKeyScreen):
    """Nothing about anybody."""

    def compose(self) -> ComposeResult:
        """One line."""
        told = "Screen blanked. Any key returns."
        if getattr(self.app, "fictional", False):
            told = f"{FICTIONAL}\n\n{told}"
        yield Static(told, id="blank", markup=False)


class SayScreen(ModalScreen[None]):
    """One sentence at the foot of the screen, until the next key."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words

    def compose(self) -> ComposeResult:
        """The sentence, and how to go on."""
        account = Account()
        account.pieces = [Piece(self.words), Piece("any key goes on", "muted")]
        yield account

    def on_key(self, event: events.Key) -> None:
        """Leave."""
        event.stop()
        event.prevent_default()
        self.dismiss(None)

    def on_click(self, event: events.Click) -> Any:
        """Leave."""
        event.stop()
        self.dismiss(None)
