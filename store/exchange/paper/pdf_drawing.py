"""A drawing in a PDF: its lines as vectors, its words in the letters of the document."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, tostring

from armrise.store.exchange.paper.page import Drawing
from armrise.store.exchange.paper.pen import POINT, Pen

if TYPE_CHECKING:
    from collections.abc import Sequence

SCALE = 0.25
"""Millimetres of a unit of a drawing: letters of 12 units are 8.5 points."""
WORDS = 12.0
"""Units of a letter where a drawing does not say."""


def measures(drawing: Drawing) -> tuple[float, float]:
    """Width and height of a drawing in its own units."""
    _, _, wide, high = map(float, drawing.svg.get("viewBox", "0 0 320 160").split())
    return wide, high


Row = list[tuple[Drawing, float]]
"""Drawings beside each other, each with its scale."""


def side_by_side(drawings: Sequence[Drawing], room: float, between: float) -> Iterator[Row]:
    """Drawings in rows: as many beside each other as there is room for."""
    row: Row = []
    used = 0.0
    for drawing in drawings:
        wide, _ = measures(drawing)
        scale = min(SCALE, room / wide)
        if row and used + wide * scale > room:
            yield row
            row, used = [], 0.0
        row.append((drawing, scale))
        used += wide * scale + between
    if row:
        yield row


def draw_svg(pen: Pen, drawing: Drawing, x: float, y: float, scale: float) -> None:
    """Draw it with its upper left corner there; its lines by the library, its words by the pen."""
    from fpdf.svg import SVGObject

    wide, high = measures(drawing)
    lines = deepcopy(drawing.svg)
    _without_words(lines)
    lines.set("xmlns", "http://www.w3.org/2000/svg")
    lines.set("width", f"{wide * scale}mm")
    lines.set("height", f"{high * scale}mm")
    text = tostring(lines, encoding="unicode").replace("currentColor", "#000")
    SVGObject(text).draw_to_page(pen.of, x, y)
    for words in drawing.svg.iter("text"):
        _write(pen, words, x, y, scale)


def _without_words(svg: Element) -> None:
    for parent in list(svg.iter()):
        for child in [one for one in parent if one.tag in ("text", "title", "desc")]:
            parent.remove(child)


def _write(pen: Pen, words: Element, x: float, y: float, scale: float) -> None:
    """Words on their base line, as they are anchored."""
    size = float(words.get("font-size", WORDS)) * scale / POINT
    bold = words.get("font-weight") == "bold"
    text = pen.shown("".join(words.itertext()))
    back = {"end": 1.0, "middle": 0.5}.get(words.get("text-anchor", ""), 0.0) * pen.wide(text, size, bold)
    at = x + float(words.get("x", 0)) * scale - back
    pen.write_on(at, y + float(words.get("y", 0)) * scale, text, size, bold)
