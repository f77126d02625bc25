"""Letters and lines of a PDF: what a text takes, how it is broken and drawn. Lengths in mm."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection
from dataclasses import dataclass, field
from importlib.resources import as_file, files
from typing import TYPE_CHECKING

from armrise.store.database.place import StoreError
from armrise.store.record.visible import visible

if TYPE_CHECKING:
    from fpdf import FPDF

FONT = "Noto Sans"
POINT = 25.4 / 72
"""Millimetres in a point of the printing trade as PDF has it (ISO 32000-1: 1/72 inch)."""
NO_LIBRARY = "a PDF needs one extra library: pip install 'armrise[paper]', then write it again"
PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height: ISO 216 (A4), ANSI/ASME Y14.1 size A (Letter, 8.5 by 11 inches)."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """How large each kind of text is, in points, and how far its lines are apart."""

    body: float = 10.5
    table: float = 9.5
    small: float = 8.5
    title: float = 17
    heading: float = 12.5
    smallest: float = 7.5
    """What a table may be printed in, so that no word of it has to be cut."""
    apart: float = 1.36


USUAL = Sizes()
CLEAR = Sizes(12, 12, 12, 19, 14, 12, 1.4)
LARGE = Sizes(16, 16, 16, 24, 19, 16, 1.4)
"""Clear print 12 point at least, large print 16, page numbers and labels too: UK Association for Accessible
Formats, G003, Creating clear print and large print documents (2019), minimum standards."""


@dataclass(slots=True)
class Pen:
    """What texts are measured and drawn with, in one document."""

    of: FPDF
    there: Collection[int]
    """Code points that the letters have a picture of."""
    missing: set[str] = field(default_factory=set[str])
    """Signs that the letters have no picture of."""
    _wide: dict[tuple[str, bool], float] = field(default_factory=dict[tuple[str, bool], float])

    def shown(self, text: str) -> str:
        """The text in signs that can be printed; another by its number, such as ``<U+05D0>``."""
        composed = unicodedata.normalize("NFC", visible(text))
        if composed.isascii():
            return composed
        return "".join(map(self._sign, composed))

    def _sign(self, sign: str) -> str:
        if ord(sign) in self.there:
            return sign
        self.missing.add(sign)
        return f"<U+{ord(sign):04X}>"

    def wide(self, text: str, size: float, bold: bool = False) -> float:
        """How wide a text is on one line."""
        key = (text, bold)
        if key not in self._wide:
            self.of.set_font(FONT, "B" if bold else "", 10)
            self._wide[key] = self.of.get_string_width(text)
        return self._wide[key] * size / 10

    def lines(self, text: str, room: float, size: float, bold: bool = False) -> list[str]:
        """The text in lines no wider than ``room``; a word is cut only where no line holds it."""
        made, space = [""], self.wide(" ", size, bold)
        left = room
        for word in self.shown(text).split(" "):
            for part in self._cut(word, room, size, bold):
                wide = self.wide(part, size, bold)
                if made[-1] and wide + space > left:
                    made.append("")
                    left = room
                left -= wide + (space if made[-1] else 0)
                made[-1] = f"{made[-1]} {part}" if made[-1] else part
        return made

    def lined(self, text: str, room: float, size: float, bold: bool = False) -> list[str]:
        """The same of a text that may have several lines."""
        return [line for one in text.split("\n") for line in self.lines(one, room, size, bold)]

    def whole(self, text: str, size: float, bold: bool = False) -> float:
        """How wide the widest of its lines is when none of them is broken."""
        return max(self.wide(self.shown(one), size, bold) for one in text.split("\n"))

    def _cut(self, word: str, room: float, size: float, bold: bool) -> list[str]:
        if self.wide(word, size, bold) <= room:
            return [word]
        parts = [""]
        for sign in word:
            if parts[-1] and self.wide(parts[-1] + sign, size, bold) > room:
                parts.append("")
            parts[-1] += sign
        return parts

    def longest(self, text: str, size: float, bold: bool = False) -> float:
        """The width of the widest word."""
        words = [word for one in text.split("\n") for word in self.shown(one).split(" ")]
        return max(self.wide(word, size, bold) for word in words)

    def write(
        self, x: float, y: float, text: str, size: float, bold: bool = False, soft: bool = False
    ) -> None:
        """Draw one line of text whose line begins ``y`` below the upper edge."""
        self.write_on(x, y + size * POINT * 1.05, text, size, bold, soft)

    def write_on(
        self, x: float, base: float, text: str, size: float, bold: bool = False, soft: bool = False
    ) -> None:
        """Draw one line of text on its base line."""
        self.of.set_font(FONT, "B" if bold else "", size)
        self.of.set_text_color(70 if soft else 0)
        self.of.text(x, base, text)

    def rule(self, x: float, y: float, wide: float, weight: float = 0.2, grey: int = 0) -> None:
        """Draw a level line."""
        self.of.set_draw_color(grey)
        self.of.set_line_width(weight)
        self.of.line(x, y, x + wide, y)

    def frame(self, x: float, y: float, wide: float, high: float, weight: float = 0.2) -> None:
        """Draw a frame."""
        self.of.set_draw_color(0)
        self.of.set_line_width(weight)
        self.of.rect(x, y, wide, high)


def pen_of(size: str, *, landscape: bool) -> Pen:
    """A pen on an empty document. Raises StoreError where the library is not installed."""
    try:
        from fpdf import FPDF
        from fpdf.fonts import TTFFont
    except ImportError:
        raise StoreError(NO_LIBRARY) from None
    made = FPDF("landscape" if landscape else "portrait", "mm", PAPER[size])
    made.set_auto_page_break(False)
    folder = files("armrise.store.exchange.paper").joinpath("fonts")
    for style, name in (("", "NotoSans-Regular.ttf"), ("B", "NotoSans-Bold.ttf")):
        with as_file(folder.joinpath(name)) as file:
            made.add_font(FONT, style, file)
    letters = made.fonts[FONT.casefold()]
    assert isinstance(letters, TTFFont), "the only kind that is added here"
    return Pen(made, letters.cmap)
