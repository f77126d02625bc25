"""The line in which a filter is typed."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widgets import Input

from armrise.tui.widgets.caselist import CaseList


class FilterLine(Input):
    """Searches while typing; the arrows still move in the list, Enter opens or goes back to it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "in_list(1)", "next case", show=False, id="filter.next"),
        Binding("up", "in_list(-1)", "case above", show=False, id="filter.previous"),
    ]

    virtual_size: Reactive[Size] = Reactive(Size(0, 0))
    """As Textual has it; a letter more is no reason to lay the screen out again."""
    ended = False
    """True once it is on its way out."""

    def __init__(self, text: str, asked: Callable[[str], None], opened: Callable[[], bool]) -> None:
        """``asked`` is told what is typed; ``opened`` opens the one case it means, if it means one."""
        super().__init__(
            text, placeholder="search: number, or any words of the rows", compact=True, id="filter"
        )
        self.cursor_blink = False
        self.asked = asked
        self.opened = opened

    async def _on_key(self, event: events.Key) -> None:
        """In the order in which they come: as bindings Backspace and Enter would act after later letters."""
        bindings = self._bindings.key_to_bindings.get(event.key)
        if bindings is None and not self.ended:
            await super()._on_key(event)
            self._filter()  # with the letter, not when the news of it comes: both are painted at once
            return
        event.stop()
        event.prevent_default()
        if bindings and not self.ended:
            await self.run_action(bindings[0].action)
            self._filter()

    def on_input_changed(self, event: Input.Changed) -> None:
        event.stop()
        self._filter()

    def _filter(self) -> None:
        # by what stands here now: in a burst of keys the news of each comes after the last of them
        if not self.ended:
            self.asked(self.value)

    def end(self) -> None:
        """Go away; what still comes of a burst of keys is not for the search any longer."""
        self.ended = True
        self.remove()

    async def action_submit(self) -> None:
        """Open the case that is meant; else keep the search and go to the list. An empty one is done with."""
        self._filter()
        if self.opened():
            return
        self.screen.set_focus(self.screen.query_one(CaseList))
        if not self.value.strip():
            self.end()

    def action_in_list(self, by: int) -> None:
        self.screen.query_one(CaseList).action_move(by)
