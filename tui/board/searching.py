"""What of the list is shown, by keys: a search, a view by its number, a case by its number.

One digit shows the view of that number at once and may be the beginning of a case's number; with the second
the view before is back, and the cases with that number are shown.
"""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from armrise.tui.board.reader import CaseloadReader
from armrise.tui.case.finding import Finds
from armrise.tui.shell.say import say
from armrise.tui.widgets import views
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.groups import DAY
from armrise.tui.widgets.views import View
from armrise.tui.words import standing as words

NO_MATCHES = "no match  Esc back"


class Searching(Finds, CaseloadReader):
    """The list as far as rows are left out of it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        # before every other key: what is typed right behind it belongs to the search, not to a case
        Binding("slash", "filter", "search", priority=True, id="list.filter", group=DAY),
        Binding("escape", "clear_filter", "every case again", show=False, id="list.clear_filter", group=DAY),
        *Finds.BINDINGS,
    ]

    views = views.numbered(())
    """Every view by its key."""
    _left: tuple[View, str] | None = None
    """The view, and the case under the cursor, before a digit was typed; None where none is to come back."""
    _searched_from = ""
    """The case under the cursor before a search."""

    def lay_out(self) -> None:
        """Head, list and pane from the listing as it is."""
        raise NotImplementedError

    def open_case(self, code: str) -> None:
        """The whole account of a case."""
        raise NotImplementedError

    # a search

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """In the line of the search its own key is a letter; Esc one while there is something to clear."""
        if action == "clear_filter":
            return bool(not self.listing.whole or self.app.as_known or self.query("#filter"))
        return action != "filter" or self.focused is None or self.focused.id != "filter"

    async def action_filter(self) -> None:
        """Type what the rows should be about; what is typed takes the place of the search before."""
        from armrise.tui.widgets.filterline import FilterLine

        self.begin()
        for line in self.query(FilterLine):
            if line.ended:
                await line.remove()
        if not self.query(FilterLine):
            line = FilterLine(self.listing.filter, self.set_filter, self.open_meant)
            await self.mount(line, after="#middle")
        line = self.query_one(FilterLine)
        line.select_all()  # not when the news of its focus comes: that may be after the next key
        self.set_focus(line)

    def set_filter(self, text: str) -> None:
        """Show the cases that ``text`` is about, the cursor on the one most likely meant; "" shows all again.

        From a search the cursor stays on the match it came to; from one without a match it goes back.
        """
        text, before = text.strip(), self.listing.filter
        if text == before:
            return
        if not before:
            self._searched_from = self.cursor_code()
        back = None if self.listing.found() else self._searched_from or None
        self.listing.filter = text
        self._seek_and_show(self.listing.sought() if text else back)
        self._tell_search()

    def on_case_list_learnt(self) -> None:
        """Beside what a search had found so far, what it finds in all; the cursor stays on its case."""
        if self.listing.search_all():
            self._seek_and_show(None if self.cursor_code() else self.listing.sought())
            self._tell_search()

    def on_descendant_focus(self) -> None:
        """While a search is typed the foot says what Enter does with it."""
        self._tell_search()

    def on_descendant_blur(self) -> None:
        """The keys again."""
        self._tell_search()

    def _tell_search(self) -> None:
        searching = self.focused is not None and self.focused.id == "filter"
        if searching or not self.typed:
            for keys in self.query(KeyBar):  # none when the screen goes
                keys.say(self._enter_does() if searching else "")

    def _enter_does(self) -> str:
        meant, first = self.listing.meant(), self.listing.sought()
        if not self.listing.filter:
            return "type a number, or words of the rows  Esc back"
        if meant:
            return f"1 match: {meant} {self._side(meant)}  Enter opens  Esc back"
        matches = words.plural(len(self.listing.found()), "match", "matches")
        if self.listing.partly:
            return f"{matches} so far  Enter waits for the rest  Esc back"
        return (
            f"{matches}, first {first} {self._side(first)}  Enter to the list  Esc back"
            if first
            else NO_MATCHES
        )

    def _side(self, code: str) -> str:
        case = self.listing.case(code)
        return case.side if case else ""

    def open_meant(self) -> bool:
        """Open the one case that the search means, which is done then; False where it means no one."""
        if self.listing.search_all():
            self.lay_out()
        code = self.listing.meant() if self.listing.filter else ""
        if code:
            self._end_search()
            self.reach(code)
            self.open_case(code)
            self.app.end_burst()
        return bool(code)

    def action_clear_filter(self) -> None:
        """Every case again, out of the search and then of the view; else from an earlier list to now."""
        from armrise.tui.widgets.filterline import FilterLine

        if self.listing.filter or self.query(FilterLine):
            self._end_search()
        elif self.listing.view is not views.ALL:
            self._show_view(views.ALL)
        elif self.app.as_known:
            from armrise.tui.earlier.replay import show

            show(self, None)

    def _end_search(self) -> None:
        from armrise.tui.widgets.filterline import FilterLine

        for line in self.query(FilterLine):
            line.end()
        self.query_one(CaseList).focus()
        self.set_filter("")

    def _seek_and_show(self, code: str | None) -> None:
        before = self.cursor_code()
        self.query_one(CaseList).seek(code)
        self.lay_out()
        if self.cursor_code() != before:
            self.app.turned()

    # a view

    def view_bar(self) -> tuple[tuple[str, bool], ...]:
        """Every view with its key and how many cases it has, and whether it is shown; none while all are."""
        listing = self.listing
        if listing.view is views.ALL:
            return ()
        return tuple(
            (f"{key} {view.name} {listing.in_view(view)}", view == listing.view)
            for key, view in self.views.items()
        )

    def action_view(self, key: str) -> None:
        """Show the view of that number."""
        self._show_view(self.views[key])

    def _show_view(self, view: View) -> None:
        self.listing.view = view
        self._seek_and_show(None)

    # a case by its number

    def heads(self) -> list[tuple[str, str]]:
        """Every case of the list."""
        return [(case.code, case.side) for case in self.listing.cases()]

    def cursor_code(self) -> str:
        """The case under the cursor."""
        return self.query_one(CaseList).cursor

    def number_typed(self, before: str) -> str:
        """One digit: its view. More: the cases with that number. None: what was there before the first."""
        if not before:
            self._left = self.listing.view, self.cursor_code()
            self.query_one(CaseList).focus()
        if len(self.typed) == 1 and not before:
            view = self.views.get(self.typed)
            if view is None:
                return ""
            self._show_view(view)
            return f"{self.typed} {view.name}: {words.plural(len(self.listing.found()), 'case')}  Esc back"
        view, cursor = self._left or (self.listing.view, "")
        self.listing.view = view
        self.listing.number = self.typed if self.finding else ""
        self._seek_and_show(self.listing.sought() if self.listing.number else cursor or None)
        return ""

    def go_to(self, code: str) -> None:
        """Open the case whose number was typed."""
        self.reach(code)
        self.open_case(code)

    def reach(self, code: str) -> None:
        """Put the cursor on a case, out of the search and the view that leave it out."""
        if self.listing.case(code) is None:
            say(self, f"{code} is not on the list.")
            return
        if not self.listing.shows(code):
            self.listing.view = views.ALL
            self._end_search()
        self._seek_and_show(code)
