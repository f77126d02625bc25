"""One case on the whole screen, a sentence on its own, and the blank screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from armrise.tui.case import reading as case_reading
from armrise.tui.case.account import whole
from armrise.tui.case.actions import CaseActions, why_above
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.bars import HeadBar, KeyBar
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.groups import DAY, MOVE, PAST
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import Account, Piece

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.tui.case.reading import CaseReading
    from armrise.tui.shell.frame import Board

NOT_LISTED = "not on the list then. w says what was known of it."


class CaseScreen(CaseActions, Framed, Screen[None]):
    """The five-second view first, then every reason and every criterion."""

    READING: ClassVar[tuple[str, ...]] = (
        "Limits in force come first, then why the case stands where it does, then the verdict with every "
        "criterion: what is needed, what was observed and when, where the number comes from.",
        "UNKNOWN names the one thing to record. A verdict says what it does not consider.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "leave", "to the list", id="case.leave", group=DAY),
        *CaseActions.BINDINGS,
        Binding("right_square_bracket", "beside(1)", "next case", id="case.next", group=DAY),
        Binding("left_square_bracket", "beside(-1)", "case above", id="case.previous", group=DAY),
        Binding("Z", "replay", "as known then", show=False, id="case.replay", group=PAST),
        Binding("<", "replay_day(-1)", "a day earlier", show=False, id="case.replay_earlier", group=PAST),
        Binding(">", "replay_day(1)", "a day later", show=False, id="case.replay_later", group=PAST),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="case.down", group=MOVE),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="case.up", group=MOVE),
        Binding("pagedown,space", "scroll_page(1)", "page down", show=False, id="case.page_down", group=MOVE),
        Binding("pageup", "scroll_page(-1)", "page up", show=False, id="case.page_up", group=MOVE),
    ]

    def __init__(self, board: Board, code: str) -> None:
        super().__init__()
        self.board = board
        self.code = code
        self.reading: CaseReading | None = None

    def compose(self) -> ComposeResult:
        """Head, the case, keys."""
        yield HeadBar(id="head")
        with VerticalScroll(id="case", can_focus=False):
            yield Account(id="account")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Show the case as the list knows it."""
        plain_scroll_bar(self.query_one("#case"))
        self.update()

    def on_unmount(self) -> None:
        """The case has been looked at."""
        case_reading.note_look(self.app.door, self.code)

    def update(self) -> None:
        """Show what the case now says, then what its whole record adds."""
        self.show_case()
        self.read()

    def show_case(self) -> None:
        """What is known of the case by now."""
        standing = self.in_view()
        self.query_one(HeadBar).say(self.board.head)
        if standing is not None:
            below = self.next_below(standing)
            above = why_above(standing, below) if below is not None else ""
            told = whole(standing, above, self.board.signed, self.reading)
            self.query_one("#account", Account).tell(told)
        elif self.app.as_known:
            self.query_one("#account", Account).tell([Piece(f"{self.code} was {NOT_LISTED}")])

    @work(thread=True, group="case", exclusive=True)
    def read(self) -> None:
        """Read the whole record beside the screen."""
        code = self.code
        try:
            reading = case_reading.read(self.app.door, code)
        except Exception as error:
            reading = case_reading.CaseReading(str(error), (), ())
        self.app.call_from_thread(self._take, code, reading)

    def _take(self, code: str, reading: CaseReading | None) -> None:
        if code == self.code and self.is_attached:
            self.reading = reading
            self.show_case()

    def in_view(self) -> Standing | None:
        """The case of this screen."""
        return self.board.listing.case(self.code)

    def next_below(self, standing: Standing) -> Standing | None:
        """The case next below in the list."""
        return self.board.listing.after(standing.code)

    def written(self, words: str) -> None:
        """Read again, and show what the case now says."""
        self.board.written(words)

    def action_beside(self, by: int) -> None:
        """The next case of the list, or the one above, without going back to it."""
        beside = self.board.listing.beside(self.code, by)
        if beside is None:
            end = "last" if by > 0 else "first"
            say(self, f"{self.code} is the {end} of the list.")
            return
        case_reading.note_look(self.app.door, self.code)
        self.code, self.reading = beside.code, None
        self.board.query_one(CaseList).go_to(self.code)
        self.query_one("#case").scroll_home(animate=False)
        self.update()

    def action_leave(self) -> None:
        """Back to the list."""
        self.dismiss(None)

    def action_scroll_by(self, lines: int) -> None:
        """Scroll a line."""
        self.query_one("#case").scroll_relative(y=lines, animate=False)

    def action_scroll_page(self, pages: int) -> None:
        """Scroll a page."""
        view = self.query_one("#case")
        view.scroll_relative(y=pages * max(1, view.size.height - 2), animate=False)
