"""The tables of an audit on the screen: columns where they fit, hanging sentences where they do not. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from rich.cells import cell_len

from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words.standing import fit

if TYPE_CHECKING:
    from armrise.store.clinic.audit.period import Audit, Group
    from armrise.store.clinic.audit.sheet import Table

GAP, LEAST_VALUE = 2, 20
NO_BREAK = "\N{NO-BREAK SPACE}"
NOTHING_YET = (
    "Nobody was being treated in this period, nobody came and nobody left: there is nothing to count. "
    "left goes a month back."
)


def group_name(group: Group) -> str:
    """A group as the head names it."""
    return f"{group.code} {group.name}" if group.code else group.name


def counts(audit: Audit, group: Group, width: int) -> list[Piece]:
    """Every table of a group, its title above it."""
    from armrise.store.clinic.audit.sheet import rule_notes, tables

    if group.empty and not group.code:
        return [Piece(NOTHING_YET, "strong"), BLANK, *(Piece(note, "muted") for note in rule_notes(audit))]
    pieces: list[Piece] = []
    for table in tables(audit, group):
        pieces += [Piece(table.title.upper(), "head"), *rows(table, width), BLANK]
    return pieces[:-1]


def rows(table: Table, width: int) -> Iterator[Piece]:
    """The rows of one table, then its notes."""
    if not table.rows:
        yield Piece("none", indent=2)
    elif len(table.head) == 2:
        yield from _pairs(table.rows, width)
    else:
        yield from _tabled(table, width)
    for note in table.notes:
        yield Piece(note, "muted", indent=2)


def _pairs(found: Sequence[tuple[str, ...]], width: int) -> Iterator[Piece]:
    """What and how many, the counts under each other; what is too long for its column goes above."""
    room = min(max(cell_len(row[0]) for row in found), width - LEAST_VALUE - 3 * GAP)
    for what, count in found:
        if cell_len(what) > room or room + cell_len(count) + 2 * GAP > width:
            yield Piece(f"{what}: {count}", indent=GAP)
        else:
            yield Piece(f"{fit(what, room + GAP)}{count}", indent=GAP)


def _tabled(table: Table, width: int) -> Iterator[Piece]:
    """In columns; where there is no room for all, the first cell of each row above the others; else told."""
    every = [[_unbroken(cell) for cell in row] for row in (table.head, *table.rows)]
    if wide := widths(every, width):
        yield from _columns(every, wide)
    elif wide := widths([row[1:] for row in every], width):
        yield from _columns([every[0][1:]], wide)
        for name, *row in every[1:]:
            yield Piece(name, "strong", indent=GAP)
            yield from _columns([row], wide, "")
    else:
        yield from _sentences(table)


def widths(rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """How wide each column is: as its widest cell where there is room, else narrower, the widest first.

    No word is broken; empty where that leaves no room for a table.
    """
    columns = list(zip(*rows, strict=True))
    wide = [max(map(cell_len, column)) for column in columns]
    least = [max(cell_len(word) for cell in column for word in _words(cell)) for column in columns]
    while sum(wide) + GAP * len(wide) > width:
        spare = [(wide[n] - least[n], n) for n in range(len(wide)) if wide[n] > least[n]]
        if not spare:
            return []
        wide[max(spare)[1]] -= 1
    return wide


def _unbroken(cell: str) -> str:
    """A share is read whole: "8 of 17" stays on one line."""
    return re.sub(r"(\d+) of (\d+)", rf"\1{NO_BREAK}of{NO_BREAK}\2", cell)


def _words(cell: str) -> list[str]:
    """The pieces between which a cell may go on below."""
    return re.findall(r"[^ -]+-?|-", cell) or [""]


def _columns(rows: Sequence[Sequence[str]], wide: Sequence[int], first: str = "muted") -> Iterator[Piece]:
    """Rows, the first in a style of its own; a cell that is longer than its column goes on below."""
    for number, row in enumerate(rows):
        cells = [wrap(cell, room) or [""] for cell, room in zip(row, wide, strict=True)]
        for line in zip_longest(*cells, fillvalue=""):
            text = "".join(fit(part, room + GAP) for part, room in zip(line, wide, strict=True))
            yield Piece(text.replace(NO_BREAK, " ").rstrip(), "" if number else first, indent=GAP)


def _sentences(table: Table) -> Iterator[Piece]:
    for row in table.rows:
        told = [f"{head} {cell}" for head, cell in zip(table.head[1:], row[1:], strict=True) if cell]
        yield Piece(row[0], "strong", indent=GAP)
        yield Piece(", ".join(told), indent=2 * GAP)
