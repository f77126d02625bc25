"""Where the headings of a sheet stand: on one line or two, below a title, under merged cells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from armrise.store.exchange.sheets.files.csv_file import swallowed
from armrise.store.exchange.sheets.files.table import Cell, Table, letter, squeezed, text_of

LOOKED_AT = 25
"""Rows from the top among which the headings are looked for."""


@dataclass(frozen=True, slots=True)
class Heading:
    """The heading of a column: its place from 0, the words, and the key by which it is remembered."""

    index: int
    words: str
    key: str

    @property
    def letter(self) -> str:
        """The name that the spreadsheet gives the column."""
        return letter(self.index)

    def __str__(self) -> str:
        return f'{self.letter} "{self.words}"' if self.words else self.letter


@dataclass(frozen=True)
class Layout:
    """The headings of a sheet, and the first row under them (from 0)."""

    headings: tuple[Heading, ...]
    first: int
    cells: int
    """Cells of the line of headings, empty ones too."""
    line: list[str]
    """What stands in the last line of the headings: where it comes again, it is no row."""

    @cached_property
    def begins(self) -> str:
        """The first of it."""
        return self.line[0] if self.line else ""


def key_of(words: str) -> str:
    """By what a heading is remembered: its words in any case, without what does not tell two apart."""
    return squeezed(words).casefold()


def laid_out(table: Table, known: Callable[[str], bool]) -> Layout | None:
    """The headings of a sheet; None where no line is like them. ``known``: a heading that tells something."""
    lines = [[text_of(cell) for cell in row] for row in islice(table.rows, LOOKED_AT)]
    best: tuple[int, int, list[str], int] | None = None
    for at, line in enumerate(lines):
        if not any(line):
            continue
        for two in (False, True):
            words = _two_lines(table, lines, at) if two else line
            found = sum(known(one) for one in words if one) if words else 0
            if found >= 2 and (best is None or found > best[0]):
                best = (found, at, words, at + 1)
    if best is None:
        best = _by_its_looks(table, lines)
    if best is None:
        return None
    _, at, words, first = best
    cells = len(table.rows[at])
    return Layout(_headings(words, table, first), first, cells, [one for one in lines[at] if one])


def _two_lines(table: Table, lines: Sequence[list[str]], at: int) -> list[str]:
    """The words of a line under those of the line above, whose cells reach over the blanks beside them."""
    if at == 0 or not any(lines[at - 1]):
        return []
    below, above, reach, made = lines[at], lines[at - 1], "", list[str]()
    merged = {(m.top, m.left): m for m in table.merged}
    until = -1
    for column in range(max(len(below), len(above))):
        lower = below[column] if column < len(below) else ""
        upper = above[column] if column < len(above) else ""
        if upper:
            block = merged.get((at - 1, column))
            reach = upper
            until = block.right if block else column if table.merged else 10**6
        elif column > until:
            reach = ""
        made.append(" ".join(filter(None, (reach, lower))) if lower or upper else "")
    return made


def _by_its_looks(table: Table, lines: Sequence[list[str]]) -> tuple[int, int, list[str], int] | None:
    """The first line of words alone that is followed by a line with figures."""
    for at, line in enumerate(lines[:-1]):
        texts = [one for one in line if one]
        if len(texts) < 2 or any(_figures(one) for one in texts):
            continue
        below = next((row for row in lines[at + 1 :] if any(row)), list[str]())
        if any(_figures(one) for one in below) and len([one for one in below if one]) >= 2:
            return 0, at, line, at + 1
    return None


def _figures(text: str) -> bool:
    return sum(sign.isdigit() for sign in text) * 2 >= len(text) > 0


def _headings(words: Sequence[str], table: Table, first: int) -> tuple[Heading, ...]:
    """One heading a column; those that say the same are told apart by their number."""
    width = len(words)
    while width and not words[width - 1]:
        width -= 1
    if not table.strict_width:
        below = (len(row) for row in islice(table.rows, first, None))
        width = max(width, max(below, default=0))
    seen: Counter[str] = Counter()
    made: list[Heading] = []
    for index in range(width):
        text = words[index] if index < len(words) else ""
        key = key_of(text) or f"column {letter(index).casefold()}"
        seen[key] += 1
        made.append(Heading(index, text, key if seen[key] == 1 else f"{key} ({seen[key]})"))
    return tuple(made)


def filled(table: Table) -> None:
    """Write what merged cells say into each row they reach over: there it stands for all of them."""
    for block in table.merged:
        if block.left != block.right or block.bottom == block.top:
            continue
        column = block.left
        if block.top >= len(table.rows) or column >= len(table.rows[block.top]):
            continue
        cell = table.rows[block.top][column]
        for index in range(block.top + 1, min(block.bottom, len(table.rows) - 1) + 1):
            row = list(table.rows[index])
            row += [""] * (column + 1 - len(row))
            row[column] = cell
            table.rows[index] = row


_SUMS = (
    "total",
    "totals",
    "sum",
    "mean",
    "average",
    "avg",
    "median",
    "sd",
    "count",
    "max",
    "min",
    "subtotal",
)


def no_row(row: Sequence[Cell], layout: Layout) -> str:
    """Why a line of a sheet is no row of it: empty, the headings again, a total; "" for a row."""
    first = next((cell for cell in row if not isinstance(cell, str) or squeezed(cell)), None)
    if first is None:
        return "empty"
    if not isinstance(first, str):
        return ""
    word = squeezed(first)
    if word == layout.begins and [one for one in map(text_of, row) if one] == layout.line:
        return "the headings again"
    words = word.casefold().rstrip(":").split(" ")
    if words[0] in _SUMS or (words[0] == "grand" and words[1:2] == ["total"]):
        return "a line of totals"
    return ""


def begins_a_row(first: Cell, layout: Layout) -> bool:
    """True for a first cell with which every line is a row, once :func:`no_row` let one such line pass."""
    return isinstance(first, str) and squeezed(first) not in ("", layout.begins)


def least_cells(table: Table, layout: Layout) -> int:
    """So many cells a row of a text file needs for each to stand under its heading.

    As many as there are headings, unless the file is of a program that leaves empty cells at the end of each
    row away: then no row ends in one, and many are shorter.
    """
    wide = layout.cells
    rows = [row for row in islice(table.rows, layout.first, None) if any(row)]
    shorter = sum(len(row) < wide for row in rows)
    trimmed = shorter > 1 and shorter * 10 >= len(rows) and all(row[-1] for row in rows)
    return 0 if trimmed else wide


def slipped(row: Sequence[Cell], layout: Layout, least: int) -> str:
    """Why the cells of a row of a text file do not stand under their headings; "" where they do."""
    wide = layout.cells
    if len(row) > wide:
        why = "a decimal comma, or a sign inside a text, has moved them"
        return f"has {len(row)} cells under {wide} headings: {why}"
    if len(row) < least:
        return f"has {len(row)} cells under {wide} headings: one is missing, and has moved the others"
    texts = [cell for cell in row if isinstance(cell, str)]
    if "\n" in "".join(texts) and any("\n" in text and swallowed(text, wide) for text in texts):
        return "holds several lines in one cell: a quotation mark was not closed"
    return ""
