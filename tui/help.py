"""The help screen: every key, from the bindings themselves, and how to read the list."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from tui import words
from tui.widgets.painted import plain_scroll_bar
from tui.widgets.pieces import BLANK, Account, Piece
from tui.words import FICTIONAL

READING = (
    "The list asks: whom must somebody act on today who is not already coming in?",
    "TODAY: possible red flag, new injury, healing limit broken. HARM IF LEFT: flare not settling, protected "
    "case out of sight, losing range, worse or not responding, safety answers missing. CONTACT OWED: review "
    "overdue, missed visit, nothing recorded. MOVE ON: ready to step forward, long in stage, score or letter "
    "owed, range to watch.",
    "A case in hand stays under TODAY until its outcome is recorded. A filter never hides a case of TODAY.",
    "Rows never move by themselves: S sorts them again.",
    "Pain is 0 none to 10 worst: during exercise / later that day / on the next morning. Where no number is: "
    "? not asked, - not measured, d declined, p prohibited. None of these is zero.",
    "The small trend is next-morning pain, oldest first; a dot is a morning without a score, X is ten.",
    '"9 days overdue, of 21": the review interval is 21 days.',
    "A verdict is READY, NOT YET, UNKNOWN (with the one thing to record), STEP BACK ADVISED, REFER, ON HOLD.",
    "Local codes and licensed practice prevail; a surgeon's orders prevail over every rule here. "
    "The red-flag list is a prompt and no rule-out.",
    f"{words.CAUTION} Rules are NOT SIGNED OFF until a clinical lead has put a name to them.",
)


class HelpScreen(Screen[None]):
    """Keys and reading, scrolled."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,question_mark,enter", "dismiss", "back", id="help.back"),
    ]

    def __init__(self, screen: Screen) -> None:
        super().__init__()
        told = [Piece(text, indent=2) for text in READING]
        first = [Piece(FICTIONAL, "strong"), BLANK] if getattr(screen.app, "fictional", False) else []
        self.pieces = [*first, *keys_of(screen), BLANK, Piece("Reading the list", "head"), *told]

    def compose(self) -> ComposeResult:
        """Everything in one column."""
        with VerticalScroll(id="help"):
            yield Account(id="help-text")

    def on_mount(self) -> None:
        """Fill in."""
        plain_scroll_bar(self.query_one("#help"))
        self.query_one("#help-text", Account).tell(self.pieces)
        self.query_one("#help").focus()


def keys_of(screen: Screen) -> list[Piece]:
    """One line an action of ``screen``, with every key that does it."""
    pieces = [Piece("Keys", "head")]
    for description, keys, _ in described(screen):
        pieces.append(Piece(description, lead="  " + " or ".join(keys), indent=26))
    return pieces


def described(screen: Screen) -> Iterable[tuple[str, list[str], tuple[Any, str]]]:
    """(description, keys as printed, (node, action)) of every binding in force on ``screen``."""
    found: dict[str, tuple[str, list[str], tuple[Any, str]]] = {}
    for active in screen.active_bindings.values():
        binding = active.binding
        if not binding.description or binding.system:
            continue
        told = found.setdefault(binding.description, (binding.description, [], (active.node, binding.action)))
        told[1].append(screen.app.get_key_display(binding))
    return found.values()
