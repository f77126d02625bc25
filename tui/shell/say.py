"""A sentence on its own until the next key, the blank screen, and why nothing can be asked yet."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen, Screen

from armrise.tui.shell.frame import Framed, frame_of
from armrise.tui.widgets.pieces import Account, Piece
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.tui.shell.store_door import StoreDoor

OF_NOW = "{what} is of now, and this is an earlier list: Esc goes back to now."
NO_STORE = "There is no store behind this list."
THROWN_AWAY = " (the demo's folder, thrown away when armrise is left)"
"""What stands behind the name of a file beside a store that does not last."""


class AnyKeyScreen(Framed, Screen[None]):
    """A screen that any key or click leaves, and that no key does anything else in."""

    READING: ClassVar[tuple[str, ...]] = ("Any key returns.",)

    def on_key(self, event: events.Key) -> None:
        """Leave."""
        event.stop()
        event.prevent_default()
        self.leave()

    def on_click(self, event: events.Click) -> None:
        """Leave."""
        event.stop()
        self.leave()

    def leave(self) -> None:
        """Go, once: keys of one burst all come here, and the second must not close the screen beneath."""
        if self.is_active:
            self.dismiss(None)


class BlankScreen(AnyKeyScreen):
    """Nothing about anybody; ``woken`` is told at once when it is left.

    A key never comes here: the application takes it, because some may mean the screen beneath.
    """

    marked = False

    def __init__(self, woken: Callable[[], None] = lambda: None) -> None:
        super().__init__()
        self.woken = woken

    def compose(self) -> ComposeResult:
        """One line."""
        told = "Screen blanked. Any key returns."
        if self.app.fictional:
            told = f"{FICTIONAL}\n\n{told}"
        yield Static(told, id="blank", markup=False)

    def leave(self) -> None:
        """Uncover the screen beneath, for the keys that follow."""
        super().leave()
        self.woken()


class SayScreen(AnyKeyScreen, ModalScreen[None]):
    """One sentence at the foot of the screen, until the next key."""

    READING: ClassVar[tuple[str, ...]] = ("Any key goes on.",)

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words

    def compose(self) -> ComposeResult:
        """The sentence, and how to go on."""
        account = Account()
        lines = [Piece(line) for line in self.words.split("\n")]
        account.pieces = [*lines, Piece("any key goes on", "muted")]
        yield account


def say(screen: Screen[Any], words: str) -> None:
    """Show one sentence until the next key. Not a toast: case text must not outlive the screen it is on."""
    frame_of(screen).push_screen(SayScreen(words))


def opened_door(screen: Screen[Any]) -> StoreDoor | None:
    """The door into the store; None, with the reason said, while there is none."""
    from armrise.tui.shell.store_door import StoreDoor

    app = frame_of(screen)
    if isinstance(app.door, StoreDoor):
        return app.door
    say(screen, app.unread or NO_STORE)
    return None


def door_of_now(screen: Screen[Any], what: str) -> StoreDoor | None:
    """The door into the store where the list is of now; None, with the reason said, else.

    ``what`` begins that sentence: what is made here is never of an earlier instant.
    """
    door = opened_door(screen)
    if door is None or not frame_of(screen).as_known:
        return door
    say(screen, OF_NOW.format(what=what))
    return None


def writable_door(screen: Screen[Any]) -> StoreDoor | None:
    """The door into a store that can be written; None, with the reason said, where there is none."""
    door = opened_door(screen)
    if door is None or not door.cannot_write:
        return door
    say(screen, door.cannot_write)
    return None
