"""Dates of a column: ISO, with the month in words, of the spreadsheet itself, or with day and month in doubt.

03/04/2026 is a day in March or in April. A column settles it where one of its dates has a day above 12, or
whoever takes the file says it; else every date in doubt is refused. The machine's locale counts for nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from armrise.store.exchange.sheets.files.table import Cell, squeezed
from armrise.store.exchange.sheets.reading.cells import ABSENT, NOT_AVAILABLE, Reading, Told, Unread
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date

DAY_FIRST, MONTH_FIRST = "day first", "month first"
ORDERS = (DAY_FIRST, MONTH_FIRST)

_CLOCK = r"(?:[T ,]+\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?(?: ?[ap]m)?(?:Z|[+-]\d\d:?\d\d)?)?"
_WEEKDAY = r"(?:(mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,? +)?"
_ISO = re.compile(rf"{_WEEKDAY}(\d{{4}})([-/.])(\d{{1,2}})\3(\d{{1,2}}){_CLOCK}", re.I | re.ASCII)
_BASIC = re.compile(r"(?:19|20)\d{6}", re.ASCII)
_TRIPLE = re.compile(rf"{_WEEKDAY}(\d{{1,2}})([-/.])(\d{{1,2}})\3(\d{{4}}|\d{{2}}){_CLOCK}", re.I | re.ASCII)
_NTH = r"(?:st|nd|rd|th)?"
_MONTH = r"(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)([a-z]*)\.?"
_WORDED = re.compile(
    rf"{_WEEKDAY}(\d{{1,2}}){_NTH}[ ./-]*(?:of )?{_MONTH}[ ,./-]*(\d{{4}}|\d{{2}}){_CLOCK}", re.I
)
_MONTH_AHEAD = re.compile(rf"{_WEEKDAY}{_MONTH} *(\d{{1,2}}){_NTH},? *(\d{{4}}){_CLOCK}", re.I)
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
FULL = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Order(NamedTuple):
    """Which of two numbers is the day in a column, and why that is known; ``first`` empty: it is not."""

    first: str = ""
    why: str = ""
    said: bool = False
    """Somebody said it: then years of two digits are read too, which no column settles."""
    mixed: bool = False
    """Dates of the spreadsheet stand among texts: it may have swapped day and month where it made dates."""


def settled(cells: Iterable[tuple[int, Cell]], said: str = "") -> Order:
    """What settles the dates of a column, whose cells come with their row; ``said`` is what somebody said."""
    day_by = month_by = None
    text_at = typed = False
    seen = set[Cell]()
    for row, cell in cells:
        if cell in seen:
            continue
        seen.add(cell)
        if isinstance(cell, date):
            typed = typed or _could_be_swapped(cell)
        elif isinstance(cell, str) and cell and (match := _TRIPLE.fullmatch(squeezed(cell))):
            a, b = int(match[2]), int(match[4])
            text_at = True
            # a first number above 12 may be a year of two digits as well, where the last is one
            if a > 12 >= b > 0 and len(match[5]) == 4:
                day_by = day_by or (row, squeezed(cell))
            elif b > 12 >= a > 0:
                month_by = month_by or (row, squeezed(cell))
    mixed = typed and text_at
    if said:
        return Order(said, "as told", said=True, mixed=mixed)
    if day_by and month_by:
        return Order("", f"row {day_by[0]} has the day first, row {month_by[0]} the month", mixed=mixed)
    if day_by or month_by:
        row, text = day_by or month_by or (0, "")
        return Order(DAY_FIRST if day_by else MONTH_FIRST, f"row {row} has {text}", mixed=mixed)
    return Order("", "no date of the column has a day above 12" if text_at else "", mixed=mixed)


def _could_be_swapped(day: date) -> bool:
    return day.day <= 12 and day.day != day.month


class Days(NamedTuple):
    """How the dates of a column are read on the clinic date ``today``."""

    order: Order
    today: date
    future: bool = False
    """True where a date may lie ahead."""

    def read(self, cell: Cell) -> Reading:
        """The date of a cell, nothing, or why it is none."""
        if isinstance(cell, datetime):
            return self._spreadsheet(cell.date(), differs=cell.time() != time())
        if isinstance(cell, date):
            return self._spreadsheet(cell, differs=False)
        if isinstance(cell, (int, float)):
            return Unread("is a number and no date: have the spreadsheet show the column as dates")
        if isinstance(cell, (time, timedelta)):
            return Unread("is a time of day and no date")
        text = squeezed(cell)
        if text in ("", "-", "–", "—", "--", ".", "?"):
            return None
        if text.casefold() in NOT_AVAILABLE or text.casefold() in ABSENT:
            return Told(None, True) if text.casefold() != "#n/a" else Unread("is an error of the spreadsheet")
        return self._text(text)

    def _spreadsheet(self, day: date, *, differs: bool) -> Reading:
        if self.order.mixed and _could_be_swapped(day):
            return Unread(
                "is a date of the spreadsheet among dates that are texts: it may have swapped day and month, "
                "make all of the column dates or all of it text"
            )
        return self._within(day, differs=differs)

    def _text(self, text: str) -> Reading:
        if match := _ISO.fullmatch(text):
            return self._day(int(match[2]), int(match[4]), int(match[5]), match[1])
        if _BASIC.fullmatch(text):
            return self._day(int(text[:4]), int(text[4:6]), int(text[6:]), None)
        if match := _TRIPLE.fullmatch(text):
            return self._triple(match)
        if match := _MONTH_AHEAD.fullmatch(text):
            return self._worded(match[1], match[4], match[2] + match[3], match[5])
        if match := _WORDED.fullmatch(text):
            return self._worded(match[1], match[2], match[3] + match[4], match[5])
        return Unread("is no date, allowed is one such as 2026-03-04, 4 Mar 2026 or 04/03/2026")

    def _worded(self, weekday: str | None, day: str, month: str, year: str) -> Reading:
        word = month.casefold()
        if word not in MONTHS and word not in FULL and word != "sept":
            return Unread("is no date, its month is no month")
        if len(year) == 2 and not self.order.said:
            return Unread("has a year of two digits: write four, or say that the day comes first")
        return self._day(_year(year), MONTHS.index(word[:3]) + 1, int(day), weekday)

    def _triple(self, match: re.Match[str]) -> Reading:
        a, b, year = int(match[2]), int(match[4]), match[5]
        first = self.order.first
        if len(year) == 2 and not self.order.said:
            return Unread(
                "has a year of two digits: write four, or say whether the day or the month comes first"
            )
        if not first and a != b:
            if self.order.why.startswith("row ") and max(a, b) <= 12:
                return Unread(f"may be either: {self.order.why}; say which comes first")
            if max(a, b) <= 12:
                return Unread(
                    "may be either: day first or month first is not said, and no date of the column shows it"
                )
            first = DAY_FIRST if a > 12 else MONTH_FIRST
        day, month = (b, a) if first == MONTH_FIRST else (a, b)
        if month > 12 >= day:
            return Unread(f"is no date with the {first.split()[0]} first, as the column has it")
        return self._day(_year(year), month, day, match[1])

    def _day(self, year: int, month: int, day: int, weekday: str | None) -> Reading:
        try:
            found = date(year, month, day)
        except ValueError:
            return Unread("is no day of the calendar")
        if weekday and WEEKDAYS[found.weekday()] != weekday.casefold()[:3]:
            return Unread(f"was no {weekday.capitalize()}: {full_date(found)}")
        return self._within(found, differs=False)

    def _within(self, found: date, *, differs: bool) -> Reading:
        if not 1900 <= found.year <= 2199:
            return Unread("is outside the years 1900 to 2199")
        if found > self.today and not self.future:
            return Unread(f"lies ahead of the clinic date, {full_date(self.today)}")
        return Told(found, differs)


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)
