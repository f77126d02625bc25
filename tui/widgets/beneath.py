"""What is known of a case, in the rows that a form about it leaves empty."""

from __future__ import annotations

from textual.geometry import Size

from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.pieces import Account, laid
from armrise.tui.widgets.rows import Line


class Beneath(Account):
    """As many whole pieces as there is room for, the first ones first: a cut limit would be another one."""

    DEFAULT_CSS = "Beneath { height: 1fr; margin-top: 1; }"

    def laid_out(self, width: int) -> list[Line]:
        """The pieces that fit."""
        lines: list[Line] = []
        for piece in self.pieces:
            part = laid([piece], width, ascii_only=ascii_terminal())
            if len(lines) + len(part) > self.size.height:
                break
            lines += part
        return lines

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The room there is."""
        return container.height
