"""What a screen may ask of the application it stands in, and of the list beneath it.

A screen opens another by its name. So no screen imports one that stands above it, and a form is imported when
it is first opened.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, cast

from textual.app import App
from textual.dom import DOMNode
from textual.screen import Screen

if TYPE_CHECKING:
    from armrise.tui.shell.door import Door
    from armrise.tui.widgets.bars import Head
    from armrise.tui.widgets.listing import Listing


class Frame(App[None]):
    """The application as its screens know it."""

    door: Door | None = None
    """The way to the caseload; None until it is open."""
    fictional = False
    """True for the invented caseload: every screen says so."""
    broken = False
    """True when the caseload could not be opened."""
    as_known = ""
    """What marks every screen while an earlier instant is shown; empty is now."""

    def screen_named(self, name: str) -> type[Screen[Any]] | None:
        """The screen of that name; None for a name there is none of (any longer)."""
        raise NotImplementedError

    def open(self, name: str, *given: Any, done: Callable[[Any], Any] | None = None, **named: Any) -> None:
        """Open the screen ``name`` with what it asks for; ``done`` is told what it was dismissed with."""
        screen = self.screen_named(name)
        assert screen is not None, f"there is no screen {name}"
        self.push_screen(screen(*given, **named), done)

    def load_screens(self) -> None:
        """Import every screen, so that the first to be opened opens at once."""
        raise NotImplementedError


class Board(Screen[None]):
    """The list beneath, as the screens that stand over it know it."""

    listing: Listing
    head: Head
    signed: str

    def read_again(self, said: str = "") -> Any:
        """Read the list anew and sort it; ``said`` stays in the head."""
        raise NotImplementedError

    def read_through(self, door: Any, as_known: str, said: str) -> Any:
        """Read the list through another door, and turn every screen to it, marked ``as_known``."""
        raise NotImplementedError

    def written(self, words: str) -> None:
        """Something was written; ``words`` say what."""
        raise NotImplementedError


def frame_of(node: DOMNode) -> Frame:
    """The application around a screen or widget."""
    return cast(Frame, node.app)
