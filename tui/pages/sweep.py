"""The weekly sweep: one case at a time, one key a decision, until none is undecided; then its minutes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from armrise.tui.pages.sweep_words import case_pieces, end_pieces, key_pieces
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import THROWN_AWAY, opened_door, say
from armrise.tui.shell.store_door import StoreDoor, into_store
from armrise.tui.widgets.bars import HeadBar, KeyBar
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import Account, Piece

if TYPE_CHECKING:
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.actions.sweep import SweepCase
    from armrise.tui.shell.frame import Board

READING = "Reading the sweep ..."
DECISIONS = (
    ("s", "SweepSeen", "seen"),
    ("b", "SweepRebook", "rebook"),
    ("p", "SweepPhone", "phone"),
    ("h", "SweepHold", "hold"),
    ("d", "SweepDischarge", "discharge"),
    ("r", "SweepRefer", "refer"),
)


class SweepScreen(Framed, Screen[None]):
    """The queue follows from what is recorded: leaving, a crash or a week's pause lose nothing."""

    READING: ClassVar[tuple[str, ...]] = (
        "The overdue cases, one decision each; a case that is decided leaves the queue.",
        "The queue follows from what is recorded: leaving it loses nothing.",
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(key, f"decide('{form}')", word, show=False, id=f"sweep.{word}")
            for key, form, word in DECISIONS
        ),
        Binding("n,right", "go(1)", "next, nothing decided", id="sweep.next"),
        Binding("left", "go(-1)", "one back", show=False, id="sweep.back"),
        Binding("enter", "open_case", "whole case", show=False, id="sweep.case"),
        Binding("m", "minutes", "minutes, written again", id="sweep.minutes"),
        Binding("escape", "leave", "to the list", id="sweep.leave"),
        Binding("down,j", "scroll(1)", "scroll down", show=False, id="sweep.down"),
        Binding("up,k", "scroll(-1)", "scroll up", show=False, id="sweep.up"),
    ]

    DEFAULT_CSS = """
    SweepScreen #decide { dock: bottom; height: auto; width: 100%; padding: 0 1; margin-bottom: 2;
        background: $background; }
    """

    def __init__(self, board: Board) -> None:
        super().__init__()
        self.board = board
        self.made: Minutes | None = None
        self.at = 0
        self.told = ""
        self.showing_minutes = False
        self.decided_here = False

    @property
    def door(self) -> StoreDoor:
        """The way to the caseload; the case may have been turned to an earlier instant."""
        return into_store(self.app.door)

    def compose(self) -> ComposeResult:
        """Head, the case, keys."""
        yield HeadBar(id="head")
        with VerticalScroll(id="case", can_focus=False):
            yield Account(id="account")
        yield Account(id="decide")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Read beside the painting."""
        plain_scroll_bar(self.query_one("#case"))
        self.query_one(HeadBar).say(replace(self.board.head, notice="weekly sweep"))
        self.query_one("#account", Account).tell([Piece(READING)])
        self.read()

    # reading

    @work(thread=True, group="sweep", exclusive=True)
    def read(self) -> None:
        """The queue and the minutes from the store."""
        try:
            made = self.door.sweep()
        except Exception as error:
            self.app.call_from_thread(self.failed, error)
            return
        self.app.call_from_thread(self.take, made)

    def failed(self, error: Exception) -> None:
        """Say what went wrong; nothing was changed by reading."""
        told = [Piece(in_a_sentence(error), "strong"), Piece("Esc goes back.", "muted")]
        self.query_one("#account", Account).tell(told)

    def take(self, made: Minutes) -> None:
        """Show the case at the same place of the queue; at zero write the minutes."""
        self.made = made
        self.at = min(self.at, max(0, len(made.remaining) - 1))
        self.show()
        if not made.remaining and made.decided and (self.decided_here or not self.file(made).exists()):
            self.write_minutes(made)

    @property
    def case(self) -> SweepCase | None:
        """The case on the screen."""
        if self.made is None or not self.made.remaining:
            return None
        return self.made.remaining[self.at]

    def show(self) -> None:
        """The case, or the minutes once none is left or they are asked for."""
        if self.made is None:
            return
        case = self.case
        keys = self.query_one("#decide", Account)
        keys.display = case is not None and not self.showing_minutes
        if case is None or self.showing_minutes:
            pieces = end_pieces(self.made, self.told)
        else:
            pieces = case_pieces(self.made, case, self.told)
            keys.tell(key_pieces(self.made, self.at))
        self.query_one("#account", Account).tell(pieces)
        self.query_one("#case").scroll_home(animate=False)

    # keys

    def action_decide(self, form: str) -> None:
        """Open the form of a decision about the case on the screen."""
        case = self.case
        if case is None or self.showing_minutes:
            return
        if self.door.cannot_write:
            say(self, self.door.cannot_write)
            return

        def done(words: str | None) -> None:
            if words:
                word = next(word for _, name, word in DECISIONS if name == form)
                self.told, self.decided_here = f"{case.standing.code} decided: {word}.", True
                self.read()
                self.board.read_again(words)

        self.app.open(form, self.door, case.standing, done=done)

    def action_go(self, by: int) -> None:
        """Another case, nothing decided."""
        if self.made is not None and self.made.remaining:
            self.at = (self.at + by) % len(self.made.remaining)
            self.told = ""
            self.showing_minutes = False
            self.show()

    def action_open_case(self) -> None:
        """The whole account of the case; what is recorded there may take it out of the queue."""
        case = self.case
        if case is None or self.showing_minutes:
            return
        from armrise.tui.case.case import CaseScreen

        def back(_: None) -> None:
            self.read()

        self.app.push_screen(CaseScreen(self.board, case.standing.code), back)

    def action_minutes(self) -> None:
        """The minutes so far, written to their file again; once more goes back to the case."""
        if self.made is None:
            return
        if self.showing_minutes and self.made.remaining:
            self.showing_minutes, self.told = False, ""
            self.show()
        else:
            self.showing_minutes = True
            self.show()
            self.write_minutes(self.made)

    def action_leave(self) -> None:
        """Back to the list; what was decided stays decided."""
        self.dismiss(None)

    def action_scroll(self, lines: int) -> None:
        """Scroll a line."""
        self.query_one("#case").scroll_relative(y=lines, animate=False)

    # the file

    def file(self, made: Minutes) -> Path:
        """Where the minutes are written."""
        from armrise.store.exchange.out.minutes import minutes_path

        return minutes_path(self.door.store, made)

    @work(thread=True, group="minutes", exclusive=True)
    def write_minutes(self, made: Minutes) -> None:
        """Write the file beside the store, and beside it a page for paper; say where they lie."""
        from armrise.store.exchange.out.minutes import as_text, write_minutes
        from armrise.store.exchange.out.plain_text import Heading
        from armrise.store.exchange.paper.file import write_for_paper
        from armrise.store.exchange.paper.listings import minutes_page

        path = self.file(made)
        try:
            head = self.door.header()
            heading = Heading(made.as_of, self.door.fictional, head["data_until"], self.door.rules)
            write_minutes(path, as_text(made, heading))
            written = write_for_paper(path, minutes_page(made, heading))
            told = f"Minutes written to {written}{'' if self.door.store.lasting else THROWN_AWAY}"
        except Exception as error:
            told = f"{in_a_sentence(error)}; m writes them again"
        self.app.call_from_thread(self.say_written, told)

    def say_written(self, told: str) -> None:
        """Say where the minutes are, or why they are not."""
        self.told = told
        self.show()


def open_sweep(board: Board) -> None:
    """Open the sweep over the list; rows are sorted again on the way back."""

    def back(_: None) -> None:
        board.read_again()

    if opened_door(board):
        board.app.push_screen(SweepScreen(board), back)
