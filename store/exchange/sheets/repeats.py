"""Rows that say the same of another case or another day: judged once, and then known again.

A list of diaries or of measured values says a few hundred things again and again. What such a row asks for
follows from its other cells alone, so it is kept by them: each entry by how many days after the day of the
row it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.files.table import Cell
from armrise.store.exchange.sheets.mapping import Column
from armrise.store.exchange.sheets.meanings import Meaning
from armrise.store.exchange.sheets.reading.cells import Reading, Told
from armrise.store.exchange.sheets.row import TAKEN, Changed, Part, Row
from armrise.store.record.light import NamedTuple

MOST = 20_000
"""So many different rows are kept."""


class Prepared(NamedTuple):
    """A column about to be read: what was read of each cell is kept, since cells say the same again."""

    column: Column
    meaning: Meaning
    read: Callable[[Cell], Reading]
    kept: dict[Cell, Reading]
    parts: dict[Any, Part]
    label: str

    def of(self, cells: Sequence[Cell]) -> Reading:
        """What its cell of a row says; one that is not there is empty."""
        index = self.column.heading.index
        cell = cells[index] if index < len(cells) else ""
        try:
            return self.kept[cell]
        except KeyError:
            read = self.kept[cell] = self.read(cell)
            return read


class _Judged(NamedTuple):
    changed: tuple[Changed, ...]
    parts: tuple[tuple[timedelta, Part], ...]


@dataclass
class Repeats:
    """The rows of one list that were judged so far. Only one that was taken as it stands is kept."""

    code: Prepared
    day: Prepared
    others: tuple[int, ...]
    """The places of the cells that say anything beside."""
    width: int
    """So many cells a row has at least."""
    today: date
    judged: dict[tuple[Cell, ...], _Judged] = field(default_factory=dict[tuple[Cell, ...], _Judged])

    @classmethod
    def among(cls, prepared: Sequence[Prepared], today: date) -> Repeats | None:
        """What knows rows of these columns again; None where a row follows from more than its other cells."""
        named = {one.meaning.name: one for one in prepared}
        code, day = named.pop(m.CODE, None), named.pop(m.DATE, None)
        told = {one.meaning.kind for one in named.values()}
        if code is None or day is None or not told or not told <= {m.DIARY, m.MEASURE, m.SCORE}:
            return None
        others = tuple(one.column.index for one in named.values())
        return cls(code, day, others, max(code.column.index, day.column.index, *others) + 1, today)

    def fill(self, row: Row, cells: Sequence[Cell]) -> bool:
        """Fill a row that says what one before it said; False where it has to be judged."""
        if len(cells) < self.width:
            return False
        known = self.judged.get(tuple([cells[at] for at in self.others]))
        if known is None or (on := self._day(cells)) is None:
            return False
        code = self.code.of(cells)
        if not isinstance(code, Told) or code.differs:
            return False
        row.code = code.value
        row.changed += known.changed
        row.parts = [(on + later if later else on, part) for later, part in known.parts]
        return True

    def keep(self, row: Row, cells: Sequence[Cell]) -> None:
        """Keep a row that was judged, where one that says the same would be judged alike."""
        if len(cells) < self.width or len(self.judged) >= MOST or row.status != TAKEN or not row.parts:
            return
        code, on = self.code.of(cells), self._day(cells)
        if on is not None and isinstance(code, Told) and not code.differs:
            parts = tuple((day - on, part) for day, part in row.parts)
            self.judged[tuple(cells[at] for at in self.others)] = _Judged(tuple(row.changed), parts)

    def _day(self, cells: Sequence[Cell]) -> date | None:
        """The day of a row, where its next morning has come and it stands there as it is read."""
        read = self.day.of(cells)
        if isinstance(read, Told) and not read.differs and read.value < self.today:
            return read.value
        return None
