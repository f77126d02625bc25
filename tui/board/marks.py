"""Own marks on the list, and the sheet of the marked cases: on the desk, never in the record."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType

from armrise.tui.board.reader import CaseloadReader
from armrise.tui.case.actions import NO_CASE, CaseActions
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.say import door_of_now, say
from armrise.tui.widgets.groups import DAY

NONE_MARKED = "No case is marked: Space marks the one under the cursor."


class OwnMarks(CaseActions, CaseloadReader):
    """The list with marks of one's own."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *CaseActions.BINDINGS,
        Binding("space", "mark", "mark for yourself", show=False, id="list.mark", group=DAY),
        Binding("G", "hand_over", "hand over marked", show=False, id="list.hand_over", group=DAY),
    ]

    def written(self, words: str, code: str = "") -> None:
        """Something was written about the case in view, or the one named."""
        raise NotImplementedError

    def lay_out(self) -> None:
        """Head, list and pane from the listing as it is."""
        raise NotImplementedError

    def action_mark(self) -> None:
        """Mark the case under the cursor, or take its mark away."""
        app, standing = self.app, self.in_view()
        refusal = app.unread or (NO_CASE if standing is None else app.unwritable)
        if refusal or standing is None:
            say(self, refusal)
            return
        marked = standing.code not in self.listing.marked
        self._show_mark(standing.code, marked)
        self._keep_mark(standing.code, marked)

    def _show_mark(self, code: str, marked: bool) -> None:
        (self.listing.marked.add if marked else self.listing.marked.discard)(code)
        self.lay_out()

    @work(thread=True, group="marks")
    def _keep_mark(self, code: str, marked: bool) -> None:
        """Keep it in the store; what cannot be kept is taken back and said."""
        try:
            self.app.open_door.mark(code, marked)
        except Exception as error:
            self.app.call_from_thread(self._show_mark, code, not marked)
            self.app.call_from_thread(say, self, in_a_sentence(error))

    def action_hand_over(self) -> None:
        """Show and copy the sheet of the marked cases, in the order of the list."""
        door = door_of_now(self, "A handover")
        if door is None:
            return
        standings = [case for case in self.listing.cases() if case.code in self.listing.marked]
        if not standings:
            say(self, NONE_MARKED)
            return
        from armrise.tui.pages.handover import HandoverScreen

        self.app.push_screen(HandoverScreen(door, standings))
