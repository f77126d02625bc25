"""Finding a closed case by its code, to reopen it: it is on no list once it owes nothing."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from armrise.store.record.kinds.head import CODE_LONGEST
from armrise.tui.forms.kit.fields import Changed, Moved
from armrise.tui.forms.kit.line import Line
from armrise.tui.shell.confirm import confirm
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say, writable_door
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.tui.shell.frame import Board
    from armrise.tui.shell.store_door import StoreDoor

MOST = 8


class ClosedScreen(Framed, ModalScreen[str | None]):
    """Dismissed with the code of the closed case that was named, or with None."""

    READING: ClassVar[tuple[str, ...]] = (
        "Type the code of a closed case: it opens the form that reopens it.",
        "Nothing is written here.",
    )

    DEFAULT_CSS = """
    ClosedScreen { align: center top; background: $background 60%; }
    ClosedScreen #closed { width: 100%; max-width: 80; height: auto; background: $surface;
        border: solid $accent; padding: 0 1; }
    ClosedScreen.-plain #closed { border: ascii $accent; }
    ClosedScreen #closed-head { text-style: bold; }
    ClosedScreen #closed-known, ClosedScreen #closed-keys { color: $text-muted; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "leave", id="closed.leave")]

    def __init__(self, door: StoreDoor) -> None:
        super().__init__()
        self.door = door
        self.known: list[tuple[str, str]] = []

    def compose(self) -> ComposeResult:
        """A code, the closed ones that begin like it, keys."""
        told = f"   {FICTIONAL}" if self.door.fictional else ""
        with Vertical(id="closed"):
            yield Static(f"Find a closed case{told}", id="closed-head", markup=False)
            yield Line("case code", key="code", longest=CODE_LONGEST)
            yield Static("Reading ...", id="closed-known", markup=False)
            yield Static(hinted("Enter opens it to be reopened   Esc leave"), id="closed-keys")

    def on_mount(self) -> None:
        """Read which cases are closed."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        self.query_one("#code", Line).focus()
        self.read()

    @work(thread=True, group="read")
    def read(self) -> None:
        """Codes of closed cases, with the day and the outcome."""
        try:
            known = self.door.closed()
        except Exception as error:
            self.app.call_from_thread(self.query_one("#closed-known", Static).update, in_a_sentence(error))
            return
        self.app.call_from_thread(self.take, known)

    def take(self, known: list[tuple[str, str]]) -> None:
        """Show them."""
        self.known = known
        self.show()

    def found(self) -> list[tuple[str, str]]:
        """Those whose code holds what was typed."""
        typed = self.query_one("#code", Line).value.upper()
        return [(code, words) for code, words in self.known if typed in code.upper()]

    def show(self) -> None:
        """The first few that match."""
        found = self.found()
        lines = [f"  {code}   {words}" for code, words in found[:MOST]]
        if len(found) > MOST:
            lines.append(f"  and {len(found) - MOST} more: type more of the code")
        none = "No case is closed." if not self.known else "No closed case has that in its code."
        self.query_one("#closed-known", Static).update("\n".join(lines) or none)

    def on_changed(self, event: Changed) -> None:
        """Narrow as it is typed."""
        event.stop()
        self.show()

    def on_moved(self, event: Moved) -> None:
        """Enter: the case that was typed whole, or the only one left."""
        event.stop()
        line = self.query_one("#code", Line)
        held = [code for code, _ in self.found()]
        same = [code for code in held if code.upper() == line.value.upper()]
        meant = [code for code in same if code == line.value] or same or held
        if len(meant) == 1:
            self.dismiss(meant[0])
        else:
            line.fault = "case code: type the whole code of a closed case."

    def action_leave(self) -> None:
        """Close."""
        self.dismiss(None)


def find_closed(board: Board) -> None:
    """Ask for the code of a closed case and open its reopening."""
    door = writable_door(board)
    if door is None:
        return

    def chosen(code: str | None) -> None:
        if code is not None:
            board.run_worker(partial(_reopen, board, door, code), thread=True, group="closed")

    board.app.push_screen(ClosedScreen(door), chosen)


def _reopen(board: Board, door: StoreDoor, code: str) -> None:
    app = board.app
    try:
        standing = door.standing(code)
    except Exception as error:
        app.call_from_thread(say, board, in_a_sentence(error))
        return

    def done(words: str | None) -> None:
        if words:
            confirm(board, words, code)
            board.query_one(CaseList).seek(code)
            board.written(words, code)

    app.call_from_thread(partial(app.open, "ReopenScreen", door, standing, done=done))
