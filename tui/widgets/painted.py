"""Text that is laid out by the program itself, line by line, with the styles of the theme.

Each widget here names its styles as component classes in ``armrise.tcss``: see :data:`STYLES`.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Any, ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.scrollbar import ScrollBarRender
from textual.strip import Strip
from textual.widget import Widget

from tui.widgets.rows import Line, Span

STYLES = ("strong", "muted", "accent", "head", "loud", "trend")


def ascii_terminal(environ: dict[str, str] | None = None) -> bool:
    """True when the terminal's locale promises no more than ASCII, or ARMRISE_ASCII asks for it.

    The first of LC_ALL, LC_CTYPE and LANG that is set decides, as the C library does; Python itself reports
    UTF-8 in the C locale, which says nothing about the terminal. Without any of them it is not ASCII.
    """
    env = os.environ if environ is None else environ
    if env.get("ARMRISE_ASCII"):
        return True
    named = next((env[k] for k in ("LC_ALL", "LC_CTYPE", "LANG") if env.get(k)), "UTF-8")
    return "utf" not in named.casefold()


class PlainScrollBar(ScrollBarRender):
    """A scroll bar of blanks alone, without the eighth blocks at its ends."""

    VERTICAL_BARS: ClassVar[list[str]] = [" "] * 8


def plain_scroll_bar(widget: Widget) -> None:
    """Give ``widget`` a scroll bar that an ASCII terminal can show, if this is one."""
    if ascii_terminal():
        bar: Any = widget.vertical_scrollbar
        bar.renderer = PlainScrollBar


class Brush:
    """Mixed into a widget: turns spans into a strip in the styles of the theme."""

    def strip(self: Any, line: Line, width: int, back: str = "") -> Strip:
        """The spans of ``line``; ``back`` names a style to lie under all of them."""
        base = self.rich_style + self.named(back) if back else self.rich_style
        segments = [Segment(text, base + self.named(style)) for text, style in line if text]
        return Strip(segments).adjust_cell_length(width, base)

    def named(self: Any, style: str) -> Style:
        """The style of a component class, without what it inherits."""
        return self.get_component_rich_style(f"painted--{style}", partial=True) if style else Style.null()


class Painted(Brush, Widget):
    """A few lines of spans, exactly as wide as the widget."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"painted--{name}" for name in STYLES}
    lines: Sequence[Line] = ()

    def laid_out(self, width: int) -> Sequence[Line]:
        """The lines for a width: those of :meth:`show`, unless a widget works them out."""
        return self.lines

    def show(self, lines: Sequence[Line]) -> None:
        """Paint these lines."""
        self.lines = lines
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """One line, cut or filled to the width."""
        lines = self.laid_out(self.size.width)
        return self.strip(lines[y] if y < len(lines) else [], self.size.width)


def pushed_apart(left: Line, right: Line, width: int) -> Line:
    """``left`` and ``right`` on one line, space between them; ``left`` alone when both do not fit."""
    used = sum(len(span.text) for span in (*left, *right))
    if used + 2 > width:
        return left
    return [*left, Span(" " * (width - used)), *right]
