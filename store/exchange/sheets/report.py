"""A plan in words: what each column means, what becomes of every row and why, what is to be written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.mapping import Column
from armrise.store.exchange.sheets.row import CHANGED, KNOWN, LEFT, REFUSED, TAKEN, Row, Wrong
from armrise.store.exchange.sheets.rows import Sheet
from armrise.store.record.phrase import phrase
from armrise.store.record.visible import visible
from armrise.store.record.words import full_date

if TYPE_CHECKING:
    from armrise.store.exchange.sheets.plan import Plan, Understood
    from armrise.store.rules.pathway import Rules

WORDS = {KNOWN: "there already", REFUSED: "refused", LEFT: "left out"}
"""What became of the rows that are not taken."""


def meaning_of(column: Column) -> str:
    """What a column means, in words."""
    return column.meaning.name if column.used and column.meaning else "left out"


def why_of(column: Column, sheet: Sheet) -> str:
    """Where the meaning of a column comes from, and which number of its dates is the day."""
    order = sheet.orders.get(column.index)
    if order is None or not (order.first or order.why):
        return column.why
    settled = f"{order.first}, {order.why}" if order.first else f"day or month first? {order.why}"
    return f"{column.why}; {settled}"


def column_lines(about: Understood) -> Iterator[str]:
    """The columns of every sheet with what they mean."""
    for sheet in about.sheets:
        if len(about.sheets) > 1:
            yield f'Sheet "{sheet.table.name}", headings in row {sheet.table.number(sheet.layout.first - 1)}'
        else:
            yield f"Columns, headings in row {sheet.table.number(sheet.layout.first - 1)}"
        names = [str(column.heading) for column in sheet.columns]
        wide = min(34, max(map(len, names), default=0))
        means = max((len(meaning_of(column)) for column in sheet.columns), default=0)
        for name, column in zip(names, sheet.columns, strict=True):
            line = f"  {name:{wide}}  {meaning_of(column):{means}}  {why_of(column, sheet)}"
            yield line.rstrip()
        for name, value in sheet.always.items():
            yield f"  every row: {name} is {value}"


def where(row: Row, *, several: bool) -> str:
    """Which row it is."""
    return f'sheet "{row.sheet}" row {row.number}' if several else f"row {row.number}"


def wrong_words(wrong: Wrong) -> str:
    """One reason: the column, what stands there, and why it is not taken."""
    quoted = f'"{_short(wrong.value)}"' if wrong.value else ""
    head = " ".join(filter(None, (f"{wrong.column}:" if wrong.column else "", quoted)))
    return f"{head} {wrong.why}".strip()


def row_lines(row: Row, rules: Rules, *, several: bool) -> list[str]:
    """What becomes of a row: a line, and one more for each reason or each cell read as something else."""
    head = f"{where(row, several=several)}  {row.code}".rstrip()
    if row.status == LEFT:
        return [f"{head}  {row.why}: left out"]
    if row.status == KNOWN:
        return [f"{head}  there already"]
    if row.status == REFUSED:
        reasons = [wrong_words(wrong) for wrong in row.wrong]
        if len(reasons) == 1:
            return [f"{head}  refused: {reasons[0]}"]
        return [f"{head}  refused, {len(reasons)} reasons:", *(f"    {reason}" for reason in reasons)]
    lines = [f"{head}  taken: {'; '.join(written_words(row, rules))}"]
    for changed in row.changed:
        column = f"{changed.column}: " if changed.column else ""
        lines.append(f'    {column}"{_short(changed.value)}" is read as {changed.read_as}')
    return lines


def written_words(row: Row, rules: Rules) -> Iterator[str]:
    """What is written because of a row, the entries of a day together."""
    if row.opens is not None:
        opened = row.opens
        yield f"new case, {opened.side} {opened.pathway}, registered {full_date(opened.registered_on)}"
    for on, entries in groupby(sorted(row.written, key=lambda e: e.on), key=lambda e: e.on):
        yield f"{full_date(on)}: {'; '.join(phrase(entry, rules) for entry in entries)}"


def _short(text: str) -> str:
    shown = visible(text)
    return f"{shown[:57]}..." if len(shown) > 60 else shown


def in_all(plan: Plan) -> list[str]:
    """The rows counted by what becomes of them, and what would be written."""
    counts = plan.counts
    taken = counts[TAKEN] + counts[CHANGED]
    read = f" ({counts[CHANGED]:,} with a cell read as shown)" if counts[CHANGED] else ""
    told = [f"{taken:,} taken{read}"] if taken else []
    told += [f"{counts[status]:,} {word}" for status, word in WORDS.items() if counts[status]]
    return [f"{counted(sum(counts.values()), 'row')}: {', '.join(told) or 'none'}.", f"{to_write(plan)}."]


def to_write(plan: Plan) -> str:
    """What would be written, in words."""
    parts = [counted(plan.new_cases, "new case")] if plan.new_cases else []
    parts += [counted(plan.entries, "entry")] if plan.entries else []
    return f"To be written: {' and '.join(parts)}" if parts else "Nothing is new: nothing is to be written"


def counted(number: int, what: str) -> str:
    """So many of them: "1 entry", "2,000 entries"."""
    many = f"{what.removesuffix('y')}ies" if what.endswith("y") else f"{what}s"
    return f"{number:,} {what if number == 1 else many}"


def meaning_lines() -> Iterator[str]:
    """Every meaning a column can have, in their groups."""
    heads = {
        m.HEAD: "The case",
        m.DAY: "The day",
        m.PLAN: "Visits, slots, stages, how it began",
        m.DIARY: "A day of a home diary",
        m.MEASURE: "Measures",
        m.SCORE: "Scores",
        m.OUT: "Anything else",
    }
    for kind, head in heads.items():
        yield head
        yield from (f"  {one.name}" for one in m.meanings().values() if one.kind == kind)


def lines_of(plan: Plan, rules: Rules, rows: Sequence[Row] | None = None) -> Iterator[str]:
    """The whole account: notes, columns, every row, the counts."""
    about = plan.understood
    several = len(about.sheets) > 1
    yield from about.notes
    yield from column_lines(about)
    yield ""
    for row in plan.rows if rows is None else rows:
        yield from row_lines(row, rules, several=several)
    yield ""
    yield from in_all(plan)
