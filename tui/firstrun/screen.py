"""The first run: what this program is and is not, then a caseload of one's own, or the demo.

Nothing is made before the last key; each page says what it will write. Cautions: practice note 6.4.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from armrise.tui.firstrun.words import (
    CAUTIONS,
    initials_fault,
    initials_warning,
    passphrase_fault,
    proposed_zone,
    will_make,
    zone_fault,
)
from armrise.tui.forms.kit.fields import Changed, Moved, Write
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import sentence
from armrise.tui.shell.frame import Frame, Framed
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import BLANK, Account, Piece
from armrise.tui.widgets.static import Static

if TYPE_CHECKING:
    from armrise.store.database.driver import Driver
    from armrise.store.database.server.address import Where


class FirstRunScreen(Framed, Screen[str | None]):
    """There is no store yet: cautions, and the choice. Dismissed with what was made, None for the demo."""

    READING: ClassVar[tuple[str, ...]] = (
        "There is no caseload on this account yet. Nothing is written until a page has said what it writes.",
        "1 makes an empty caseload of your own, after asking for the clinic's time zone and your initials.",
        "2 opens the fictional caseload; it is thrown away when you leave.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "own", "my own caseload", id="first.own"),
        Binding("2", "demo", "the demo", id="first.demo"),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="first.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="first.up"),
    ]

    def __init__(self, path: Where) -> None:
        super().__init__()
        self.path = path

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="first", can_focus=False):
            yield Account(id="first-text")

    def on_mount(self) -> None:
        """Cautions first, then the choice."""
        plain_scroll_bar(self.query_one("#first"))
        self.query_one("#first-text", Account).tell(
            [
                Piece("armrise: the shoulder caseload, first run", "head"),
                BLANK,
                *(Piece(text, lead="  -", indent=4) for text in CAUTIONS),
                BLANK,
                Piece("There is no caseload on this account yet.", "strong"),
                Piece("my own caseload: asks for zone and initials, then makes an empty one", "", "  1", 5),
                Piece("the demo: a fictional caseload, thrown away afterwards", "", "  2", 5),
                Piece("leave: nothing has been written", "", "  q", 5),
            ]
        )

    def action_scroll_by(self, lines: int) -> None:
        self.query_one("#first").scroll_relative(y=lines, animate=False)

    def action_demo(self) -> None:
        self.dismiss(None)

    def action_own(self) -> None:
        """Ask for what a store of one's own needs."""

        def made(initials: str | None) -> None:
            if initials:
                self.dismiss(initials)

        self.app.push_screen(OwnCaseloadScreen(self.path), made)


class OwnCaseloadScreen(Framed, Screen[str | None]):
    """Zone and initials, where the file will lie and who may read it; F2 makes it. Gives the initials."""

    READING: ClassVar[tuple[str, ...]] = (
        "The zone decides which day it is: every date and every count of days goes by the clinic's clock.",
        "The initials stand beside every entry. Another clinician at the same caseload starts armrise with "
        "--author and their own.",
        "A passphrase encrypts the file, its log and its backups; it is asked for at each start. Without one "
        "whoever gets hold of the file reads it. It can be changed later: armrise encrypt, armrise decrypt.",
        "The file is made when F2 is pressed, and not before.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back, nothing made", id="own.leave"),
        Binding("f2,ctrl+s", "make", "Make the caseload", id="own.make"),
        Binding("down", "app.focus_next", "Next field", show=False, id="own.next"),
        Binding("up", "app.focus_previous", "Field before", show=False, id="own.before"),
    ]

    def __init__(self, path: Where) -> None:
        super().__init__()
        self.path = path
        self.busy = False
        self.may_encrypt = may_encrypt(path)

    def compose(self) -> ComposeResult:
        """Two lines to type, and what will be made."""
        zone, why = proposed_zone()
        yield Static(hinted("F2 make it   Esc back, nothing made   F1 help"), id="own-hints")
        with VerticalScroll(id="own", can_focus=False):
            yield Static("My own caseload", id="own-head", markup=False)
            yield Static(why, id="own-lead", markup=False)
            yield Line("clinic's time zone", value=zone, key="zone", longest=60)
            yield Line("your initials", key="initials", longest=40)
            if self.may_encrypt:
                yield Line("passphrase, if wanted", key="passphrase", secret=True)
                yield Line("the same passphrase again", key="again", secret=True)
            yield Static("", id="own-plan", markup=False)
            yield Static("", id="own-says", markup=False)
            yield Write("Make this caseload", key="make")

    def on_mount(self) -> None:
        """The zone is proposed, the initials nobody knows."""
        plain_scroll_bar(self.query_one("#own"))
        self.show_plan()
        self.query_one("#zone" if not self.zone else "#initials", Line).focus()

    @property
    def zone(self) -> str:
        return self.query_one("#zone", Line).value

    @property
    def initials(self) -> str:
        return self.query_one("#initials", Line).value

    def typed(self, key: str) -> str:
        """What stands in one of the fields for the passphrase; nothing where there are none."""
        return self.query_one(f"#{key}", Line).value if self.may_encrypt else ""

    def on_moved(self, event: Moved) -> None:
        event.stop()
        self.focus_next()

    def on_changed(self, event: Changed) -> None:
        """Say anew what will be made."""
        event.stop()
        self.query_one("#initials", Line).warn(initials_warning(self.initials))
        self.show_plan()

    def show_plan(self) -> None:
        """What will be made, before it is."""
        encrypted = bool(self.typed("passphrase"))
        text = "\n".join(will_make(self.path, self.zone, self.initials, encrypted=encrypted))
        self.query_one("#own-plan", Static).update(text)

    def on_write_asked(self, event: Write.Asked) -> None:
        event.stop()
        self.action_make()

    def action_leave(self) -> None:
        if not self.busy:
            self.dismiss(None)

    def action_make(self) -> None:
        """Make the store, unless a line is at fault."""
        secret = self.typed("passphrase")
        faults = {"zone": zone_fault(self.zone), "initials": initials_fault(self.initials)}
        if self.may_encrypt:
            faults["passphrase"] = passphrase_fault(secret, self.typed("again"))
        for key, fault in faults.items():
            self.query_one(f"#{key}", Line).fault = fault
        wrong = next((key for key, fault in faults.items() if fault), None)
        if wrong:
            self.query_one(f"#{wrong}", Line).focus()
        elif not self.busy:
            self.busy = True
            self.make(self.zone, self.initials, secret)

    @work(thread=True, group="make")
    def make(self, zone: str, initials: str, secret: str) -> None:
        """Make the store, encrypted where a passphrase was typed."""
        from armrise.store.database.place import Store

        try:
            Store.create(place_for(self.path, secret), zone=zone, author=initials)
        except Exception as error:
            self.app.call_from_thread(self.refused, sentence(error))
            return
        self.app.call_from_thread(self.dismiss, initials)

    def refused(self, said: str) -> None:
        """Keep what was typed and say why not."""
        self.busy = False
        self.query_one("#own-says", Static).update(f"! {said}")


def may_encrypt(path: Where) -> bool:
    """True where encrypted caseloads can be made: in a file, with the extra installed."""
    from armrise.store.database.encrypted.file import is_installed

    return isinstance(path, Path) and is_installed()


def place_for(path: Where, secret: str) -> Where | Driver:
    """What a caseload is made in: the file, or one that the passphrase opens, its key held from now on."""
    if not secret or not isinstance(path, Path):
        return path
    from armrise.store.database.encrypted.unlock import new_file

    return new_file(path, secret)


def first_run(app: Frame, path: Where, again: Callable[[], object]) -> None:
    """Show the first run above the list; ``again`` reads the list once there is something to read."""
    from armrise.tui.shell.opening import demonstration

    def done(initials: str | None) -> None:
        if initials is None:
            folder = app.demo_folder()
            asked = app.opening
            prepare = partial(demonstration, folder, asked.as_of, asked.rules)
            app.begin(asked._replace(store_path=None, demo=True, prepare=prepare))
        else:
            app.begin(app.opening)
        again()

    app.push_screen(FirstRunScreen(path), done)
