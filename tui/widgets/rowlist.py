"""A short list to choose from: each row a few lines, the chosen one marked and not by colour alone."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import OptionList
from textual.widgets.option_list import Option

from armrise.store.record.visible import visible_lines


class RowList(OptionList):
    """Rows by their keys; Enter or a click chooses (``OptionList.OptionSelected``)."""

    DEFAULT_CSS = """
    RowList { border: none; padding: 0; height: 1fr; background: $background; scrollbar-size-vertical: 1; }
    RowList:focus { border: none; }
    RowList > .option-list--option { padding: 0; }
    RowList > .option-list--option-highlighted, RowList:focus > .option-list--option-highlighted {
        background: $panel; color: $foreground; text-style: bold; }
    """

    def __init__(self, *, key: str) -> None:
        super().__init__(id=key, markup=False)
        self.rows: list[tuple[str, str]] = []

    def tell(self, rows: Sequence[tuple[str, str]]) -> None:
        """Show these rows, (key, text); the cursor stays on its key where that is still there."""
        kept = self.chosen
        self.rows = list(rows)
        self.clear_options()
        self.add_options([Option(self._marked(text, chosen=False), id=key) for key, text in self.rows])
        keys = [key for key, _ in self.rows]
        if keys:
            self.highlighted = keys.index(kept) if kept in keys else 0

    @property
    def chosen(self) -> str:
        """The key of the row under the cursor; empty without rows."""
        at = self.highlighted
        return self.rows[at][0] if at is not None and at < len(self.rows) else ""

    def watch_highlighted(self, highlighted: int | None) -> None:
        super().watch_highlighted(highlighted)
        for number, (_, text) in enumerate(self.rows[: self.option_count]):
            self.replace_option_prompt_at_index(number, self._marked(text, chosen=number == highlighted))

    @staticmethod
    def _marked(text: str, *, chosen: bool) -> str:
        return ("> " if chosen else "  ") + visible_lines(text).replace("\n", "\n  ")
