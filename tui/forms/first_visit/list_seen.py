"""The rule about the red-flag list in a form: "all asked, all no" only after the whole list was in sight."""

from __future__ import annotations

from textual.containers import VerticalScroll

from armrise.store.clinic.case.standing import Standing
from armrise.tui.forms.paged.form import PagedForm
from armrise.tui.forms.red_flags.rows import FlagRow
from armrise.tui.forms.red_flags.seen import Seen
from armrise.tui.shell.door import Door


class ScreenSeen(PagedForm):
    """A form with the rows of the list in one of its blocks."""

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.in_sight = Seen()

    def on_mount(self) -> None:
        """Look again whenever the list is scrolled."""
        super().on_mount()
        body = self.query_one("#form-body", VerticalScroll)
        self.watch(body, "scroll_y", self.scrolled, init=False)

    def opened(self) -> None:
        """What of the list is in sight when its block is opened counts."""
        self.call_after_refresh(self.note_seen)

    def scrolled(self, _before: float, _now: float) -> None:
        """Rows have moved: look once they are painted."""
        self.call_after_refresh(self.note_seen)

    def note_seen(self) -> None:
        """Note which rows are wholly in sight."""
        self.in_sight.note(self.items(), self.query_one("#form-body", VerticalScroll))

    def items(self) -> list[FlagRow]:
        """The rows that this patient is asked."""
        return [row for row in self.walk_children(FlagRow) if row.display]

    def rest_asked_no(self) -> None:
        """The rest was asked, all no: taken only when nothing of the list has been out of sight."""
        rows = self.items()
        if self.in_sight.go_on(rows, self.query_one("#form-body", VerticalScroll)):
            return
        for row in rows:
            row.fault = ""
            row.value = row.value or "n"
        self.rest_answered()

    def rest_answered(self) -> None:
        """Go on after the list."""
        self.set_focus(self.items()[-1])
        self.action_forward()
