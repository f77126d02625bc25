"""Text that is laid out by the program itself, line by line, with the styles of the theme.

Each widget here names its styles: see :data:`INKS`.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from itertools import islice, zip_longest
from typing import TYPE_CHECKING, Any, ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.color import Color, ColorParseError
from textual.geometry import Region, Size
from textual.scrollbar import ScrollBar, ScrollBarRender
from textual.strip import Strip
from textual.widget import Widget

from armrise.store.record.visible import visible
from armrise.tui.widgets.rows import Line, Span, length


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


def drawn(bar: ScrollBar, lines: int) -> list[tuple[str, bool]]:
    """What of a vertical scroll bar stands on each of so many lines: where that stays nothing is painted."""
    made = bar.renderer.render_bar(
        lines, bar.window_virtual_size, bar.window_size, bar.position, bar.thickness
    )
    return [(segment.text, bool(segment.style and segment.style.reverse)) for segment in made.segments]


def stretches(lines: Iterable[int], width: int) -> list[Region]:
    """The fewest regions, as wide as given, that are these lines, which rise."""
    found: list[Region] = []
    for y in lines:
        if found and found[-1].bottom == y:
            found[-1] = Region(0, found[-1].y, width, found[-1].height + 1)
        else:
            found.append(Region(0, y, width, 1))
    return found


def plain_scroll_bar(widget: Widget) -> None:
    """Give ``widget`` a scroll bar that an ASCII terminal can show, if this is one."""
    if ascii_terminal():
        # the library knows one for all bars, this is for the one
        widget.vertical_scrollbar.renderer = PlainScrollBar  # pyright: ignore[reportAttributeAccessIssue]


INKS = {
    "strong": ("", "", True),
    "muted": ("text-muted", "", False),
    "accent": ("accent", "", True),
    "head": ("", "", True),
    "label": ("text-muted", "", False),
    "loud": ("act-today", "", True),
    "today": ("act-today", "", False),
    "harm": ("error", "", True),
    "limit": ("error", "", False),
    "left": ("side-left", "", False),
    "right": ("side-right", "", False),
    "trend": ("success", "", False),
    "cursor": ("", "panel", False),
    "gone": ("text-muted", "", False),
}
"""The named styles: colour and ground by the theme's variables, and weight."""

PLAIN_INKS = INKS | {
    "loud": ("", "", True),
    "today": ("", "", True),
    "harm": ("", "", True),
    "limit": ("", "", True),
    "left": ("", "", False),
    "right": ("", "", False),
}
"""Without colour: what stood out by its colour does so by its weight."""

ELSE = {"act-today": "accent", "side-left": "foreground", "side-right": "foreground"}
"""What stands for a colour that only the house's own themes have."""

STRUCK = "gone"
"""The style that is struck through as well; where it is used a word says the same."""


NOTHING: Line = []


class Brush:
    """Mixed into a widget: turns spans into a strip in the styles of the theme.

    The styles are worked out from the theme's variables once a theme. As component classes of each widget
    they cost a fifth of the time to the first frame. It is no widget itself, and ``self`` any: Textual takes
    the style sheet of the first base alone that is one.
    """

    _inks: tuple[tuple[str, bool], dict[str, Style]] = (("", False), {})
    base: Style | None = None
    """What lies under every span, while the widget is painted: worked out once for all of its lines."""

    if not TYPE_CHECKING:  # what it gives is written in Textual

        def render_lines(self, crop):
            """As Textual does."""
            self.base = self.rich_style
            try:
                return super().render_lines(crop)
            finally:
                self.base = None

    def strip(self: Any, line: Line, width: int, back: str = "") -> Strip:
        """The spans of ``line``; ``back`` names a style to lie under all of them."""
        styles, none = self.styles_named(), Style.null()
        base = (self.base or self.rich_style) + styles.get(back, none)
        segments = [Segment(visible(text), base + styles.get(style, none)) for text, style in line if text]
        return Strip(segments).adjust_cell_length(width, base)

    def styles_named(self: Any) -> dict[str, Style]:
        """The named styles in the present theme."""
        theme = self.app.theme
        if Brush._inks[0] != (theme, self.app.no_color):
            inks = PLAIN_INKS if self.app.no_color else INKS
            Brush._inks = ((theme, self.app.no_color), _inks(inks, self.app.theme_variables))
        return Brush._inks[1]


def _inks(inks: dict[str, tuple[str, str, bool]], colours: dict[str, str]) -> dict[str, Style]:
    return {
        name: Style(
            color=_colour(colours, ink),
            bgcolor=_colour(colours, ground),
            bold=bold or None,
            strike=name == STRUCK or None,
        )
        for name, (ink, ground, bold) in inks.items()
    }


def _colour(colours: dict[str, str], name: str) -> str | None:
    """The theme's colour of that name for the terminal; a quiet text of other themes is worked out."""
    if not name:
        return None
    try:
        return Color.parse(colours.get(name) or colours[ELSE.get(name, name)]).rich_color.name
    except (KeyError, ColorParseError):
        pass
    try:
        ink, paper = Color.parse(colours["foreground"]), Color.parse(colours["background"])
        return None if ink.ansi is not None else ink.blend(paper, 0.35).rich_color.name
    except (KeyError, ColorParseError):
        return None


class Painted(Brush, Widget):
    """A few lines of spans, exactly as wide as the widget."""

    lines: Sequence[Line] = ()
    _laid: tuple[Size, Sequence[Line]] | None = None

    def laid_out(self, width: int) -> Sequence[Line]:
        """The lines for a width: those of :meth:`show`, unless a widget works them out."""
        return self.lines

    def laid(self, width: int) -> Sequence[Line]:
        """The same, worked out once for all that is painted and measured until something else is shown."""
        key = Size(width, self.size.height)
        if self._laid is None or self._laid[0] != key:
            self._laid = (key, self.laid_out(width))
        return self._laid[1]

    def show(self, lines: Sequence[Line]) -> None:
        """Show these."""
        self.lines = lines
        self.show_changed()

    def show_changed(self) -> None:
        """Lay out what there is to say now, at the size there is, and paint those lines that are others."""
        before, (width, height) = self._laid, self.size
        if before is None or before[0] != self.size:
            self.refresh()
            return
        lines = self.laid_out(width)
        self._laid = (self.size, lines)
        pairs = enumerate(islice(zip_longest(before[1], lines, fillvalue=NOTHING), height))
        if changed := [y for y, (was, now) in pairs if was != now]:
            self.refresh(*stretches(changed, width))

    if not TYPE_CHECKING:  # what it takes and gives is written in Textual

        def refresh(self, *regions, **named):
            """As Textual does; what is shown anew as a whole is laid out anew."""
            if not regions:
                self._laid = None
            return super().refresh(*regions, **named)

    def render_line(self, y: int) -> Strip:
        """One line, cut or filled to the width."""
        lines = self.laid(self.size.width)
        return self.strip(lines[y] if y < len(lines) else [], self.size.width)


def pushed_apart(left: Line, right: Line, width: int) -> Line:
    """``left`` and ``right`` on one line, space between them; ``left`` alone when both do not fit."""
    used = length(left) + length(right)
    if used + 2 > width:
        return left
    return [*left, Span(" " * (width - used)), *right]
