"""Which rows of the red-flag list have been in sight."""

from __future__ import annotations

from collections.abc import Iterable

from textual.containers import VerticalScroll

from armrise.tui.forms.red_flags.rows import FlagRow
from armrise.tui.words.standing import plural


class Seen:
    """The rows of the list that were wholly in sight: of no other is "all asked, all no" taken."""

    def __init__(self) -> None:
        self.ids: set[str] = set()

    def note(self, rows: Iterable[FlagRow], body: VerticalScroll) -> None:
        """Note which rows are in sight now."""
        region = body.region
        self.ids |= {row.id for row in rows if row.id and row.size and region.contains_region(row.region)}

    def go_on(self, rows: Iterable[FlagRow], body: VerticalScroll) -> bool:
        """True when some were out of sight: the first of them is gone to, and says so."""
        self.note(rows, body)
        unseen = [row for row in rows if row.id not in self.ids]
        if unseen:
            first, rest = unseen[0], plural(len(unseen), "item was", "items were")
            first.fault = f"read these too: {rest} out of sight; then a again."
            first.screen.set_focus(first, scroll_visible=False)
            body.call_after_refresh(body.scroll_to_widget, first, top=True, animate=False)
        return bool(unseen)
