"""A spreadsheet before it is taken: every column with what it means, to be corrected by key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import OptionList
from textual.worker import Worker, get_current_worker  # pyright: ignore[reportUnknownVariableType]

from armrise.tui.forms.kit.asking import AskScreen
from armrise.tui.sheets.words import column_rows, samples_of
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say, writable_door
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.painted import Painted
from armrise.tui.widgets.pieces import Account, Piece
from armrise.tui.widgets.rowlist import RowList
from armrise.tui.widgets.rows import Span
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.store.exchange.sheets.mapping import Column, Map
    from armrise.store.exchange.sheets.plan import File, Plan, Understood
    from armrise.store.exchange.sheets.rows import Sheet
    from armrise.tui.shell.frame import Board
    from armrise.tui.shell.store_door import StoreDoor

TITLE = "A clinic's spreadsheet in"
HINT = "A CSV or XLSX file, by its path. It is read and shown; nothing is written before you say so."
NEVER = "This column names people, and names are never taken: it stays left out."
NO_DATES = "This column is no date: the order of day and month has no meaning for it."


class SheetScreen(Framed, Screen[None]):
    """The columns of a file. Whatever is changed is read anew beside the screen."""

    READING: ClassVar[tuple[str, ...]] = (
        "Each column of the spreadsheet with what it is taken to mean, why, and what its first cells hold.",
        "A heading that may mean two things means nothing until you choose. Names, birthdays and numbers of "
        "people are never taken.",
        "Below stands what would become of the rows. Nothing is written on this screen.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "change", "another meaning", id="sheet.change"),
        Binding("l", "leave_out", "leave out", id="sheet.leave_out"),
        Binding("d", "order", "day or month first", id="sheet.order"),
        Binding("r", "rows", "every row", id="sheet.rows"),
        Binding("escape", "leave", "leave", id="sheet.leave"),
    ]
    DEFAULT_CSS = """
    SheetScreen #sheet-head { height: 1; background: $surface; }
    SheetScreen RowList { height: 1fr; padding: 0 1; margin-top: 1; }
    SheetScreen #sheet-foot { height: auto; max-height: 8; padding: 0 1; margin-top: 1; }
    """

    def __init__(self, board: Board, door: StoreDoor, file: File) -> None:
        super().__init__()
        self.board = board
        self.door = door
        self.file = file
        self.said: Map | None = None
        self.about: Understood | None = None
        self.plan: Plan | None = None

    def compose(self) -> ComposeResult:
        """Title, columns, what would become of the rows, keys."""
        yield Painted(id="sheet-head")
        yield RowList(key="columns")
        yield Account(id="sheet-foot")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Read what the columns mean."""
        fictional = f"   {FICTIONAL}" if self.app.fictional else ""
        spans = [Span(" "), Span(f"{TITLE}: {self.file.name}", "accent"), Span(fictional, "strong")]
        self.query_one("#sheet-head", Painted).show([spans])
        self.query_one(RowList).focus()
        self.read()

    # reading

    def read(self) -> None:
        """Begin to read anew, beside the screen; what was begun before is given up."""
        from armrise.store.exchange.sheets.mapping import Map

        self.plan = None
        self.said = self.said or Map()
        self.tell(Piece("Reading the rows ...", "muted"))
        self._read()

    @work(thread=True, group="sheet", exclusive=True)
    def _read(self) -> None:
        from armrise.store.exchange.sheets.plan import kept_map, planned, understood

        worker = cast("Worker[None]", get_current_worker())

        def tell(what: str, done: int, of: int) -> None:
            if worker.is_cancelled:
                raise InterruptedError
            if done:
                self.app.call_from_thread(self.progress, f"{done:,} of {of:,} {what} ...")

        try:
            assert self.said is not None
            codes = [code for code, *_ in self.door.heads()]
            about = understood(self.file, self.said, kept_map(self.door.store), codes)
            self.app.call_from_thread(self.take_columns, about)
            plan = planned(self.door.store, about, self.door.rules, self.door.now(), self.door.author, tell)
        except InterruptedError:
            return
        except Exception as error:
            self.app.call_from_thread(self.not_yet, in_a_sentence(error))
            return
        self.app.call_from_thread(self.take_plan, plan)

    def progress(self, told: str) -> None:
        """How far it is."""
        if self.is_attached:
            self.tell(Piece(told, "muted"))

    def take_columns(self, about: Understood) -> None:
        """Show what the columns mean."""
        self.about = about
        if self.is_attached:
            self.query_one(RowList).tell(list(column_rows(about, self.size.width)))

    def not_yet(self, why: str) -> None:
        """Say what keeps the rows from being read."""
        if self.is_attached:
            self.tell(Piece(f"Not yet: {why}", "strong"))

    def take_plan(self, plan: Plan) -> None:
        """Show the counts; which number of a date is the day is known now."""
        from armrise.store.exchange.sheets.report import in_all

        self.plan = plan
        if not self.is_attached:
            return
        self.take_columns(plan.understood)
        notes = [Piece(note, "muted", spare=1) for note in plan.understood.notes]
        self.tell(
            *notes,
            *(Piece(line, "strong") for line in in_all(plan)),
            Piece("Enter changes what a column means. r lists every row, to be written from there."),
        )

    def tell(self, *pieces: Piece) -> None:
        """Say it below the columns."""
        self.query_one("#sheet-foot", Account).tell(list(pieces))

    # keys

    def _chosen(self) -> tuple[Sheet, Column] | None:
        key = self.query_one(RowList).chosen
        if self.about is None or not key:
            return None
        sheet_at, index = (int(part) for part in key.split(":"))
        sheet = self.about.sheets[sheet_at]
        return sheet, next(column for column in sheet.columns if column.index == index)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter, or a click."""
        event.stop()
        self.action_change()

    def action_change(self) -> None:
        """Choose what the column under the cursor means."""
        from armrise.store.exchange.sheets.meanings import meanings
        from armrise.tui.sheets.choose import ChooseScreen

        chosen = self._chosen()
        if chosen is None:
            return
        sheet, column = chosen
        if column.personal:
            say(self, NEVER)
            return
        present = column.meaning.name if column.meaning else ""
        screen = ChooseScreen(str(column.heading), samples_of(sheet, column), list(meanings()), present)
        self.app.push_screen(screen, lambda name: self._mean(column, name))

    def action_leave_out(self) -> None:
        """Leave the column out."""
        from armrise.store.exchange.sheets.meanings import LEAVE_OUT

        chosen = self._chosen()
        if chosen is not None and not chosen[1].personal:
            self._mean(chosen[1], LEAVE_OUT)

    def _mean(self, column: Column, name: str | None) -> None:
        if name is not None and self.said is not None:
            self.said.columns[column.heading.key] = name
            self.read()

    def action_order(self) -> None:
        """Say that the day comes first, or the month, or leave it to the column."""
        from armrise.store.exchange.sheets.reading.dates import DAY_FIRST, MONTH_FIRST

        chosen = self._chosen()
        if chosen is None or self.said is None:
            return
        _, column = chosen
        if column.meaning is None or not column.meaning.reads.startswith("date"):
            say(self, NO_DATES)
            return
        after = {"": DAY_FIRST, DAY_FIRST: MONTH_FIRST, MONTH_FIRST: ""}[column.order]
        self.said.dates[column.heading.key] = after
        self.read()

    def action_rows(self) -> None:
        """Every row, and what becomes of it; written from there."""
        from armrise.tui.sheets.rows import RowsScreen

        if self.plan is None:
            say(self, "The rows are not read yet: what is missing stands below the columns.")
            return

        def done(written: str | None) -> None:
            if written:
                self.dismiss(None)
                self.board.read_again(written)

        self.app.push_screen(RowsScreen(self.door, self.plan), done)

    def action_leave(self) -> None:
        """Back to the list; nothing was written."""
        self.dismiss(None)


def open_sheet(board: Board) -> None:
    """Ask for a file, and show what its columns mean."""
    door = writable_door(board)
    if door is None:
        return

    def chosen(file: File | None) -> None:
        if file is not None:
            board.app.push_screen(SheetScreen(board, door, file))

    keys = "Enter reads it   Esc leave"
    board.app.push_screen(AskScreen(TITLE, "file", HINT, keys, read_file), chosen)


def read_file(text: str) -> File:
    """The file of that path. Raises a store error of one sentence."""
    from armrise.store.exchange.sheets import plan
    from armrise.store.exchange.sheets.files.table import SheetRefused

    if not text:
        raise SheetRefused("a path is needed, such as ~/list.csv")
    read: Callable[[Path], File] = plan.read_file
    return read(Path(text).expanduser())
