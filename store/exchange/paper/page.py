"""A page for paper in blocks, before it is HTML or PDF: what stands on it and in which order, no layout.

Whoever makes a page says what a block is; the two writers (``html`` and ``pdf`` beside this) say how it
looks. Every text is plain: a writer escapes it and lets nothing raw through.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from xml.etree.ElementTree import Element

Look = Literal["plain", "strong", "soft", "boxed"]
"""How a text is printed: "boxed" is what must be read first, "soft" what can be looked up."""


@dataclass(frozen=True, slots=True)
class Text:
    """One paragraph."""

    text: str
    look: Look = "plain"


@dataclass(frozen=True, slots=True)
class Lines:
    """Several short paragraphs under each other, each on lines of its own; ``\n`` in one begins a line."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head; the first cell of a row names it. What does not fit a cell is broken, never cut.

    ``\n`` in a cell begins a line.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""
    notes: tuple[str, ...] = ()
    widths: tuple[int, ...] = ()
    """Shares of the columns; empty: by what they hold."""
    to_fill: bool = False
    """A form: every cell is framed, with room to write by hand in the empty ones."""

    @property
    def listed(self) -> tuple[tuple[str, ...], ...]:
        """Its rows; where there are none, one that says so."""
        return self.rows or (("none", *[""] * (len(self.head) - 1)),)


@dataclass(frozen=True, slots=True)
class CodeMark:
    """A mark that a scanner reads, with the same text printed below it."""

    text: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing as SVG that fetches nothing; ``words`` say what it shows to whoever cannot see it."""

    svg: Element
    words: str
    title: str = ""


Block = Text | Lines | Table | CodeMark | Drawing


@dataclass(frozen=True, slots=True)
class Part:
    """Blocks under a heading; an empty heading prints none. A part kept ``whole`` is not broken by a page."""

    heading: str
    blocks: tuple[Block, ...]
    whole: bool = False
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """One document. ``kind`` names what it is in a refusal and in its file ("letter")."""

    kind: str
    title: str
    parts: tuple[Part, ...]
    top: tuple[Block, ...] = ()
    """Under the title: of what and of when it is."""
    mark: CodeMark | None = None
    """Beside the title."""
    foot: tuple[str, ...] = ()
    """At the foot of every sheet of paper: code and date, no more than two short lines."""
    cautions: tuple[str, ...] = ()
    """At the end, small."""
    fictional: str = ""
    """Said first, framed, where the caseload is invented."""
    contents: bool = False
    """On a screen its headings are listed first, to jump to; on paper nobody can press them."""
    language: str = "en"
    """As in BCP 47: "en", "de"."""
    clear: bool = False
    """In clear print, 12 points at least: whatever a patient is handed."""
    large: bool = False
    """In large print, 16 points at least."""
    landscape: bool = False
