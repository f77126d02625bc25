"""The help screen: every key, from the bindings themselves, and how to read the screen it was called from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, NamedTuple

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.dom import DOMNode
from textual.screen import Screen

from armrise.store.record.words import PROMPT
from armrise.tui.shell.frame import Framed, frame_of
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import BLANK, Account, Piece
from armrise.tui.words import standing as words
from armrise.tui.words.standing import FICTIONAL

ALWAYS = (
    f"Local codes and licensed practice prevail; a surgeon's orders prevail over every rule here. {PROMPT}",
    f"{words.CAUTION} Rules are NOT SIGNED OFF until a clinical lead has put a name to them.",
)
"""Said under the reading of every screen."""


class Action(NamedTuple):
    """An action and the node it is done by, the screen or a widget."""

    node: DOMNode
    name: str


class HelpScreen(Framed, Screen[None]):
    """Keys and reading, scrolled."""

    READING: ClassVar[tuple[str, ...]] = ("The keys of the screen you came from, then how to read it.",)

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,question_mark,enter", "dismiss", "back", id="help.back"),
    ]

    def __init__(self, screen: Screen[Any]) -> None:
        super().__init__()
        told = [Piece(text, indent=2) for text in (*reading(screen), *ALWAYS)]
        first = [Piece(FICTIONAL, "strong"), BLANK] if frame_of(screen).fictional else []
        self.pieces = [*first, *keys_of(screen), BLANK, Piece("Reading this screen", "head"), *told]

    def compose(self) -> ComposeResult:
        """Everything in one column."""
        with VerticalScroll(id="help"):
            yield Account(id="help-text")

    def on_mount(self) -> None:
        """Fill in."""
        plain_scroll_bar(self.query_one("#help"))
        self.query_one("#help-text", Account).tell(self.pieces)
        self.query_one("#help").focus()


def reading(screen: Screen[Any]) -> tuple[str, ...]:
    """How to read a screen: the text that lives with it."""
    return screen.READING if isinstance(screen, Framed) else ()


def keys_of(screen: Screen[Any]) -> list[Piece]:
    """One line an action of ``screen``, with every key that does it."""
    pieces = [Piece("Keys", "head")]
    for description, keys, _ in described(screen):
        pieces.append(Piece(description, lead="  " + " or ".join(keys), indent=26))
    return pieces


def described(screen: Screen[Any]) -> Iterable[tuple[str, list[str], Action]]:
    """Description, keys as printed and action of every binding in force on ``screen``."""
    app = frame_of(screen)
    found: dict[str, tuple[str, list[str], Action]] = {}
    for active in screen.active_bindings.values():
        binding = active.binding
        if not binding.description or binding.system:
            continue
        action = Action(active.node, binding.action)
        told = found.setdefault(binding.description, (binding.description, [], action))
        printed = app.get_key_display(binding)
        told[1].extend([printed] if printed and printed not in told[1] else [])
    return found.values()
