"""The list as a page for paper, written beside the store: the cases that are shown, in their order."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding, BindingType

from armrise.tui.board.reader import CaseloadReader
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.say import THROWN_AWAY, door_of_now, say
from armrise.tui.widgets.groups import PAST
from armrise.tui.widgets.listing import left_out

if TYPE_CHECKING:
    from armrise.tui.shell.store_door import StoreDoor

PRINTING = "writing the list for paper ..."


class Printing(CaseloadReader):
    """The list, from which it is printed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("P", "print", "list on paper", show=False, id="list.print", group=PAST),
    ]

    def action_print(self) -> None:
        """Write the list as it is shown, judged anew."""
        door = door_of_now(self, "What is printed")
        if door is None:
            return
        self.notice(PRINTING)
        why = f'"{self.listing.filter}"' if self.listing.filter else self.listing.number
        self._print(door, list(self.listing.found()), why or f"view {self.listing.view.name}")

    @work(thread=True, group="print", exclusive=True)
    def _print(self, door: StoreDoor, shown: list[str], why: str) -> None:
        from armrise.store.clinic.standing.triage import on_list
        from armrise.store.exchange.out.plain_text import Part, heading_of
        from armrise.store.exchange.paper.file import write_for_paper
        from armrise.store.exchange.paper.listings import list_page, list_path

        try:
            every = on_list(door.standings())
            cases = {case.code: case for case in every}
            found = [cases[code] for code in shown if code in cases]
            said = left_out(every, found, why) if len(found) < len(every) else ""
            page = list_page(found, heading_of(door.store, door.rules, door.today), part=Part(every, said))
            written = write_for_paper(list_path(door.store, door.today), page)
            told = f"List written to {written}{'' if door.store.lasting else THROWN_AWAY}"
        except Exception as error:
            told = in_a_sentence(error)
        self.app.call_from_thread(self._printed, told)

    def _printed(self, told: str) -> None:
        self.notice("")
        say(self, told)
