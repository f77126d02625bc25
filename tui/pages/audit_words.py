"""The tables of an audit on the screen: columns where they fit, hanging sentences where they do not. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len

from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words.standing import fit

if TYPE_CHECKING:
    from armrise.store.clinic.audit.period import Audit, Group
    from armrise.store.clinic.audit.sheet import Table

GAP, LEAST_VALUE = 2, 20
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
        wide = [max(cell_len(row[n]) for row in (table.head, *table.rows)) for n in range(len(table.head))]
        fits = sum(wide) + GAP * len(wide) <= width
        yield from _columns(table, wide) if fits else _sentences(table)
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


def _columns(table: Table, wide: Sequence[int]) -> Iterator[Piece]:
    for number, row in enumerate((table.head, *table.rows)):
        cells = (fit(cell, wide[n] + GAP) for n, cell in enumerate(row))
        yield Piece("".join(cells).rstrip(), "" if number else "muted", indent=GAP)


def _sentences(table: Table) -> Iterator[Piece]:
    for row in table.rows:
        told = [f"{head} {cell}" for head, cell in zip(table.head[1:], row[1:], strict=True) if cell]
        yield Piece(row[0], "strong", indent=GAP)
        yield Piece(", ".join(told), indent=2 * GAP)
