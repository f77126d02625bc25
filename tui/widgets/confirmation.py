"""What was just written, whole, on rows of its own above the keys at the foot."""

from __future__ import annotations

from textwrap import wrap

from textual.geometry import Size

from armrise.tui.widgets.painted import Painted, ascii_terminal
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

BESIDE = 3
"""Columns at least between the words and how to take them back."""


def confirmed_lines(told: str, undo: str, width: int) -> list[Line]:
    """``told`` broken to ``width`` columns and never cut, verb strong; ``undo`` ends the last row."""
    rows = wrap(told, width, break_on_hyphens=False) or [""]
    verb, space, rest = rows[0].partition(" ")
    lines: list[Line] = [[Span(verb, "strong"), Span(space + rest)], *([Span(row)] for row in rows[1:])]
    if not undo:
        return lines
    free = width - len(rows[-1]) - len(undo)
    if free >= BESIDE:
        return [*lines[:-1], [*lines[-1], Span(" " * free), Span(undo, "strong")]]
    return [*lines, [Span(undo.rjust(width), "strong")]]


class Confirmation(Painted):
    """The rows; the application takes them away at the next key."""

    DEFAULT_CSS = "Confirmation { height: auto; width: 100%; padding: 0 1; background: $surface; }"

    def __init__(self, told: str, undo: str, code: str) -> None:
        super().__init__()
        self.told = told
        self.undo = undo
        self.code = code
        """The case it is about; empty where there is none to take anything back of."""

    def laid_out(self, width: int) -> list[Line]:
        clean = words.plain if ascii_terminal() else str
        return confirmed_lines(clean(self.told), self.undo, width)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self.laid_out(width))
