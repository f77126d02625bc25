"""The passphrase, asked for in a field that shows no letters: to open the caseload, and after a long pause.

Making the key takes the better part of a second, so it is made beside the screen. However often the
passphrase is wrong nothing is lost: the program waits for the right one, or for somebody to leave.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from armrise.tui.forms.kit.fields import Changed, Moved
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import sentence
from armrise.tui.shell.frame import Frame, Framed
from armrise.tui.widgets.hints import hinted
from armrise.tui.words.standing import FICTIONAL

OPENS = "This caseload is encrypted"
LOCKED = "Locked"
NO_WAY_ROUND = "Without the passphrase nobody can open it."
BUSY = "Looking whether it opens ..."


class PassphraseScreen(Framed, Screen[bool]):
    """One field. Dismissed with True once what was typed opens the caseload, and never otherwise."""

    READING: ClassVar[tuple[str, ...]] = (
        "The caseload is encrypted: nothing of it is shown before its passphrase is typed.",
        "A wrong one loses nothing. Nobody can replace a lost one.",
    )
    helped = False
    marked = False
    locks = True
    HEAD = OPENS
    WRONG = "Wrong passphrase, or the file is damaged. Type it again; a damaged file needs a backup."

    def __init__(self) -> None:
        super().__init__()
        self.busy = False
        self.wrong = 0

    @property
    def about(self) -> str:
        """What stands between the head and the field."""
        raise NotImplementedError

    def refusal(self, passphrase: str) -> str:
        """Why the passphrase does not open it; empty where it does. Called in a thread."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """What is asked, the field, what was wrong with the one before."""
        with VerticalScroll(id="locked", can_focus=False):
            if self.app.fictional:
                yield Static(FICTIONAL, id="locked-fictional", markup=False)
            yield Static(self.HEAD, id="locked-head", markup=False)
            yield Static(self.about, id="locked-about", markup=False)
            yield Line("passphrase", key="passphrase", secret=True)
            yield Static("", id="locked-says", markup=False)
            yield Static(hinted("Enter opens it   Ctrl+Q leaves"), id="locked-hints")

    def on_mount(self) -> None:
        """The field is where keys go."""
        self.query_one("#passphrase", Line).focus()

    def on_changed(self, event: Changed) -> None:
        event.stop()

    def on_moved(self, event: Moved) -> None:
        """Enter: try it."""
        event.stop()
        typed = self.query_one("#passphrase", Line).value
        if typed and not self.busy:
            self.busy = True
            self.say(BUSY)
            self.look(typed)

    @work(thread=True, group="look")
    def look(self, typed: str) -> None:
        """Make the key, and see whether it opens."""
        try:
            said = self.refusal(typed)
        except Exception as error:
            said = sentence(error)
        self.app.call_from_thread(self.looked, said)

    def looked(self, said: str) -> None:
        """Go, or say why not and have it typed anew."""
        self.busy = False
        if not said:
            self.dismiss(True)
            return
        self.wrong += 1
        self.query_one("#passphrase", Line).input.value = ""
        times = f" ({self.wrong} times)" if self.wrong > 1 else ""
        self.say(f"! {said}{times}")

    def say(self, words: str) -> None:
        """Under the field."""
        self.query_one("#locked-says", Static).update(words)


class OpenScreen(PassphraseScreen):
    """The caseload is to be opened."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path

    @property
    def about(self) -> str:
        return f"{self.path}\n{NO_WAY_ROUND}"

    def refusal(self, passphrase: str) -> str:
        from armrise.store.database.driver import WrongPassphrase
        from armrise.store.database.encrypted.unlock import unlock

        try:
            unlock(self.path, passphrase)
        except WrongPassphrase:
            return self.WRONG
        return ""


class LockScreen(PassphraseScreen):
    """Nobody was here for long: nothing is shown before the passphrase is typed again."""

    HEAD = LOCKED
    WRONG = "Wrong passphrase. Nothing is lost by it: type it again."

    @property
    def about(self) -> str:
        return "Nobody was here for a while. What was being typed in a form is kept."

    def refusal(self, passphrase: str) -> str:
        return "" if self.app.open_door.opened_by(passphrase) else self.WRONG


def ask_passphrase(app: Frame, path: Path, again: Callable[[], object]) -> None:
    """Ask for the passphrase of a caseload above the list; ``again`` reads the list once it is at hand."""

    def opened(_: bool | None) -> None:
        again()

    app.push_screen(OpenScreen(path), opened)
