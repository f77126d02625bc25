"""The words of the screens about a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from armrise.store.exchange.sheets.report import meaning_of, row_lines, why_of
from armrise.store.exchange.sheets.row import CHANGED, KNOWN, LEFT, REFUSED, TAKEN
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words.standing import fit

if TYPE_CHECKING:
    from armrise.store.exchange.sheets.mapping import Column
    from armrise.store.exchange.sheets.plan import Plan, Understood
    from armrise.store.exchange.sheets.row import Row
    from armrise.store.exchange.sheets.rows import Sheet
    from armrise.store.rules.pathway import Rules

HEADS = {
    REFUSED: "REFUSED: nothing of these rows is written",
    CHANGED: "TAKEN, with a cell read as something else than stands there",
    TAKEN: "TAKEN as they stand",
    KNOWN: "THERE ALREADY: nothing is added",
    LEFT: "LEFT OUT: no row of the list",
}
STYLES = {REFUSED: "harm", CHANGED: "strong", TAKEN: "head", KNOWN: "muted", LEFT: "muted"}


def column_rows(about: Understood, width: int) -> Iterator[tuple[str, str]]:
    """A row for each column: its heading and what it means, below that why and what it holds."""
    for number, sheet in enumerate(about.sheets):
        for column in sheet.columns:
            name = f"{column.heading.letter:>2}  {column.heading.words or '(no heading)'}"
            half = max(24, width // 2 - 2)
            first = f"{fit(name, half)} {meaning_of(column)}"
            why = why_of(column, sheet) or "no meaning is known by the heading"
            told = why if column.personal else f"{why}; holds {samples_of(sheet, column)}"
            if len(about.sheets) > 1 and column is sheet.columns[0]:
                first = f"Sheet {sheet.table.name}\n{first}"
            yield f"{number}:{column.index}", f"{first}\n      {fit(told, max(20, width - 14)).rstrip()}"


def samples_of(sheet: Sheet, column: Column) -> str:
    """What stands in the first cells of a column."""
    return ", ".join(sheet.samples(column.index)) or "nothing"


def plan_lines(plan: Plan, rules: Rules, width: int) -> Sequence[Line]:
    """Every row under what becomes of it, those refused first."""
    lines: list[Line] = []
    several = len(plan.understood.sheets) > 1
    for status, head in HEADS.items():
        rows = plan.of(status)
        if not rows:
            continue
        lines += [[]] if lines else []
        lines.append([Span(f"{head} ({len(rows):,})", STYLES[status])])
        for row in rows:
            lines += _laid(row, rules, width, several=several)
    return lines


def _laid(row: Row, rules: Rules, width: int, *, several: bool) -> Iterator[Line]:
    for number, text in enumerate(row_lines(row, rules, several=several)):
        indent = "  " if number == 0 else "      "
        parts = wrap(text.strip(), max(20, width - 4 - len(indent)), break_on_hyphens=False) or [""]
        yield [Span(indent + parts[0])]
        yield from (
            [Span(f"{indent}    {part}")]
            for part in wrap(" ".join(parts[1:]), max(20, width - 8 - len(indent)))
        )
