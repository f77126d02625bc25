"""One case on the whole screen, a sentence on its own, and the blank screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.geometry import Region
from textual.screen import Screen

from armrise.tui.case import reading as case_reading
from armrise.tui.case.account import with_entries
from armrise.tui.case.actions import CaseActions, why_above
from armrise.tui.case.finding import Finds
from armrise.tui.case.head import CaseHead, named
from armrise.tui.case.opened import CriterionScreen
from armrise.tui.case.page import CasePage, Told
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.groups import DAY, LOOK, MOVE, PAST
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.tui.case.reading import CaseReading
    from armrise.tui.shell.frame import Board

NOT_LISTED = "not on the list then. w says what was known of it."


class CaseScreen(Finds, CaseActions, Framed, Screen[None]):
    """What has to be read in five seconds, what is missing to step, then all it rests on."""

    READING: ClassVar[tuple[str, ...]] = (
        "Limits in force come first, then why the case stands where it does, pain, and the verdict with "
        "every criterion: what is now, what is needed, how long ago it was seen. What is missing is first.",
        "Down and up go from criterion to criterion; Enter opens one: its source, and the entries behind it.",
        "UNKNOWN names the one thing to record first. A verdict says what it does not consider.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "to the list", id="case.leave", group=DAY),
        Binding("enter", "criterion", "open a criterion", show=False, id="case.criterion", group=LOOK),
        *CaseActions.BINDINGS,
        *Finds.BINDINGS,
        Binding(
            "slash",
            "search",
            "search",
            show=False,
            priority=True,
            id="case.search",
            group=DAY,
        ),
        Binding("right_square_bracket", "beside(1)", "next case", id="case.next", group=DAY),
        Binding("left_square_bracket", "beside(-1)", "case above", id="case.previous", group=DAY),
        Binding("Z", "replay", "as known then", show=False, id="case.replay", group=PAST),
        Binding("<", "replay_day(-1)", "a day earlier", show=False, id="case.replay_earlier", group=PAST),
        Binding(">", "replay_day(1)", "a day later", show=False, id="case.replay_later", group=PAST),
        Binding("down,j", "move(1)", "next criterion", show=False, id="case.down", group=MOVE),
        Binding("up,k", "move(-1)", "criterion before", show=False, id="case.up", group=MOVE),
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
        yield CaseHead(id="case-head")
        with VerticalScroll(id="case", can_focus=False):
            yield CasePage(id="account")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Show the case as the list knows it."""
        plain_scroll_bar(self.query_one("#case"))
        self.update()

    def on_unmount(self) -> None:
        """The case has been looked at."""
        self._looked()

    def _looked(self) -> None:
        """Note that the case has been looked at: nothing in it is new any more."""
        case_reading.note_look(self.app.door, self.code)
        self.board.listing.news.discard(self.code)

    def update(self) -> None:
        """Show what the case now says, then what its whole record adds."""
        self.show_case()
        self.read()

    def show_case(self) -> None:
        """What is known of the case by now."""
        standing = self.in_view()
        self.query_one(CaseHead).show_case(standing, self.code, self.board.head)
        page = self.query_one(CasePage)
        if standing is not None:
            below = self.next_below(standing)
            above = why_above(standing, below) if below is not None else ""
            do = words.do_line(standing, self.app.act_keys)
            page.tell(Told(standing, do, above, self.board.signed, self.reading))
        elif self.app.as_known:
            page.tell(None, f"{self.code} was {NOT_LISTED}")

    @work(thread=True, group="case", exclusive=True)
    def read(self) -> None:
        """Read the whole record beside the screen."""
        code = self.code
        try:
            reading = case_reading.read(self.app.door, code)
        except Exception as error:
            reading = case_reading.CaseReading(in_a_sentence(error), (), ())
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

    def written(self, words: str, code: str = "") -> None:
        """Read again, and show what the case now says."""
        self.board.written(words, code or self.code)

    def action_beside(self, by: int) -> None:
        """The next case of the list, or the one above, without going back to it."""
        beside = self.board.listing.beside(self.code, by)
        if beside is None:
            end = "last" if by > 0 else "first"
            say(self, f"{self.code} is the {end} of the list.")
            return
        self.board.query_one(CaseList).go_to(beside.code)
        self._turn_to(beside.code)

    def _turn_to(self, code: str) -> None:
        self._looked()
        self.code, self.reading = code, None
        self.query_one("#case").scroll_home(animate=False)
        self.query_one(CasePage).at = 0
        self.update()

    def heads(self) -> list[tuple[str, str]]:
        """Every case of the list."""
        return [(case.code, case.side) for case in self.board.listing.cases()]

    def number_typed(self, before: str) -> str:
        """The case in sight stays until another is meant."""
        return ""

    def go_to(self, code: str) -> None:
        """Turn to the case whose number was typed; the list beneath comes along."""
        self.board.reach(code)
        if code != self.code:
            self._turn_to(code)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """The list can be searched where it lies beneath."""
        return action != "search" or self.board in self.app.screen_stack[-2:]

    async def action_search(self) -> None:
        """Back to the list, to search it."""
        self.dismiss(None)
        await self.board.action_filter()

    def action_leave(self) -> None:
        """Back to the list, where nothing in the case is new any more."""
        self.board.listing.news.discard(self.code)
        self.dismiss(None)

    def action_criterion(self) -> None:
        """The criterion under the cursor, with its source and the entries behind it."""
        standing, page = self.in_view(), self.query_one(CasePage)
        if standing is not None and page.results:
            told = with_entries(page.results[page.at], standing, self.reading)
            self.app.push_screen(CriterionScreen(named(standing), told))

    def action_move(self, by: int) -> None:
        """The cursor to the next criterion while its row is in sight; else, or at the end, scroll a line."""
        page, view = self.query_one(CasePage), self.query_one("#case")
        if not self._in_sight() or not page.move(by):
            view.scroll_relative(y=by, animate=False)
        elif place := page.place():
            view.scroll_to_region(Region(0, place[0], 1, place[1] - place[0]), animate=False)

    def _in_sight(self) -> bool:
        """Whether any of the row under the cursor is on the screen."""
        place, view = self.query_one(CasePage).place(), self.query_one("#case")
        top = view.scroll_offset.y
        return place is not None and place[0] < top + view.size.height and place[1] > top

    def action_scroll_page(self, pages: int) -> None:
        """Scroll a page."""
        view = self.query_one("#case")
        view.scroll_relative(y=pages * max(1, view.size.height - 2), animate=False)
