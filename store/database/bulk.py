"""Writing many entries at once over the plain driver: a whole caseload without importing SQLModel."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import count

from armrise.store.database.columns import HEAD, ITEM_TABLE, columns, item_columns, table_name
from armrise.store.database.driver import Connection
from armrise.store.database.instants import micros
from armrise.store.database.rows import Row, draft_row_maker, item_row_maker, row_maker
from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session
from armrise.store.record.light import NamedTuple

_CASE = (
    "code",
    "person",
    "side",
    "pathway",
    "dominance",
    "age_band",
    "clinician",
    "referrer",
    "registered_on",
)


def insert_cases(connection: Connection, first: int, heads: Iterable[CaseHead]) -> None:
    """Write case heads with ids from ``first`` on."""
    rows = [
        (number, *(getattr(head, name) for name in _CASE[:-1]), head.registered_on.isoformat())
        for number, head in enumerate(heads, first)
    ]
    connection.executemany(_insert("cases", ("id", *_CASE)), rows)


def insert_entries(
    connection: Connection, case_id: int, entries: Sequence[Entry], *, batch: int | Mapping[int, int]
) -> None:
    """Write entries that have ids; ``batch`` is their action, or by the id of each its own."""
    insert_of_cases(connection, [(case_id, entries)], batch)


AT_A_TIME = 20_000
"""So many entries are made rows and written, then the next: a large file is never there twice as a whole."""

OfCase = tuple[int, Sequence[Entry]]
"""The id of a case, and entries of it that have ids."""


def insert_of_cases(connection: Connection, cases: Iterable[OfCase], batch: int | Mapping[int, int]) -> None:
    """Write entries of many cases, a table at a time; ``batch`` as for :func:`insert_entries`."""
    for some in _some(cases):
        _insert_rows(connection, _rows_of(some, batch))


class Stamp(NamedTuple):
    """What recording states of a draft: the instant (aware), its clinic date, and who wrote it."""

    at: datetime
    on: date
    author: str
    """Of a draft that names no author."""


def insert_drafts(connection: Connection, cases: Iterable[OfCase], first: int, stamp: Stamp) -> int:
    """Write drafts of many cases with ids from ``first`` on; how many. Those of one case are one action."""
    numbers = count(first)
    for some in _some(cases):
        _insert_rows(connection, _rows_of_drafts(some, numbers, stamp))
    return next(numbers) - first


def _some(cases: Iterable[OfCase]) -> Iterator[list[OfCase]]:
    """Some cases at a time, each whole: what corrects an entry stands beside it."""
    some: list[OfCase] = []
    held = 0
    for case in cases:
        some.append(case)
        held += len(case[1])
        if held >= AT_A_TIME:
            yield some
            some, held = [], 0
    yield some


_Made = tuple[Entry, int, Row]
"""An entry, the number of its action, and its row."""


def _rows_of(cases: Iterable[OfCase], batch: int | Mapping[int, int]) -> Iterator[_Made]:
    for case_id, entries in cases:
        for entry in entries:
            action = batch if isinstance(batch, int) else batch[entry.id]
            yield entry, action, row_maker(entry.KIND)(entry, case_id)


def _rows_of_drafts(cases: Iterable[OfCase], numbers: Iterator[int], stamp: Stamp) -> Iterator[_Made]:
    at, day = micros(stamp.at), stamp.on.isoformat()
    offset = (stamp.at.utcoffset() or timedelta(0)) // timedelta(minutes=1)
    for case_id, drafts in cases:
        action = 0
        for draft, number in zip(drafts, numbers):  # noqa: B905  # the numbers have no end
            action = action or number
            row = draft_row_maker(draft.KIND)(draft, case_id, number, at, offset, day, stamp.author)
            yield draft, action, row


def _insert_rows(connection: Connection, made: Iterable[_Made]) -> None:
    """The sequence first, because every other row refers to it, and sessions before their exercises."""
    lines: list[Row] = []
    of_kind: dict[str, list[Row]] = defaultdict(list)
    items: list[Row] = []
    of_item = item_row_maker()
    for entry, action, row in made:
        kind = entry.KIND
        of_kind[kind].append(row)
        lines.append((row[_ID], row[_CASE_ID], kind, action, row[_RECORDED]))
        if isinstance(entry, Session) and entry.items:
            items += [of_item(item, row[_ID], place) for place, item in enumerate(entry.items)]
    _put(connection, "entry", ("id", "case_id", "kind", "batch", "recorded_at_utc"), lines)
    for kind, rows in of_kind.items():
        _put(connection, table_name(kind), [column.name for column in columns(kind)], rows)
    _put(connection, ITEM_TABLE, [column.name for column in item_columns()], items)


_ID, _CASE_ID, _RECORDED = (
    next(place for place, column in enumerate(HEAD) if column.name == name)
    for name in ("id", "case_id", "recorded_at_utc")
)


def _put(connection: Connection, table: str, names: Sequence[str], rows: Sequence[Row]) -> None:
    if rows:
        connection.executemany(_insert(table, names), rows)


def _insert(table: str, names: Sequence[str]) -> str:
    quoted = ", ".join(f'"{name}"' for name in names)
    return f'INSERT INTO "{table}" ({quoted}) VALUES ({", ".join("?" * len(names))})'
