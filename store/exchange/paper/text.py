"""A page in plain text, for a terminal or a pipe: every word of it, without its marks and drawings."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from armrise.store.exchange.paper.page import Block, Lines, Page, Table, Text

WIDTH = 78
GAP = "  "
LEAST = 4
"""Columns of a box to be filled in."""


def as_text(page: Page) -> str:
    """The page as text of at most 78 columns, a table as wide as what it holds."""
    return "\n".join(_lines(page)) + "\n"


def _lines(page: Page) -> Iterator[str]:
    if page.fictional:
        yield from (page.fictional, "")
    yield from _wrapped(page.title)
    if page.mark:
        yield page.mark.text
    for block in page.top:
        yield from _block(block)
    for part in page.parts:
        yield ""
        if part.heading:
            yield from (part.heading, "")
        for block in part.blocks:
            yield from _block(block)
    for caution in page.cautions:
        yield from ("", *_wrapped(caution))


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Text):
        yield from _wrapped(block.text)
    elif isinstance(block, Lines):
        for number, item in enumerate(block.items, 1):
            yield from _wrapped(item, f"  {number}. " if block.numbered else "  - ")
    elif isinstance(block, Table):
        yield from _table(block)


def _wrapped(text: str, first: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_on_hyphens=False
    )


def _table(table: Table) -> Iterator[str]:
    rows = (table.head, *table.rows)
    widths = [max(LEAST, *(len(row[n]) for row in rows)) for n in range(len(table.head))]
    yield from ("", *([table.title] if table.title else ()))
    empty = "_" if table.to_fill else " "
    for row in rows:
        boxes = zip(row, widths, strict=True)
        yield GAP.join(cell.ljust(width) if cell else empty * width for cell, width in boxes).rstrip()
    for note in table.notes:
        yield from _wrapped(note)
