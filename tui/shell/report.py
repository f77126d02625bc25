"""A report on the whole screen, scrolled: heads, and lines under them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import ClassVar, Protocol

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.painted import Painted, plain_scroll_bar
from armrise.tui.widgets.pieces import BLANK, Account, Piece
from armrise.tui.widgets.rows import Span
from armrise.tui.words.standing import FICTIONAL


class Headed(Protocol):
    """A head and the lines under it."""

    @property
    def head(self) -> str:
        """The head."""
        ...

    @property
    def lines(self) -> tuple[str, ...]:
        """Its lines."""
        ...


def pieces_of(parts: Iterable[Headed]) -> Iterator[Piece]:
    """The report as pieces, an empty line between the parts."""
    for number, part in enumerate(parts):
        if number:
            yield BLANK
        yield Piece(part.head, "strong")
        for line in part.lines:
            yield Piece(line, indent=2)


class ReportScreen(Framed, Screen[None]):
    """A report that is worked out beside the screen."""

    READING: ClassVar[tuple[str, ...]] = (
        "A report worked out from what is recorded. It is read and scrolled; nothing is written here.",
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "back", id="report.leave"),
        Binding("down,j", "scroll_by(1)", "scroll down", id="report.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", id="report.up"),
        Binding("pagedown,space", "scroll_page(1)", "page down", id="report.page_down"),
        Binding("pageup", "scroll_page(-1)", "page up", show=False, id="report.page_up"),
        Binding("home", "scroll_top", "to the top", show=False, id="report.top"),
    ]
    DEFAULT_CSS = """
    ReportScreen #report-head { height: 1; background: $surface; }
    ReportScreen #report { height: 1fr; padding: 1 1 0 1; scrollbar-size-vertical: 1; }
    ReportScreen #report-text { height: auto; width: 100%; }
    """

    def __init__(self, title: str, make: Callable[[], Sequence[Headed]] | None = None) -> None:
        super().__init__()
        self.told = title
        self.make = make

    def compose(self) -> ComposeResult:
        """Title, report, keys."""
        yield Painted(id="report-head")
        with VerticalScroll(id="report", can_focus=False):
            yield Account(id="report-text")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Have it worked out."""
        plain_scroll_bar(self.query_one("#report"))
        fictional = f"   {FICTIONAL}" if self.app.fictional else ""
        self.query_one("#report-head", Painted).show(
            [[Span(" "), Span(self.told, "accent"), Span(fictional, "strong")]]
        )
        if self.make is not None:
            self.tell([Piece("Reading the record ...", "muted")])
            self.read(self.make)

    def tell(self, pieces: Iterable[Piece]) -> None:
        """Show these."""
        self.query_one("#report-text", Account).tell(list(pieces))

    @work(thread=True, group="report", exclusive=True)
    def read(self, make: Callable[[], Sequence[Headed]]) -> None:
        """Work it out beside the screen; a refusal is shown in its own sentence."""
        try:
            pieces = list(pieces_of(make()))
        except Exception as error:
            pieces = [Piece(in_a_sentence(error), "strong")]
        self.app.call_from_thread(self._take, pieces)

    def _take(self, pieces: list[Piece]) -> None:
        if self.is_attached:
            self.tell(pieces)

    def action_leave(self) -> None:
        """Back."""
        self.dismiss(None)

    def action_scroll_by(self, lines: int) -> None:
        """Scroll a line."""
        self.query_one("#report").scroll_relative(y=lines, animate=False)

    def action_scroll_page(self, pages: int) -> None:
        """Scroll a page."""
        view = self.query_one("#report")
        view.scroll_relative(y=pages * max(1, view.size.height - 2), animate=False)

    def action_scroll_top(self) -> None:
        """To the first line."""
        self.query_one("#report").scroll_home(animate=False)
