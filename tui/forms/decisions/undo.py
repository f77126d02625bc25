"""Same-day undo: what was last written for a case today is shown, then withdrawn; both stay on record."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.binding import Binding, BindingType

from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import Plan


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
    UndoScreen #form-middle { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("y", "write", "Withdraw", show=False, id="undo.confirm")]

    def lead(self) -> str:
        """What undoing is."""
        return "Only what was written last, and only today. Both entries stay on record."

    def arrived(self, record: CaseRecord) -> None:
        """With nothing to withdraw there is nothing to confirm."""
        self.query_one("#write").display = bool(self.last)
        if not self.last:
            self.keys = "Esc leave"
            self.set_focus(None)
            self.hints()

    def plan(self) -> Plan:
        """The entries to withdraw, in words."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        if not self.last:
            code = self.standing.code
            return Plan(
                refused=f"Nothing was written for {code} today; an earlier entry is corrected instead."
            )
        words = [f"{self.door.words(entry)} (by {entry.author})" for entry in self.last]
        return Plan([("undo", {})], words)

    def entries(self, drafts: Any) -> list[Entry]:
        """Nothing new is drafted: the store withdraws."""
        return []

    def write_now(self, entries: list[Entry]) -> str:
        """Withdraw."""
        return self.door.undo(self.standing.code)
