"""The keys of a screen on a sheet: grouped by what one wants, in as many columns as there is room for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from armrise.store.record.light import NamedTuple
from armrise.tui.widgets.groups import ALWAYS, CASE, DAY, DECIDE, HERE, LOOK, MOVE, PAST
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words.standing import fit

IN_COLUMNS = [group.description for group in (DAY, LOOK, CASE, DECIDE, PAST, HERE)]
IN_LINES = [group.description for group in (MOVE, ALWAYS)]
"""Groups that are known by heart soon: in lines under the columns."""
GAP = 2


class KeyOf(NamedTuple):
    """An action of a screen: the heading it stands under, its keys as printed, what it does."""

    group: str
    keys: str
    does: str


def sheet(keys: Sequence[KeyOf], width: int) -> list[Line]:
    """The keys in lines of at most ``width`` columns of text: as many groups beside another as fit."""
    blocks = [block for group in IN_COLUMNS if (block := _block(group, keys))]
    fitting = (
        columns
        for number in range(len(blocks), 0, -1)
        if sum(map(_wide, columns := _spread(blocks, number))) + GAP * (len(columns) - 1) <= width
    )
    columns = next(fitting, _spread(blocks, 1) if blocks else [])
    return [*_beside(columns), *(line for group in IN_LINES for line in _lines(group, keys, width))]


def _block(group: str, keys: Iterable[KeyOf]) -> list[Line]:
    """A heading, and its keys under it."""
    found = [key for key in keys if key.group == group]
    wide = max((len(key.keys) for key in found), default=0)
    rows: list[Line] = [[Span(fit(key.keys, wide + 2), "strong"), Span(key.does)] for key in found]
    return [[Span(group, "muted")], *rows] if rows else []


def _wide(block: Sequence[Line]) -> int:
    return max(sum(len(span.text) for span in line) for line in block)


def _spread(blocks: Sequence[list[Line]], number: int) -> list[list[Line]]:
    """The blocks in their order on at most ``number`` columns, the highest of them as low as it can be."""
    least, most = max(map(len, blocks)), sum(map(len, blocks))
    for height in range(least, most + 1):
        columns: list[list[Line]] = [[]]
        for block in blocks:
            if columns[-1] and len(columns[-1]) + len(block) > height:
                columns.append([])
            columns[-1] += block
        if len(columns) <= number:
            return columns
    return [[line for block in blocks for line in block]]


def _beside(columns: Sequence[Sequence[Line]]) -> list[Line]:
    """The columns side by side."""
    if not columns:
        return []
    widths = [_wide(column) + GAP for column in columns]
    rows: list[Line] = []
    for at in range(max(map(len, columns))):
        row: Line = []
        for column, wide in zip(columns, widths, strict=True):
            line = column[at] if at < len(column) else []
            used = sum(len(span.text) for span in line)
            row += [*line, Span(" " * (wide - used))]
        rows.append(row)
    return rows


def _lines(group: str, keys: Iterable[KeyOf], width: int) -> list[Line]:
    """A heading and its keys one after the other, never broken between a key and its words."""
    lead = f"{group}  "
    lines: list[Line] = []
    used = width + 1
    for key in keys:
        if key.group != group:
            continue
        wide = len(key.keys) + 1 + len(key.does)
        if used + 2 + wide > width:
            lines.append([Span(" " * len(lead) if lines else lead, "muted")])
            used = len(lead) - 2
        gap = "  " if len(lines[-1]) > 1 else ""
        lines[-1] += [Span(gap + key.keys, "strong"), Span(f" {key.does}")]
        used += 2 + wide
    return lines
