"""The widget that shows a page of the charts as it is drawn."""

from __future__ import annotations

from armrise.tui.charts.drawing import lines
from armrise.tui.charts.page import Page
from armrise.tui.widgets.painted import Painted
from armrise.tui.widgets.rows import Line


class Plot(Painted):
    """A page in the styles of the theme; it takes no key."""

    page: Page | None = None

    def draw(self, page: Page) -> None:
        """Show this page."""
        self.page = page
        self.refresh()

    def laid_out(self, width: int) -> list[Line]:
        return lines(self.page, width, self.size.height) if self.page else []
