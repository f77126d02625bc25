"""Cells as they stand in clinics' spreadsheets, and what each is read as: the table of the README.

Worked out by the readers themselves, so that the table says what the program does.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from functools import partial

from armrise.store.exchange.sheets.reading import texts
from armrise.store.exchange.sheets.reading.cells import Reading, Scale, Unread, level, number, said
from armrise.store.exchange.sheets.reading.dates import DAY_FIRST, Days, Order
from armrise.store.exchange.sheets.rows import PAIN
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import BACK_LEVELS
from armrise.store.record.words import full_date

BACK = "hand behind back"
TODAY = date(2026, 11, 28)
DEGREES = Scale(Decimal(-20), Decimal(110), 2, "degrees", "external rotation", Absence.NOT_MEASURED)
HUNDRED = Scale(Decimal(0), Decimal(100), 2, "points", "SPADI", Absence.NOT_ASKED)
LEVEL = Scale(Decimal(0), Decimal(19), 0, "level", "hand behind back", Absence.NOT_MEASURED)


def examples() -> Iterator[tuple[str, str, str]]:
    """What a column means, what stands in a cell, and what it is read as or why it is refused."""
    unsettled, day_first = Days(Order(), TODAY), Days(Order(DAY_FIRST, "as told", said=True), TODAY)
    for what, read, cells in (
        (
            "pain",
            partial(number, scale=PAIN),
            ("7", "7/10", "07", "6-7", "11", "3,5", "n/a", "declined", ""),
        ),
        ("range", partial(number, scale=DEGREES), ("110°", "32,5", "-5 deg", ">90", "about 40")),
        ("score", partial(number, scale=HUNDRED), ("45/100", "45 %", "1,234")),
        (BACK, partial(level, scale=LEVEL), ("T7", "L 5", "buttock", "12")),
        ("date", unsettled.read, ("2026-03-04", "4 Mar 2026", "25/03/2026", "03/04/2026", "46085")),
        ("date, day first", day_first.read, ("03/04/2026", "3.4.26")),
        ("side", texts.side, ("L", "right shoulder", "both")),
        ("dose", texts.dose, ("3/3", "2 of 3", "3")),
    ):
        yield from ((what, cell, words_of(read(cell), what)) for cell in cells)


def words_of(read: Reading, what: str) -> str:
    """What was read, in words; for a cell that is refused the reason."""
    if read is None:
        return "nothing told, nothing is written"
    if isinstance(read, Unread):
        return f"refused, it {read.why}"
    if what == BACK and isinstance(read.value, Decimal):
        return BACK_LEVELS[int(read.value)]
    return full_date(read.value) if isinstance(read.value, date) else said(read.value)
