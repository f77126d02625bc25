"""The line in which a filter is typed."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input

from armrise.tui.widgets.caselist import CaseList


class FilterLine(Input):
    """Searches while typing; the arrows still move in the list, Enter opens or goes back to it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "in_list(1)", "next case", show=False, id="filter.next"),
        Binding("up", "in_list(-1)", "case above", show=False, id="filter.previous"),
    ]

    def __init__(self, text: str, asked: Callable[[str], None], opened: Callable[[], bool]) -> None:
        """``asked`` is told what is typed; ``opened`` opens the one case it means, if it means one."""
        super().__init__(
            text, placeholder="search: number, or any words of the rows", compact=True, id="filter"
        )
        self.cursor_blink = False
        self.asked = asked
        self.opened = opened

    def on_input_changed(self, event: Input.Changed) -> None:
        event.stop()
        self._filter()

    def _filter(self) -> None:
        # by what stands here now: in a burst of keys the news of each comes after the last of them
        self.asked(self.value)

    async def action_submit(self) -> None:
        """Open the case that is meant; else keep the search and go to the list. An empty one is done with."""
        if not self.screen.is_current:
            return  # the second of two keys that came together: the first has opened the case
        self._filter()
        if self.opened():
            return
        self.screen.set_focus(self.screen.query_one(CaseList))
        if not self.value.strip():
            self.remove()

    def action_in_list(self, by: int) -> None:
        self.screen.query_one(CaseList).action_move(by)
