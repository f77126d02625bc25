"""Tables on their way out: one as CSV, several as a workbook, into a file or on the standard output."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.printing import note, put_out
from armrise.tui.command.reading import STANDARD_STREAM

if TYPE_CHECKING:
    from armrise.store.exchange.out.private_file import Mark
    from armrise.store.exchange.tables.table import Table

FORCE_HELP = "Replace a file that armrise did not write; a store never."
XLSX_HELP = "As a workbook (XLSX, needs the extra sheets); - for the standard output."
CSV_HELP = "As CSV (RFC 4180, UTF-8); - for the standard output."
NOT_ENCRYPTED = "Not encrypted: keep it where the store is kept."


def refuse_several(**given: object) -> None:
    """Raise a usage fault where more than one form is asked for."""
    asked = [f"--{name}" for name, value in given.items() if value]
    if len(asked) > 1:
        raise click.UsageError(f"{' and '.join(asked)} exclude each other, give one of them")


def write_csv(path: Path, table: Table, what: str, *, force: bool) -> None:
    """Write a table as CSV, a file with a byte order mark, a pipe without."""
    from armrise.store.exchange.tables.csv_text import BYTE_ORDER_MARK, MARK, as_csv

    text = as_csv(table)
    piped = str(path) == STANDARD_STREAM
    put(path, text if piped else BYTE_ORDER_MARK + text, what, MARK, force=force)


def write_workbook(
    path: Path, tables: Sequence[Table], name: str, on: date, what: str, *, force: bool
) -> None:
    """Write tables as a workbook; ``name`` is its form, ``on`` the clinic date."""
    from armrise.store.exchange.out.formats import format_of
    from armrise.store.exchange.tables.workbook import as_workbook, is_ours

    put(path, as_workbook(tables, format_of(name), on), what, is_ours, force=force)


def put(path: Path, made: str | bytes, what: str, mark: Mark, *, force: bool | None = None) -> None:
    """Write a file and say so, or put it out on the standard output. Raises a store error."""
    from armrise.store.exchange.out.private_file import write_private
    from armrise.store.record.visible import visible

    if str(path) == STANDARD_STREAM:
        put_out(made, f"the {what}")
        return
    write_private(path, made, what, mark, force)
    note(f"{what[0].upper()}{what[1:]} written to {visible(str(path))}. {NOT_ENCRYPTED}")
