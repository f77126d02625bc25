"""A file read, its columns understood, every row judged: what would be written, before anything is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from armrise.store.database.place import Store, recalled
from armrise.store.database.reading import no_collecting
from armrise.store.entries.build import is_code
from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.cases import CaseRows, put_together
from armrise.store.exchange.sheets.files.csv_file import read_csv
from armrise.store.exchange.sheets.files.layout import filled, key_of, laid_out
from armrise.store.exchange.sheets.files.table import SheetRefused, Table, text_of
from armrise.store.exchange.sheets.files.workbook import is_workbook, read_workbook
from armrise.store.exchange.sheets.mapping import REMEMBERED, Map, columns_of, faults_of, remembered_map
from armrise.store.exchange.sheets.propose import proposed
from armrise.store.exchange.sheets.row import CHANGED, KNOWN, LEFT, REFUSED, TAKEN, Given, Row
from armrise.store.exchange.sheets.rows import Sheet, read_rows
from armrise.store.record.bounded import MB, read_bounded
from armrise.store.record.visible import visible

if TYPE_CHECKING:
    from armrise.store.database.driver import Connection
    from armrise.store.rules.pathway import Rules

LARGEST = 100 * MB
STATUSES = (TAKEN, CHANGED, KNOWN, LEFT, REFUSED)
Tell = Callable[[str, int, int], None]


def _silent(what: str, done: int, of: int) -> None:
    pass


@dataclass
class File:
    """A file with its sheets; ``notes`` is what there is to say of it, each a sentence."""

    name: str
    tables: list[Table]
    notes: list[str] = field(default_factory=list[str])


def read_file(path: Path) -> File:
    """The sheets of a CSV file or a workbook. Raises :class:`SheetRefused`."""
    called = visible(path.name)
    try:
        if path.is_dir():
            raise SheetRefused(f"{called} is a folder: give a CSV or XLSX file")
        content = read_bounded(path, LARGEST, piped=True)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise SheetRefused(f"{called} cannot be read ({why}): check the path") from None
    return parse(content, path.name)


def parse(content: bytes, name: str) -> File:
    """The sheets of a file's content; ``name`` is how it is called. Raises :class:`SheetRefused`."""
    called = visible(name)
    if not content.strip():
        raise SheetRefused(f"{called} is empty")
    if is_workbook(content):
        tables, notes = read_workbook(content, called)
        for table in tables:
            filled(table)
        return File(name, tables, notes)
    table = read_csv(content, Path(name).stem, called)
    return File(name, [table], table.notes)


@dataclass
class Understood:
    """The sheets of a file that have headings, with what their columns mean."""

    file: File
    sheets: list[Sheet]
    notes: list[str]
    kept: Map

    @property
    def faults(self) -> list[str]:
        """What keeps a sheet from being read, each a sentence."""
        found: list[str] = []
        for sheet in self.sheets:
            where = f'Sheet "{sheet.table.name}": ' if len(self.sheets) > 1 else ""
            found += [f"{where}{fault}" for fault in faults_of(sheet.columns, sheet.always)]
        return found


def understood(file: File, said: Map, kept: Map, codes: Sequence[str] = ()) -> Understood:
    """What the columns of a file mean: as told in ``said``, as ``kept`` from the last time, as proposed.

    ``codes`` are those of the store: a sheet that is called like one is a sheet of that case.
    """
    made = Understood(file, [], list(file.notes), kept)

    def tells(heading: str) -> bool:
        by_itself = proposed(heading)
        known = key_of(heading) in said.columns or key_of(heading) in kept.columns
        return known or by_itself.meaning is not None or by_itself.personal

    for table in file.tables:
        layout = laid_out(table, tells)
        if layout is None:
            made.notes.append(f'Sheet "{visible(table.name)}" has no line of headings: left out.')
        else:
            columns = columns_of(layout, said, kept)
            told = {one.meaning.name for one in columns if one.used and one.meaning}
            always = {name: value for name, value in said.always.items() if name not in told}
            made.sheets.append(Sheet(table, layout, columns, always))
    _leave_idle_out(made)
    _name_by_sheet(made, codes)
    return made


def _leave_idle_out(made: Understood) -> None:
    """A sheet beside the lists, of which nothing is understood, holds nothing back."""
    idle = [one for one in made.sheets if not any(column.used for column in one.columns)]
    if len(idle) < len(made.sheets):
        made.notes += [
            f'Sheet "{visible(one.table.name)}" has no column with a meaning: left out.' for one in idle
        ]
        made.sheets = [one for one in made.sheets if one not in idle]


def _name_by_sheet(made: Understood, codes: Sequence[str]) -> None:
    """A sheet without codes that is called like a case, of the store or of another sheet, is about it."""
    places = [(sheet, _place_of_code(sheet)) for sheet in made.sheets]
    without = [sheet for sheet, at in places if at is None]
    if not without:
        return
    names = {code.casefold(): code for code in codes}
    for sheet, at in places:
        for row in sheet.table.rows[sheet.layout.first :] if at is not None else ():
            if at is not None and at < len(row) and is_code(code := text_of(row[at])):
                names.setdefault(code.casefold(), code)
    for sheet in without:
        code = names.get(text_of(sheet.table.name).casefold())
        if code is not None and m.CODE not in sheet.always:
            sheet.always = {**sheet.always, m.CODE: code}
            name = visible(sheet.table.name)
            made.notes.append(f'Sheet "{name}" is called like a case: every row of it is about that case.')


def _place_of_code(sheet: Sheet) -> int | None:
    return next((one.index for one in sheet.columns if one.meaning and one.meaning.name == m.CODE), None)


@dataclass
class Plan:
    """Every row with what becomes of it, and the cases that would be written."""

    understood: Understood
    rows: list[Row]
    cases: list[CaseRows]
    newest: tuple[int, int] = (0, 0)
    """The highest id of case and entry when it was made: what came since may change it."""

    @property
    def counts(self) -> Mapping[str, int]:
        """How many rows there are of each status."""
        counted = Counter(row.status for row in self.rows)
        return {status: counted[status] for status in STATUSES}

    @property
    def new_cases(self) -> int:
        """How many cases would be registered."""
        return sum(one.is_new for one in self.cases)

    @property
    def entries(self) -> int:
        """How many entries would be written."""
        return sum(len(one.new) for one in self.cases)

    def of(self, status: str) -> list[Row]:
        """The rows of a status, as they stand in the file."""
        return [row for row in self.rows if row.status == status]


def kept_map(store: Store) -> Map:
    """What the store remembers of headings."""
    with store.reading() as connection:
        return remembered_map(recalled(connection, REMEMBERED).get(REMEMBERED, ""))


def planned(
    store: Store,
    about: Understood,
    rules: Rules,
    now: datetime,
    author: str,
    tell: Tell = _silent,
) -> Plan:
    """What the rows of a file would write into the store at the instant ``now``; nothing is written.

    Raises :class:`SheetRefused` where the columns do not say enough; ``tell`` may stop it by raising.
    """
    if not about.sheets:
        raise SheetRefused(f"{visible(about.file.name)} holds no list with headings that are understood")
    if about.faults:
        raise SheetRefused(" ".join(about.faults).rstrip("."))
    instant = store.local(now)
    given = Given(rules, store.today(instant), instant, author)
    rows: list[Row] = []
    with store.reading() as connection, no_collecting():
        for sheet in about.sheets:
            rows += read_rows(sheet, given, lambda done, of: tell("rows read", done, of))
        newest = newest_ids(connection)
        cases = put_together(rows, given, connection, lambda done, of: tell("cases judged", done, of))
    return Plan(about, rows, cases, newest)


def newest_ids(connection: Connection) -> tuple[int, int]:
    """The highest id of a case and of an entry."""
    sql = "SELECT (SELECT max(id) FROM cases), (SELECT max(id) FROM entry)"
    cases, entries = connection.execute(sql).fetchone()
    return cases or 0, entries or 0
