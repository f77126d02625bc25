"""What is opened over a case: a criterion in full, and the lines copied for the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen

from armrise.tui.shell.clipboard import put
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.groups import MOVE
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import BLANK, Account, Piece
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.tui.shell.door import Door

COPIED = "Copied, where this terminal allows it; else select these lines."
"""Over the lines: whether a terminal took them, it does not say."""


class OpenedScreen(Framed, ModalScreen[None]):
    """Pieces of text under a head, scrolled; they are gone from the screen when it is left."""

    READING: ClassVar[tuple[str, ...]] = ("More about the case beneath. Esc goes back to it.",)
    KEYS = "Esc back   F8 blank"
    """Its keys, at the foot."""
    DEFAULT_CSS = """
    OpenedScreen { align: center middle; background: $background 60%; }
    OpenedScreen #opened { width: 100%; max-width: 96; height: auto; max-height: 100%;
        background: $surface; border: solid $accent; padding: 0 1; }
    OpenedScreen.-plain #opened { border: ascii $accent; }
    OpenedScreen #opened-head { height: auto; color: $text-muted; }
    OpenedScreen #opened-keys { height: 1; dock: bottom; color: $text-muted; }
    OpenedScreen #opened-body { height: auto; max-height: 1fr; scrollbar-size-vertical: 1; }
    OpenedScreen Account { height: auto; width: 100%; background: $surface; padding: 0 2 0 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "close", "back", id="opened.leave"),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="opened.down", group=MOVE),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="opened.up", group=MOVE),
        Binding(
            "pagedown,space", "scroll_by(10)", "page down", show=False, id="opened.page_down", group=MOVE
        ),
        Binding("pageup", "scroll_by(-10)", "page up", show=False, id="opened.page_up", group=MOVE),
    ]

    def __init__(self, head: str, pieces: list[Piece]) -> None:
        super().__init__()
        self.head = head
        self.pieces = pieces

    def compose(self) -> ComposeResult:
        """Head with the mark of an earlier instant, text, keys."""
        with Vertical(id="opened"):
            head = "   ".join(filter(None, [self.head, self.app.as_known]))
            yield Static(head, id="opened-head", markup=False)
            with VerticalScroll(id="opened-body", can_focus=False):
                account = Account()
                account.pieces = self.pieces
                yield account
            yield Static(self.KEYS, id="opened-keys", markup=False)

    def on_mount(self) -> None:
        """Plain borders where the terminal has no others."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        plain_scroll_bar(self.query_one("#opened-body"))

    def action_close(self) -> None:
        """Back to the case."""
        self.dismiss(None)

    def action_scroll_by(self, lines: int) -> None:
        """Scroll."""
        self.query_one("#opened-body").scroll_relative(y=lines, animate=False)


class CriterionScreen(OpenedScreen):
    """One row of the table of a case, in full."""

    READING: ClassVar[tuple[str, ...]] = (
        "What was observed and what is needed, where the number comes from and how far it may be trusted.",
        "Below it the entries it was judged by, the newest first; h on the case shows every entry.",
    )


class ForRecordScreen(OpenedScreen):
    """The lines about a case that were put into the clipboard, shown as not every terminal takes them."""

    READING: ClassVar[tuple[str, ...]] = (
        "A few lines of today for the record kept elsewhere, by code alone: they are in the clipboard.",
        "Nobody records what was said to the patient: strike what was not.",
    )

    def __init__(self, door: Door, code: str) -> None:
        super().__init__(f"{code}   for the record", [Piece("One moment ...")])
        self.door = door
        self.code = code

    def on_mount(self) -> None:
        """Work the lines out beside the screen."""
        super().on_mount()
        self.read()

    @work(thread=True, group="record", exclusive=True)
    def read(self) -> None:
        """The lines, from the whole record."""
        from armrise.store.clinic.case.view import View
        from armrise.store.exchange.out.for_record import for_record

        try:
            view = View.of(self.door.record(self.code), self.door.rules, self.door.today)
            lines = for_record(view, self.door.standing(self.code))
        except Exception as error:
            self.app.call_from_thread(self.tell, [Piece(f"Nothing is copied: {in_a_sentence(error)}")])
            return
        self.app.call_from_thread(self.copied, lines)

    def copied(self, lines: tuple[str, ...]) -> None:
        """Put the lines into the clipboard and show them."""
        if self.is_attached:
            marks = [FICTIONAL if self.app.fictional else "", self.app.as_known]
            told = [*filter(None, marks), *lines]
            put(self, "\n".join(told))
            self.tell([Piece(COPIED, "muted"), BLANK, *map(Piece, told)])

    def tell(self, pieces: list[Piece]) -> None:
        """Show these."""
        if self.is_attached:
            self.query_one(Account).tell(pieces)
