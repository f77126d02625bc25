"""Tables as a workbook (XLSX), a sheet a table. Its library is an extra, imported when a workbook is made.

No cell is ever a formula or a link: each is written by the type of its value, a text as a text. One that
begins like a formula is marked as quoted besides, so that it stays a text when somebody edits the cell.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from armrise.store.database.place import StoreError
from armrise.store.exchange.tables.csv_text import guarded
from armrise.store.exchange.tables.table import Table, as_text, is_number

MARK = "armrise"
"""The property of a workbook that says who wrote it, and its form and version."""
WITHOUT = "a workbook (XLSX) needs one extra library: pip install 'armrise[sheets]', then write it again"
_PROPERTIES = "docProps/custom.xml"
_LONGEST_NAME, _LONGEST_CELL = 31, 32_767  # of the file format
_FORBIDDEN = str.maketrans(dict.fromkeys("[]:*?/\\", " "))
_WIDEST = 60


def as_workbook(tables: Sequence[Table], made: str, on: date) -> bytes:
    """The file. ``made`` is its form and version, ``on`` the clinic date; the same tables give the same file.

    Raises :class:`~armrise.store.database.place.StoreError` where the library is not there.
    """
    held = BytesIO()
    with _empty(held) as workbook:
        workbook.set_properties({"created": datetime.combine(on, time())})
        workbook.set_custom_property(MARK, made, "text")
        looks = _Looks(workbook)
        for table, name in zip(tables, sheet_names(tables), strict=True):
            _sheet(workbook.add_worksheet(name), table, looks)
    return held.getvalue()


def _empty(held: BytesIO) -> Any:
    """A workbook without types, as its library has none. Made in memory: no draft lies in a shared folder."""
    try:
        from xlsxwriter import Workbook  # pyright: ignore[reportMissingTypeStubs]
    except ImportError:
        raise StoreError(WITHOUT) from None
    texts = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    return Workbook(held, {"in_memory": True, **texts})


def is_ours(path: Path) -> bool:
    """True for a workbook that armrise wrote, so that another may take its place."""
    try:
        with ZipFile(path) as held:
            about = held.getinfo(_PROPERTIES)
            return about.file_size < 10_000 and f'name="{MARK}"'.encode() in held.read(about)
    except (BadZipFile, zlib.error, KeyError, OSError, EOFError, RuntimeError, ValueError):
        return False


def sheet_names(tables: Sequence[Table]) -> list[str]:
    """A name for each sheet: as long as one may be, and none twice, whatever the case of its letters."""
    names: list[str] = []
    taken: set[str] = set()
    for table in tables:
        whole = table.name.translate(_FORBIDDEN).strip("' ")
        name, nth = whole[:_LONGEST_NAME], 1
        while name.casefold() in taken:
            nth += 1
            name = f"{whole[: _LONGEST_NAME - 1 - len(str(nth))]} {nth}"
        taken.add(name.casefold())
        names.append(name)
    return names


class _Looks:
    """The looks of cells: a head, a date, lines that are broken, and a text that begins like a formula."""

    def __init__(self, workbook: Any) -> None:
        top: dict[str, Any] = {"valign": "top"}
        self.head = workbook.add_format({"bold": True, "bottom": 1, **top})
        self.day = workbook.add_format({"num_format": "yyyy-mm-dd", "align": "left", **top})
        self.bare = workbook.add_format(top)
        self.text = workbook.add_format({"text_wrap": True, **top})
        self.quoted = workbook.add_format({"text_wrap": True, "quote_prefix": True, **top})


def _sheet(sheet: Any, table: Table, looks: _Looks) -> None:
    widths = [len(name) for name in table.head]
    for at, name in enumerate(table.head):
        sheet.write_string(0, at, name, looks.head)
    last = 0
    for last, row in enumerate(table.rows, 1):
        for at, value in enumerate(row):
            widths[at] = max(widths[at], len(as_text(value)))
            _cell(sheet, last, at, value, looks)
    for at, width in enumerate(widths):
        sheet.set_column(at, at, min(width, _WIDEST) + 2)
    sheet.freeze_panes(1, 0)
    if last:
        sheet.autofilter(0, 0, last, len(widths) - 1)
    sheet.set_landscape()
    sheet.set_paper(9)  # A4
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _cell(sheet: Any, row: int, column: int, value: Any, looks: _Looks) -> None:
    if is_number(value):
        sheet.write_number(row, column, value, looks.bare)
    elif isinstance(value, date) and not isinstance(value, datetime):
        sheet.write_datetime(row, column, value, looks.day)
    elif text := as_text(value):
        look = looks.text if guarded(text) == text else looks.quoted
        sheet.write_string(row, column, _fitting(text), look)


def _fitting(text: str) -> str:
    """A text no longer than a cell may hold; one that is cut says so."""
    more = " ... (cut)"
    return text if len(text) <= _LONGEST_CELL else text[: _LONGEST_CELL - len(more)] + more


def dated(rows: Sequence[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    """Rows of plain data with their ISO dates as dates, so that a spreadsheet sorts and counts them."""
    for row in rows:
        yield tuple(_dated(value) for value in row)


def _dated(value: Any) -> Any:
    if isinstance(value, str) and len(value) == 10 and value[4:5] == "-" == value[7:8]:
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return value
