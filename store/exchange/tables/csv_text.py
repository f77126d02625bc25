"""A table as CSV by RFC 4180: comma, CRLF, a head, quotation marks where they are needed.

A spreadsheet reads a cell that begins with = + - or @ as a formula, whatever quotation marks stand around it,
and a formula can send the table away. So a text that begins so gets an apostrophe before it, as the page "CSV
Injection" of OWASP (owasp.org/www-community/attacks/CSV_Injection) advises, with the tabulator, the carriage
return and the wide forms of the four signs. The same page says that a separator inside a text may begin a
cell: many spreadsheets of Europe separate at the semicolon, so what follows one is looked at likewise.
Numbers are left as they are: -20 stays a number. Whoever reads a text back takes one apostrophe off
where what follows it begins so.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from io import StringIO

from armrise.store.exchange.tables.table import FIRST, Row, Table, as_text

BYTE_ORDER_MARK = "\ufeff"
"""Begins a file, and no pipe: without it the usual spreadsheets take UTF-8 for an older code page, and é and
° become two wrong letters each; whatever else reads CSV as UTF-8 knows the mark ("utf-8-sig")."""
MARK = f"{BYTE_ORDER_MARK}{FIRST},"
"""How every file begins: one that begins otherwise is never replaced."""
_SIGNS = "=+\\-@\t\r\uff1d\uff0b\uff0d\uff20"
_DANGER = re.compile(rf"""(^|;)(?=['"\s]*[{_SIGNS}])""")


def guarded(text: str) -> str:
    """A text as it may stand in a cell: neither it nor what follows a semicolon is taken for a formula."""
    return _DANGER.sub(r"\1'", text)


def as_csv(table: Table) -> str:
    """The table as text, without a byte order mark."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.head)
    writer.writerows([*_cells(row)] for row in table.rows)
    return text.getvalue()


def _cells(row: Row) -> Iterator[str]:
    for value in row:
        text = as_text(value)
        yield guarded(text) if isinstance(value, (str, tuple)) else text
