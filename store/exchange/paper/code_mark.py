"""A code as a mark that a scanner reads: QR code, ISO/IEC 18004, error correction level M (15 % restored)."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from armrise.store.exchange.paper.tree import element

QUIET_ZONE = 4
"""Empty modules around the mark; ISO/IEC 18004 asks for four."""

Modules = tuple[tuple[bool, ...], ...]
"""Rows of the mark with its quiet zone; True is dark."""


def modules(text: str) -> Modules | None:
    """The mark of a text; None without the extra ``paper``: the text in large letters stands in its place."""
    try:
        import segno
    except ImportError:
        return None
    made = segno.make_qr(text, error="m", boost_error=False)
    return tuple(tuple(bool(dark) for dark in row) for row in made.matrix_iter(border=QUIET_ZONE))


def runs(rows: Modules) -> list[tuple[int, int, int]]:
    """Dark modules that lie side by side: row, first column, how many."""
    found: list[tuple[int, int, int]] = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            end = x
            while end < len(row) and row[end]:
                end += 1
            if end > x:
                found.append((y, x, end - x))
            x = end + 1
    return found


def as_svg(rows: Modules, words: str) -> Element:
    """The mark as SVG, black on white on a dark screen too: a scanner reads it from there."""
    size = len(rows)
    svg = Element("svg", {"viewBox": f"0 0 {size} {size}", "role": "img", "shape-rendering": "crispEdges"})
    svg.append(element("title", words))
    svg.append(element("rect", width=size, height=size, fill="#fff"))
    path = "".join(f"M{x} {y}h{count}v1h-{count}z" for y, x, count in runs(rows))
    svg.append(element("path", d=path, fill="#000"))
    return svg
