"""What a screen may ask of the application it stands in, and of the list beneath it.

A screen opens another by its name. So no screen imports one that stands above it, and a form is imported when
it is first opened.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import getters
from textual.app import App
from textual.dom import DOMNode
from textual.screen import ModalScreen, Screen

if TYPE_CHECKING:
    from textual.worker import Worker

    from armrise.tui.shell.door import Door
    from armrise.tui.shell.opening import Opening
    from armrise.tui.widgets.bars import Head
    from armrise.tui.widgets.confirmation import Confirmation
    from armrise.tui.widgets.listing import Listing

BURST = 0.02
"""Seconds between keys that came together, as a slow line delivers them; no hand is so fast."""
STILL_READING = "The caseload is still being read: try again when the list is on the screen."
NOT_OPEN = "Nothing can be written: the caseload could not be opened."


class Frame(App[None]):
    """The application as its screens know it."""

    opening: Opening
    """What was asked to be opened."""
    door: Door | None = None
    """The way to the caseload; None until it is open."""
    fictional = False
    """True for the invented caseload: every screen says so."""
    broken = False
    """True when the caseload could not be opened."""
    as_known = ""
    """What marks every screen while an earlier instant is shown; empty is now."""
    own_keys: Mapping[str, str] = {}
    """Keys of the user's own, by binding id."""
    confirmation: Confirmation | None = None
    """What was just written, while it stands above the keys."""
    backup_asked = False
    """True while a backup that was asked for is being made: it is made on the way out, if it was stopped."""
    just_written = ""
    """The case it was about, while the key is done that took it away: what U then undoes."""

    @property
    def act_keys(self) -> Mapping[str, str]:
        """The printed key of every action that the rules name."""
        raise NotImplementedError

    @property
    def open_door(self) -> Door:
        """The door, for screens that are opened only once there is one."""
        assert self.door is not None
        return self.door

    @property
    def unread(self) -> str:
        """Why nothing can be asked of the caseload, in a sentence; empty once its door is open."""
        if self.door is not None:
            return ""
        return NOT_OPEN if self.broken else STILL_READING

    @property
    def unwritable(self) -> str:
        """Why nothing can be written, in a sentence; empty when it can."""
        return self.unread if self.door is None else self.door.cannot_write

    def unsay(self) -> None:
        """A key was pressed: what was just written is no longer said."""
        gone, self.confirmation = self.confirmation, None
        self.just_written = gone.code if gone else ""
        if gone is not None and gone.is_attached:
            gone.remove()

    def begin(self, opening: Opening) -> None:
        """Open something else than was asked for at the start: what the first run made, or the demo."""
        self.opening = opening
        self.fictional = opening.demo

    def demo_folder(self) -> Path:
        """A private folder that is removed when the application is left."""
        raise NotImplementedError

    def opened(self, door: Door) -> None:
        """The caseload can be read through ``door``."""
        raise NotImplementedError

    def look_through(self, door: Door, as_known: str) -> None:
        """Show the caseload through another door, and mark every screen; an empty mark is now."""
        self.door = door
        self.as_known = as_known
        for screen in self.screen_stack:
            self._mark(screen)

    if not TYPE_CHECKING:  # what it takes and gives is written in Textual

        def push_screen(self, screen, *given, **named):
            """As Textual does; a screen that is shown over an earlier list is marked like it."""
            self._mark(screen)
            return super().push_screen(screen, *given, **named)

    def _mark(self, screen: Screen[Any]) -> None:
        if isinstance(screen, Framed) and screen.marked and not isinstance(screen, ModalScreen):
            screen.set_class(bool(self.as_known), "-as-known")  # beneath a modal screen the mark shows
            screen.border_title = self.as_known

    def screen_named(self, name: str) -> type[Screen[Any]] | None:
        """The screen of that name; None for a name there is none of (any longer)."""
        raise NotImplementedError

    def open(self, name: str, *given: Any, done: Callable[[Any], Any] | None = None, **named: Any) -> None:
        """Open the screen ``name`` with what it asks for; ``done`` is told what it was dismissed with."""
        screen = self.screen_named(name)
        assert screen is not None, f"there is no screen {name}"
        self.push_screen(screen(*given, **named), done)

    def action_blank(self) -> None:
        """Blank the screen."""
        raise NotImplementedError

    def turned(self) -> None:
        """Another case is under the cursor: a key on its way since before was not meant for it."""
        raise NotImplementedError

    def end_burst(self) -> None:
        """Another case is in sight: keys pressed by now, or in one burst with them, were not meant for it."""
        raise NotImplementedError

    def load_screens(self) -> None:
        """Import the screens of every day, so that the first to be opened opens at once."""
        raise NotImplementedError


class Framed:
    """Mixed into a screen: the application it stands in is a :class:`Frame`."""

    app = getters.app(Frame)
    READING: ClassVar[tuple[str, ...]] = ()
    """How to read the screen, in its help."""
    KEYED: ClassVar[tuple[type[DOMNode], ...]] = ()
    """Widgets of the screen with keys of their own."""
    helped = True
    """False for a screen on which help has nothing to say."""
    opened_at = -BURST
    """When a screen was opened on which a key of the burst that opened it must do nothing."""
    unshown: tuple[str, ...] = ()
    """How the ids begin of keys that act on nothing now and are left out at the foot."""
    marked = True
    """False for a screen that is not marked while an earlier instant is shown."""
    locks = False
    """True for a screen that lets nothing be seen or done before the passphrase is typed."""

    def update(self) -> None:
        """The list beneath was read anew: show what follows from it here."""


class Board(Framed, Screen[None]):
    """The list beneath, as the screens that stand over it know it."""

    listing: Listing
    head: Head
    signed: str

    def read_again(self, said: str = "", *, sort: bool = True) -> Worker[None]:
        """Read the list anew; ``said`` stays in the head. Unless to ``sort`` it, only new cases come in."""
        raise NotImplementedError

    def read_through(self, door: Door, as_known: str, said: str) -> Worker[None]:
        """Read the list through another door, and turn every screen to it, marked ``as_known``."""
        raise NotImplementedError

    def written(self, words: str, code: str = "") -> None:
        """Something was written; ``words`` say what, of the case in view unless ``code`` names another."""
        raise NotImplementedError

    def reach(self, code: str) -> None:
        """Put the cursor on a case of the list, whatever leaves it out."""
        raise NotImplementedError

    def verified(self, sound: bool) -> None:
        """The store was verified: the head says so while it is not ``sound``."""
        raise NotImplementedError

    async def action_filter(self) -> None:
        """Type what the rows should be about."""
        raise NotImplementedError


def frame_of(node: DOMNode) -> Frame:
    """The application around a screen or widget."""
    return cast(Frame, node.app)  # pyright: ignore[reportUnknownMemberType]  # an application of any kind
