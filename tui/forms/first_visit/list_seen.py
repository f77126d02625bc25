"""The rule about the red-flag list in a form: "all asked, all no" only after the whole list was in sight."""

from __future__ import annotations

from textual.containers import VerticalScroll

from armrise.tui.forms.paged.form import PagedForm
from armrise.tui.forms.red_flags.rows import FlagRow


class ScreenSeen(PagedForm):
    """A form with the rows of the list in one of its blocks."""

    seen_rows: frozenset[str] = frozenset()

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
        body = self.query_one("#form-body", VerticalScroll)
        now = {row.id for row in self.query(FlagRow) if row.id and row.size and _inside(row, body)}
        self.seen_rows |= now

    def rest_asked_no(self) -> None:
        """The rest was asked, all no: taken only when nothing of the list has been out of sight."""
        self.note_seen()
        rows = [row for row in self.query(FlagRow) if row.display]
        unseen = [row for row in rows if row.id not in self.seen_rows]
        if unseen:
            self.set_focus(unseen[0])
            self.say(f"Read these too: {len(unseen)} items were out of sight; then a again.")
            self.call_after_refresh(self.show_from, unseen[0])
            return
        self.say("")
        for row in rows:
            row.fault = ""
            row.value = row.value or "n"
        self.rest_answered()

    def show_from(self, row: FlagRow) -> None:
        """Bring a row and as many after it into sight as there is room for."""
        self.query_one("#form-body", VerticalScroll).scroll_to_widget(row, top=True, animate=False)
        self.call_after_refresh(self.note_seen)

    def rest_answered(self) -> None:
        """Go on after the list."""
        self.set_focus([row for row in self.query(FlagRow) if row.display][-1])
        self.action_forward()


def _inside(row: FlagRow, body: VerticalScroll) -> bool:
    return body.region.contains_region(row.region)
