"""Workbooks of a spreadsheet program, read by a library that is an extra of its own."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from datetime import datetime, time
from typing import TYPE_CHECKING, Any, cast

from armrise.store.exchange.sheets.files.table import (
    MOST_COLUMNS,
    MOST_ROWS,
    Cell,
    Merged,
    SheetRefused,
    Table,
)

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

BEGINNINGS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
"""How the files of workbooks begin."""
LARGEST_INSIDE = 400 * 2**20
"""More bytes than this in a workbook once it is unpacked are no clinic's list."""
_FAR = re.compile(
    rb'[ "](?:r|ref)="(?:[A-Z]{1,3})?(?:2[5-9]\d{4}|[3-9]\d{5}|\d{7,})"|<c r="(?:[A-Z]{3}|[P-Z][A-Z])\d'
)
"""A row or a cell beyond what is read. The reader makes room for everything up to the farthest cell: one that
stands in the last corner would ask for more memory than there is."""
_NO_RESULT = re.compile(rb"<c (?:(?! t=)[^>])*><f[^>]*(?:/>|>[^<]*</f>)(?:<v ?/>|<v></v>)?</c>")
"""A formula whose result was not saved: its cell would be read as an empty one."""
_UNCOUNTED = (
    "holds formulas without their results: open it in the spreadsheet program and save it again, or as CSV"
)
_TOO_FAR = (
    f"has a cell beyond {MOST_ROWS:,} rows or {MOST_COLUMNS} columns: take away what stands far below or "
    "beside the list"
)
HOW_TO_INSTALL = "pip install 'armrise[sheets]'"


def is_workbook(content: bytes) -> bool:
    """True for the file of a workbook, whatever it is called."""
    return content.startswith(BEGINNINGS)


def read_workbook(content: bytes, called: str) -> tuple[list[Table], list[str]]:
    """The sheets of a workbook that are shown, and what there is to say of the others.

    Raises :class:`SheetRefused`, also where the library is not installed.
    """
    try:
        import python_calamine as calamine
    except ImportError:
        say = "is a workbook, and what reads one is not installed"
        raise SheetRefused(f"{called} {say}: {HOW_TO_INSTALL}, or save it as CSV") from None
    _refuse_too_large(content, called)
    try:
        with calamine.CalamineWorkbook.from_filelike(io.BytesIO(content)) as book:
            return _sheets(book, called)
    except SheetRefused:
        raise
    except calamine.PasswordError:
        raise SheetRefused(f"{called} is locked by a password: save it without one") from None
    except (calamine.CalamineError, OSError, ValueError, OverflowError) as error:
        raise SheetRefused(f"{called} cannot be read ({_short(error)}): save it again, or as CSV") from None
    except (
        BaseException
    ) as error:  # the library is written in another language, whose panics are no Exception
        if type(error).__name__ != "PanicException":
            raise
        raise SheetRefused(f"{called} cannot be read (it is damaged): save it again, or as CSV") from None


def _short(error: Exception) -> str:
    return " ".join(str(error).split())[:80] or type(error).__name__


def _refuse_too_large(content: bytes, called: str) -> None:
    """A small file can unpack to any size: its own directory says to which."""
    if not content.startswith(b"PK"):
        return
    far = uncounted = False
    try:
        packed = zipfile.ZipFile(io.BytesIO(content))
        inside = sum(one.file_size for one in packed.infolist())
        if inside <= LARGEST_INSIDE:
            names = [name for name in packed.namelist() if name.startswith("xl/worksheets/")]
            texts = [packed.read(name) for name in names]
            far = any(_FAR.search(text) for text in texts)
            uncounted = any(_NO_RESULT.search(text) for text in texts)
    except (zipfile.BadZipFile, zlib.error, ValueError, OSError, NotImplementedError, RuntimeError, EOFError):
        return  # the reader of workbooks says what is wrong with it
    if inside > LARGEST_INSIDE:
        raise SheetRefused(f"{called} unpacks to more than {LARGEST_INSIDE // 2**20} MB: part it")
    if far:
        raise SheetRefused(f"{called} {_TOO_FAR}")
    if uncounted:
        raise SheetRefused(f"{called} {_UNCOUNTED}")


def _sheets(book: CalamineWorkbook, called: str) -> tuple[list[Table], list[str]]:
    tables: list[Table] = []
    notes: list[str] = []
    for about in book.sheets_metadata:
        if str(about.visible) != "SheetVisibleEnum.Visible":
            notes.append(f'Sheet "{about.name}" is hidden in the spreadsheet: it is not read.')
        elif str(about.typ) != "SheetTypeEnum.WorkSheet":
            notes.append(f'Sheet "{about.name}" holds no cells: it is not read.')
        else:
            tables.append(_table(book.get_sheet_by_name(about.name), called))
    return tables, notes


def _table(sheet: CalamineSheet, called: str) -> Table:
    if sheet.total_height > MOST_ROWS or sheet.total_width > MOST_COLUMNS:
        raise SheetRefused(f'{called}: sheet "{sheet.name}" {_TOO_FAR}')
    first, left = sheet.start or (0, 0)
    pad = [""] * left
    rows: list[Any] = [[] for _ in range(first)]
    rows += [pad + [_cell(cell) for cell in row] for row in _rows(sheet)]
    return Table(sheet.name, rows, merged=tuple(_merged(sheet)))


def _rows(sheet: CalamineSheet) -> Iterator[list[Any]]:
    """The rows from the first that holds anything."""
    return iter(sheet.to_python(skip_empty_area=True))


def _merged(sheet: CalamineSheet) -> Iterator[Merged]:
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or ():
        yield Merged(top, left, bottom, right)


def _cell(value: Any) -> Cell:
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, datetime) and value.time() == time():
        return value.date()
    return cast("Cell", value)
