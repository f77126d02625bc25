"""Same-day undo: what was last written for a case today is shown, then withdrawn; both stay on record."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType

from store.clinic.record import Entry
from store.clinic.standing import Standing
from tui.door import Door
from tui.forms.base import FormScreen
from tui.forms.plan import Plan, sentence
from tui.forms.words import describe


class UndoScreen(FormScreen):
    """Shows what would be withdrawn and withdraws it on confirmation."""

    READING = (
        "Withdraws what was written last for this case, if that was today. Both entries stay on record.",
        "An older entry is corrected in the history.",
    )
    heading = "Undo"
    verb = "Will withdraw"
    write_label = "Withdraw this"
    keys = "y or F2 withdraw   Esc leave, nothing withdrawn"
    DEFAULT_CSS = """
    UndoScreen #form { height: auto; }
    UndoScreen #form-body { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("y", "write", "Withdraw", show=False, id="undo.confirm")]

    def lead(self) -> str:
        """What undoing is."""
        return "Only what was written last, and only today. Both entries stay on record."

    def plan(self) -> Plan:
        """The entries to withdraw, in words."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        if not self.last:
            code = self.standing.code
            return Plan(
                refused=f"Nothing was written for {code} today; an earlier entry is corrected instead."
            )
        words = [f"{describe(entry)} (by {entry.author})" for entry in self.last]
        return Plan([("undo", {})], words)

    def entries(self, drafts: Any) -> list[Entry]:
        """Nothing new is drafted: the store withdraws."""
        return []

    def write_now(self, entries: list[Entry]) -> str:
        """Withdraw."""
        return self.door.undo(self.standing.code)


def undo_last(
    app: App[Any], door: Door, case: Standing | str, done: Callable[[str | None], None] | None = None
) -> None:
    """Open the undo confirmation of a case (its standing, or its code).

    ``done`` gets what was withdrawn in words, None when nothing was. An unknown code says so in a notice.
    """
    if isinstance(case, Standing):
        app.push_screen(UndoScreen(door, case), done)
        return

    def find() -> None:
        try:
            standing = door.standing(case)
        except Exception as error:
            app.call_from_thread(app.notify, sentence(error), severity="error")
            return
        app.call_from_thread(app.push_screen, UndoScreen(door, standing), done)

    app.run_worker(find, thread=True, group="undo")
