"""Text files of rows: which letters, which sign parts the cells, and what slipped."""

from __future__ import annotations

import codecs
import contextlib
import csv
import io
from collections import Counter
from collections.abc import Sequence

from armrise.store.exchange.sheets.files.table import (
    LONGEST_TEXT,
    MOST_COLUMNS,
    MOST_ROWS,
    Cell,
    SheetRefused,
    Table,
    squeezed,
)

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
SAMPLE = 200
"""Lines that are looked at to find the sign that parts the cells."""
LONGEST_CELL = 100_000
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)


def decoded(content: bytes, name: str) -> tuple[str, str]:
    """The text of a file, and which letters it is written in. Raises :class:`SheetRefused`."""
    encoding, called = next(((e, c) for mark, e, c in _MARKS if content.startswith(mark)), ("", ""))
    if not encoding and b"\0" in content[:400]:
        evens = content[0:400:2].count(0)
        encoding, called = ("utf-16-be" if evens > content[1:400:2].count(0) else "utf-16-le"), "UTF-16"
    tried = [(encoding, called)] if encoding else [("utf-8", "UTF-8"), ("cp1252", "Windows-1252")]
    for encoding, called in tried:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        return text, called
    say = "is neither a workbook nor text in UTF-8, UTF-16 or Windows-1252: save it as CSV or XLSX again"
    raise SheetRefused(f"{name} {say}")


def parted_by(text: str) -> str:
    """The sign between the cells: the one by which most lines have the same, and most, cells."""
    first = text[:20].split("\n", 1)[0].strip().casefold()
    if first.startswith("sep=") and len(first) == 5 and first[4] in DELIMITERS:
        return first[4]
    best, found = (0, 0), ","
    for sign in DELIMITERS:
        widths = Counter(len(row) for row in _some(text, sign) if any(row))
        widths.pop(1, None)
        if widths:
            width, lines = max(widths.items(), key=lambda item: (item[1], item[0]))
            if (lines, width) > best:
                best, found = (lines, width), sign
    return found


def _some(text: str, sign: str) -> list[list[str]]:
    end = 0
    for _ in range(SAMPLE):
        end = text.find("\n", end) + 1
        if not end:
            break
    rows: list[list[str]] = []
    with contextlib.suppress(csv.Error):  # one open at the end of the sample: the rows before tell enough
        rows.extend(csv.reader(io.StringIO(text[:end] if end else text, newline=""), delimiter=sign))
    return rows


def read_csv(content: bytes, name: str, called: str) -> Table:
    """The one sheet of a text file; ``called`` is its name. Raises :class:`SheetRefused`."""
    text, letters = decoded(content, called)
    sign = parted_by(text)
    csv.field_size_limit(LONGEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, strict=True)
    rows: list[Sequence[Cell]] = []
    numbers: list[int] = []
    line = 1
    try:
        for row in reader:
            if not (len(row) == 1 and line == 1 and row[0].casefold().startswith("sep=")):
                rows.append(row)
                numbers.append(line)
            line = reader.line_num + 1
            if len(row) > MOST_COLUMNS or len(rows) > MOST_ROWS:
                raise SheetRefused(
                    f"{called} has more than {MOST_ROWS:,} rows or {MOST_COLUMNS} columns: part it"
                )
    except csv.Error as error:
        why = "a quotation mark is not closed" if "end of data" in str(error) else str(error)
        raise SheetRefused(
            f"{called} cannot be read from line {line} on ({why}): correct the line, or save it again"
        ) from None
    notes = [] if letters == "UTF-8" else [f"Its letters are {letters}."]
    return Table(name, rows, numbers=numbers, strict_width=True, notes=[*notes, _parted(sign)])


def _parted(sign: str) -> str:
    return f"Its cells are parted by a {DELIMITERS[sign]}."


def swallowed(cell: str, columns: int) -> bool:
    """True for a cell that holds whole lines of the file: a quotation mark before it was not closed."""
    return (
        any(
            max(line.count(sign) for sign in DELIMITERS) >= max(1, columns - 1)
            for line in cell.split("\n")[1:]
            if len(squeezed(line)) > 1
        )
        or len(cell) > 50 * LONGEST_TEXT
    )
