"""Rows of a sheet: each cell read by what its column means, each row with everything that is wrong with it.

A row is taken whole or not at all. What it says is put together here; what becomes of it beside the other
rows and beside the store is for :mod:`armrise.store.exchange.sheets.cases`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING, Any

from armrise.store.entries.check import WHOLE_MEASURES, WHOLE_SCORES
from armrise.store.entries.ranges import measure_range, score_range
from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.files.layout import Layout, begins_a_row, least_cells, no_row, slipped
from armrise.store.exchange.sheets.files.table import Cell, Table, text_of
from armrise.store.exchange.sheets.mapping import Column
from armrise.store.exchange.sheets.meanings import Meaning
from armrise.store.exchange.sheets.reading import texts
from armrise.store.exchange.sheets.reading.cells import Reading, Scale, Told, Unread, level, number, said
from armrise.store.exchange.sheets.reading.dates import Days, Order, settled
from armrise.store.exchange.sheets.repeats import Prepared, Repeats
from armrise.store.exchange.sheets.row import LEFT, Changed, Given, Part, Row, Said, checked
from armrise.store.exchange.sheets.said import entries_said
from armrise.store.record.fields import Absence, rule_of
from armrise.store.record.kinds.measured import Measure, Score

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


@dataclass
class Sheet:
    """A sheet with its headings and what they mean."""

    table: Table
    layout: Layout
    columns: list[Column]
    always: Mapping[str, str] = field(default_factory=dict[str, str])
    orders: dict[int, Order] = field(default_factory=dict[int, Order])
    """Which number of a date is the day, by column."""

    def samples(self, index: int, most: int = 3) -> list[str]:
        """The first different cells of a column that hold anything."""
        found: dict[str, None] = {}
        for row in self.table.rows[self.layout.first : self.layout.first + 200]:
            text = text_of(row[index]) if index < len(row) else ""
            if text:
                found[text] = None
            if len(found) == most:
                break
        return list(found)


PLACES = rule_of(Measure, "value").places
MEASURE_UNITS = {
    "of 10": "points",
    "nights a week": "nights",
    "degrees": "degrees",
    "level": "level",
    "kg": "kg",
    "per cent": "percent",
    "percent": "percent",
    "%": "percent",
}
PAIN = Scale(Decimal(0), Decimal(10), 0, "points", "pain", Absence.NOT_ASKED)
TIMES = Scale(Decimal(0), Decimal(6), 0, "times", "times a day")
ORDINAL = Scale(Decimal(1), Decimal(6), 0, "points", "the session of a day")
INTERVAL = Scale(Decimal(1), Decimal(366), 0, "days", "days to the next review")
HUNDRED = Decimal(100)


def scale_of(meaning: Meaning, rules: Rules) -> Scale:
    """The scale that the numbers of a column lie on."""
    if meaning.kind == m.SCORE:
        own = score_range(rules, meaning.field, meaning.formula)
        places = 0 if meaning.field in WHOLE_SCORES else PLACES
        low, high = (own.low, own.high) if own else (Decimal(-10), Decimal(2100))
        return Scale(low, high, places, "points", meaning.name, Absence.NOT_ASKED)
    own, spec = measure_range(rules, meaning.field, meaning.unit), rules.measures.get(meaning.field)
    unit = {"grade 0-5": "grade", "percent of other side": "percent"}.get(meaning.unit or "")
    unit = unit or MEASURE_UNITS.get(spec.unit if spec else "", "points")
    gone = Absence.NOT_ASKED if spec and spec.question else Absence.NOT_MEASURED
    low, high = (own.low, own.high) if own else (Decimal(-20), Decimal(200))
    return Scale(low, high, 0 if meaning.field in WHOLE_MEASURES else PLACES, unit, meaning.name, gone)


def reader_of(
    meaning: Meaning, given: Given, cells: Callable[[], Iterable[Cell]], order: Order
) -> Callable[[Cell], Reading]:
    """What reads the cells of a column."""
    reads = meaning.reads
    if reads in ("date", "date ahead"):
        return Days(order, given.today, future=reads == "date ahead").read
    if reads.startswith("phrase"):
        return texts.phrase(int(reads.split()[1]))
    if reads in texts.WORDS:
        return texts.WORDS[reads]
    if reads == "pathway":
        return texts.pathway(given.rules)
    if reads == "stage":
        return texts.stage(given.rules)
    if reads == "level":
        return partial(level, scale=scale_of(meaning, given.rules))
    scale = {"pain": PAIN, "times": TIMES, "ordinal": ORDINAL, "days": INTERVAL}.get(reads)
    scale = scale or scale_of(meaning, given.rules)
    if scale.low == 0 and scale.high >= HUNDRED and _has_fractions(cells()):
        return partial(_no_fraction, scale=scale)
    return partial(number, scale=scale)


def _has_fractions(cells: Iterable[Cell]) -> bool:
    """True where a column holds numbers between 0 and 1: shares that the spreadsheet shows as per cent."""
    return any(
        (isinstance(cell, float) and 0 < cell < 1)
        or (isinstance(cell, str) and cell[:2] in ("0.", "0,") and cell[2:].isdigit())
        for cell in cells
    )


def _no_fraction(cell: Cell, scale: Scale) -> Reading:
    read = number(cell, scale)
    if isinstance(read, Told) and isinstance(read.value, Decimal) and 0 < read.value <= 1:
        return Unread("may be a share that is shown as per cent, write it as text such as 45")
    return read


def read_rows(
    sheet: Sheet, given: Given, tell: Callable[[int, int], None] = lambda done, of: None
) -> Iterator[Row]:
    """Every line under the headings as a row; ``tell`` is told how far it is, and stops it by raising."""
    rows, layout = sheet.table.rows, sheet.layout
    prepared = _prepared(sheet, given)
    fixed = _fixed(sheet, given)
    strict = sheet.table.strict_width
    least = least_cells(sheet.table, layout) if strict else 0
    repeats = Repeats.among(prepared, given.today) if not fixed else None
    plain: set[Cell] = set()
    for index in range(layout.first, len(rows)):
        cells = rows[index]
        row = Row(sheet.table.name, sheet.table.number(index))
        if (index - layout.first) % 2000 == 0:
            tell(index - layout.first, len(rows) - layout.first)
        if (first := cells[0] if cells else "") not in plain:
            if why := no_row(cells, layout):
                row.status, row.why = LEFT, why
                if why != "empty":
                    yield row
                continue
            if begins_a_row(first, layout):
                plain.add(first)
        if strict and (why := slipped(cells, layout, least)):
            row.refuse("", "", why)
        elif repeats is None or not repeats.fill(row, cells):
            _read_row(row, cells, prepared, fixed, given)
            if repeats is not None:
                repeats.keep(row, cells)
        yield row


def _prepared(sheet: Sheet, given: Given) -> list[Prepared]:
    made: list[Prepared] = []
    table, first = sheet.table, sheet.layout.first
    for column in sheet.columns:
        meaning = column.meaning
        if meaning is None or not column.used:
            continue
        index = column.index
        cells = partial(_column, table, first, index)
        order = Order()
        if meaning.reads.startswith("date"):
            numbered = ((table.number(first + at), cell) for at, cell in enumerate(cells()))
            order = sheet.orders[index] = settled(numbered, column.order)
        read = reader_of(meaning, given, cells, order)
        made.append(Prepared(column, meaning, read, {}, {}, str(column.heading)))
    return made


def _column(table: Table, first: int, index: int) -> Iterator[Cell]:
    return (row[index] if index < len(row) else "" for row in islice(table.rows, first, None))


def _fixed(sheet: Sheet, given: Given) -> list[tuple[Meaning, Reading, str, Cell]]:
    """What holds for every row, read once."""
    found: list[tuple[Meaning, Reading, str, Cell]] = []
    for name, text in sheet.always.items():
        meaning = m.named(name)
        if meaning is not None:
            read = reader_of(meaning, given, tuple, Order())(text)
            found.append((meaning, read, f"always {name}", text))
    return found


def _read_row(
    row: Row,
    cells: Sequence[Cell],
    prepared: Sequence[Prepared],
    fixed: Sequence[tuple[Meaning, Reading, str, Cell]],
    given: Given,
) -> None:
    values: dict[str, Said] = {}
    measured: list[Part] = []
    for meaning, read, label, text in fixed:
        _put(row, values, meaning, read, label, text)
    width = len(cells)
    for one in prepared:
        read = one.of(cells)
        if read is None:
            continue
        index = one.column.index
        cell = cells[index] if index < width else ""
        if isinstance(read, Unread) or read.differs or one.meaning.kind not in (m.MEASURE, m.SCORE):
            _put(row, values, one.meaning, read, one.label, cell)
        if isinstance(read, Told) and one.meaning.kind in (m.MEASURE, m.SCORE):
            measured.append(_measured(row, one, read.value, cell, given))
    if "code" in values:
        row.code = values["code"][0]
    if not row.wrong:
        _put_together(row, values, measured, given)


def _put(
    row: Row,
    values: dict[str, Said],
    meaning: Meaning,
    read: Reading,
    label: str,
    cell: Cell,
) -> None:
    if isinstance(read, Unread):
        row.refuse(label, cell, read.why)
    elif read is not None:
        if read.differs:
            shown = said(read.value) if read.value is not None else "nothing told"
            row.changed.append(Changed(label, text_of(cell), shown))
        if read.value is not None:
            values[meaning.field] = (read.value, label, cell)


def _measured(row: Row, one: Prepared, value: Any, cell: Cell, given: Given) -> Part:
    """The entry of a measured value, checked as any that is recorded; made once for each value."""
    part = one.parts.get(value)
    if part is None:
        meaning = one.meaning
        if meaning.kind == m.MEASURE:
            kind, raw = Measure.KIND, {"name": meaning.field, "value": value, "unit": meaning.unit}
        else:
            kind = Score.KIND
            raw = {"instrument": meaning.field, "total": value, "formula": meaning.formula}
        entry = checked(row, kind, raw, (value, one.label, cell), given)
        part = Part(entry, one.label, meaning.side)
        if entry is not None:
            one.parts[value] = part
    return part


def _put_together(row: Row, values: dict[str, Said], measured: list[Part], given: Given) -> None:
    """What the row says of the case, and the entries it asks for, each with its day."""
    for name in (
        "person",
        "side",
        "pathway",
        "registered_on",
        "clinician",
        "referrer",
        "age_band",
        "dominance",
    ):
        if name in values:
            row.head[name] = values[name]
    row.visit = values["visit"][0] if "visit" in values else None
    row.rater = values["rater"][0] if "rater" in values else None
    if not row.code:
        row.refuse("", "", "has no case code: a code above it is not carried down")
        return
    day = values.get("date") or values.get("visit")
    if measured:
        if day is None:
            row.refuse(measured[0].column, "", "was measured, and the row has no date")
        else:
            row.parts += [(day[0], part) for part in measured]
    for on, part in entries_said(row, values, given):
        row.parts.append((on, part))
    if not row.wrong and not row.parts and not row.head:
        row.status, row.why = LEFT, "nothing is told in it"
