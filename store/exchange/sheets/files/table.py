"""A sheet as it lies in a file: rows of cells, and what a spreadsheet says about them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from armrise.store.database.driver import StoreError

Cell = str | int | float | date | time | timedelta
"""What stands in a cell: a text (empty for nothing; yes and no of a spreadsheet are texts too), a number, a
date (with or without a time of day), a time of day, a duration."""

MOST_ROWS = 250_000
MOST_COLUMNS = 400
LONGEST_TEXT = 60


class SheetRefused(StoreError):
    """A file that cannot be read as a spreadsheet at all; nothing of it was taken."""


@dataclass(frozen=True, slots=True)
class Merged:
    """A block of cells that are one in the spreadsheet: rows and columns from 0, both ends in it."""

    top: int
    left: int
    bottom: int
    right: int


@dataclass
class Table:
    """One sheet. ``rows`` are those of the file from its first, so that row 1 of it is ``rows[0]``."""

    name: str
    rows: list[Sequence[Cell]]
    merged: Sequence[Merged] = ()
    numbers: Sequence[int] = ()
    """The line of a text file on which each row begins; empty: the rows are numbered as they stand."""
    strict_width: bool = False
    """True where a row with more cells than the headings has slipped: a comma that parts, and was none."""
    notes: list[str] = field(default_factory=list[str])
    """What there is to say of how it was read, each a sentence."""

    def number(self, index: int) -> int:
        """How a person finds the row: its number in the spreadsheet, its line in a text file."""
        return self.numbers[index] if self.numbers else index + 1


def letter(column: int) -> str:
    """The name a spreadsheet gives a column, from 0: A, B, ... Z, AA."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(65 + rest) + name
    return name


def text_of(cell: Cell) -> str:
    """A cell as a person reads it, on one line and without blanks at its ends."""
    if isinstance(cell, str):
        return squeezed(cell)
    if isinstance(cell, float):
        return f"{decimal_of(cell):f}"
    if isinstance(cell, datetime):
        midnight = cell.time() == time()
        return cell.date().isoformat() if midnight else cell.isoformat(" ", "minutes")
    return str(cell)


def decimal_of(number: int | float) -> Decimal:
    """A number of a spreadsheet, which keeps fifteen digits: 0.1 + 0.2 is 0.3 there."""
    made = Decimal(f"{number:.15g}")
    return made.quantize(Decimal(1)) if made == made.to_integral_value() and abs(made) < 10**15 else made


_UNSEEN = dict.fromkeys([0xFEFF, 0x200B, 0x200E, 0x200F, 0x00AD])
"""Signs that take no room and that programs leave behind in cells."""


def squeezed(text: str) -> str:
    """A text with every run of blanks made one, without those at its ends, and without unseen signs."""
    if not text.isascii():
        text = text.translate(_UNSEEN)
    return " ".join(text.split())
