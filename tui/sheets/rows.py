"""Every row of a spreadsheet with what becomes of it; confirmed here, all of it or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from armrise.tui.sheets.lines import Lines
from armrise.tui.sheets.words import plan_lines
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.painted import Painted
from armrise.tui.widgets.pieces import Account, Piece
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from armrise.store.exchange.sheets.plan import Plan
    from armrise.tui.shell.store_door import StoreDoor

WRITING = "It is being written: wait until it is done."


class RowsScreen(Framed, Screen[str]):
    """The list before anything is written; dismissed with what was written, in words."""

    READING: ClassVar[tuple[str, ...]] = (
        "Every row of the spreadsheet under what becomes of it, those refused first, each with its column, "
        "what stands there and why.",
        "F2 writes what is new, as one action, everything or nothing.",
        "A refused row is not written: correct it in the spreadsheet and take the file again. What is there "
        "already is not added twice.",
        "U in a case takes back, on the same day, what was written for it.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "write", "write", id="rows.write"),
        Binding("escape", "leave", "to the columns", id="rows.leave"),
    ]
    DEFAULT_CSS = """
    RowsScreen #rows-head { height: 1; background: $surface; }
    RowsScreen Lines { padding: 0 1; margin-top: 1; }
    RowsScreen #rows-foot { height: auto; padding: 0 1; margin-top: 1; }
    """

    def __init__(self, door: StoreDoor, plan: Plan) -> None:
        super().__init__()
        self.door = door
        self.plan = plan
        self.writing = False

    def compose(self) -> ComposeResult:
        """Title, rows, what would be written, keys."""
        yield Painted(id="rows-head")
        yield Lines(key="rows")
        yield Account(id="rows-foot")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Lay the rows out beside the painting: there may be many."""
        fictional = f"   {FICTIONAL}" if self.app.fictional else ""
        name = self.plan.understood.file.name
        spans = [Span(" "), Span(f"{name}: every row", "accent"), Span(fictional, "strong")]
        self.query_one("#rows-head", Painted).show([spans])
        self.query_one(Lines).focus()
        self.foot()
        self.lay_out(self.size.width)

    def foot(self, *more: str) -> None:
        """What would be written, or what there is to say instead."""
        from armrise.store.exchange.sheets.report import in_all, to_write

        told = list(more) or [in_all(self.plan)[0], f"{to_write(self.plan)}. {self._asks()}"]
        self.query_one("#rows-foot", Account).tell([Piece(line, "strong") for line in told])

    def _asks(self) -> str:
        if not self.plan.cases:
            return ""
        return "F2 writes it. Nothing has been written yet."

    @work(thread=True, group="rows", exclusive=True)
    def lay_out(self, width: int) -> None:
        """Put the lines together."""
        lines = plan_lines(self.plan, self.door.rules, width)
        self.app.call_from_thread(self.show, lines)

    def show(self, lines: Sequence[Line]) -> None:
        """Show them."""
        if self.is_attached:
            self.query_one(Lines).tell(lines)

    def action_write(self) -> None:
        """Write all of it, once."""
        if self.writing:
            return
        if not self.plan.cases:
            say(self, "There is nothing new in this file: nothing is written.")
            return
        self.writing = True
        self.foot("Writing ...")
        self.write()

    @work(thread=True, group="writing")
    def write(self) -> None:
        """Beside the screen; a refusal leaves everything as it was."""
        from armrise.store.exchange.sheets import take
        from armrise.store.exchange.sheets.report import to_write

        def tell(done: int, of: int) -> None:
            self.app.call_from_thread(self.foot, f"{done:,} of {of:,} cases written ...")

        door = self.door
        try:
            take.write(door.store, self.plan, door.rules, door.author, door.now, tell=tell)
        except Exception as error:
            self.app.call_from_thread(self.failed, in_a_sentence(error))
            return
        said = to_write(self.plan).partition(": ")[2]
        self.app.call_from_thread(self.dismiss, f"Written: {said}")

    def failed(self, why: str) -> None:
        """Say why nothing was written."""
        self.writing = False
        self.foot()
        say(self, why)

    def action_leave(self) -> None:
        """Back to the columns; nothing was written."""
        if self.writing:
            say(self, WRITING)
        else:
            self.dismiss(None)
