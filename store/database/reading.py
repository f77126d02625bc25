"""The statements that read entries: plain portable SQL over the database driver.

Cost follows the cases asked for. Every statement seeks by (case, date) in an index; none walks a table, and
none ranks rows with a window function, which would visit every check-in ever recorded (measured: 30 times
slower at 500 cases of 200 check-ins, 300 times at 2,000).
"""

from __future__ import annotations

import gc
from collections import defaultdict
from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from functools import cache, partial
from itertools import islice
from typing import Any

from armrise.store.database.builder import add_items, entry_builder
from armrise.store.database.columns import ITEM_TABLE, columns, item_columns, table_name
from armrise.store.database.driver import Connection
from armrise.store.database.instants import EPOCH, FILES, MICROSECOND, known_by
from armrise.store.database.unreadable import read_rows
from armrise.store.record.case import Came, CaseRecord
from armrise.store.record.known import withdrawn_ids

Found = dict[int, list[Any]]
"""Entries of one kind by the id of their case."""

Span = tuple[int, str, str]
"""A case and the dates of it that are wanted: from, and up to but not including."""

WINDOWED = ("session", "morning")
"""The kinds that come daily, and are read for a window of dates."""

WINDOW_DAYS = 98
_ALWAYS: tuple[str, str] = ("", "9999-12-31")
_CHUNK = 5000


def windows(
    starts: Sequence[date], today: date, whole_until: date = date.min
) -> tuple[list[tuple[str, str]], date | None]:
    """The dates to read, given the first day of each episode and stage whose beginning counts, oldest first.

    Everything before ``whole_until`` is read. Also the date from which nothing is missing, None when nothing
    is missing at all.
    """
    early = timedelta(days=CaseRecord.EARLY_DAYS)
    before = timedelta(days=CaseRecord.MARGIN_DAYS)
    wanted = [((start - before).isoformat(), (start + early).isoformat()) for start in sorted(starts)]
    wanted.append(((today - timedelta(days=WINDOW_DAYS)).isoformat(), _ALWAYS[1]))
    merged: list[tuple[str, str]] = [(_ALWAYS[0], max(wanted[0][1], whole_until.isoformat()))]
    for low, high in sorted(wanted[1:]):
        if low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged, None if len(merged) == 1 else date.fromisoformat(merged[-1][0])


def as_dates(span: tuple[str, str]) -> tuple[date, date]:
    """A span of ISO dates as dates, from the beginning of time where it has none."""
    low, high = span
    return (date.fromisoformat(low) if low else date.min, date.fromisoformat(high))


def always(case_id: int) -> Span:
    """The span of a case's whole history."""
    return (case_id, *_ALWAYS)


def files(connection: Connection, known: int) -> tuple[Came, ...]:
    """What files brought up to ``known`` (microseconds UTC), save what filled the empty store; in order."""
    sql = (
        f"SELECT f.number, before.entries, f.entries, f.at_utc FROM {FILES} "
        "AND before.cases > 0 AND f.entries > before.entries AND f.at_utc <= ? ORDER BY f.number"
    )

    def taken(rows: Iterable[Any]) -> tuple[Came, ...]:
        return tuple(Came(before + 1, last + 0, EPOCH + at * MICROSECOND) for _, before, last, at in rows)

    return read_rows(connection, "link", sql, (known,), taken)


def entries_of(connection: Connection, kind: str, ids: Sequence[int], known: int) -> Found:
    """Every entry of a kind of these cases recorded up to ``known`` (microseconds UTC), by (date, id)."""
    found: Found = defaultdict(list)
    for some in chunks(ids):
        marks = ", ".join("?" * len(some))
        sql = (
            f"{_select(kind)} WHERE e.case_id IN ({marks}) AND {known_by('e', known)} "
            "ORDER BY e.case_id, e.happened_on, e.id"
        )
        _built(connection, kind, sql, (*some, known), found, {})
    return found


def entries_by_id(connection: Connection, kind: str, ids: Sequence[int]) -> list[Any]:
    """The entries of a kind with these ids, sessions without their exercises."""
    found: Found = defaultdict(list)
    for some in chunks(ids):
        sql = f"{_select(kind)} WHERE e.id IN ({', '.join('?' * len(some))})"
        _built(connection, kind, sql, some, found, {})
    return [entry for entries in found.values() for entry in entries]


def entries_within(connection: Connection, kind: str, spans: Sequence[Span], known: int) -> Found:
    """The entries of a windowed kind that lie in the spans, by (date, id), sessions with their exercises."""
    found: Found = defaultdict(list)
    for some in chunks(spans):
        values = [part for span in some for part in span]
        items: Found = defaultdict(list)
        if kind == "session":
            read_rows(connection, ITEM_TABLE, _items_sql(len(some)), values, partial(add_items, into=items))
        sql = f"{_within(len(some))} {_select(kind, 'span CROSS JOIN')} {_IN_SPAN} AND {known_by('e', known)}"
        _built(connection, kind, sql, (*values, known), found, items)
    for entries in found.values():
        entries.sort(key=_order)
    return found


def _built(
    connection: Connection, kind: str, sql: str, values: Sequence[Any], found: Found, items: Found
) -> None:
    read_rows(
        connection, table_name(kind), sql, values, partial(entry_builder(kind), into=found, items=items)
    )


@contextmanager
def no_collecting() -> Generator[None, None, None]:
    """Keep the garbage collector still: entries form no cycles, and searching them costs a third more."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def withdrawn(connection: Connection, ids: Sequence[int], known: int) -> dict[int, set[int]]:
    """The ids of corrected entries by case, as known then. A correction may itself have been withdrawn."""
    gone: dict[int, set[int]] = {}
    for case_id, corrections in entries_of(connection, "correction", ids, known).items():
        gone[case_id] = withdrawn_ids(corrections)
    return gone


def without(found: Found, gone: dict[int, set[int]]) -> Found:
    """The entries that stand: those of ``found`` that nobody has withdrawn."""
    for case_id, ids in gone.items():
        if case_id in found:
            found[case_id] = [entry for entry in found[case_id] if entry.id not in ids]
    return found


def _order(entry: Any) -> tuple[date, int]:
    return entry.on, entry.id


def chunks(values: Iterable[Any]) -> Iterator[list[Any]]:
    """Values, as many at a time as a statement names."""
    rest = iter(values)
    while some := list(islice(rest, _CHUNK)):
        yield some


@cache
def _select(kind: str, before: str = "") -> str:
    names = ", ".join(f'e."{column.name}"' for column in columns(kind))
    return f'SELECT {names} FROM {before} "{table_name(kind)}" e'


_IN_SPAN = "WHERE e.case_id = span.case_id AND e.happened_on >= span.low AND e.happened_on < span.high"


def _within(count: int) -> str:
    return f"WITH span (case_id, low, high) AS (VALUES {', '.join(['(?, ?, ?)'] * count)})"


def _items_sql(count: int) -> str:
    names = ", ".join(f'i."{column.name}"' for column in item_columns())
    return (
        f'{_within(count)} SELECT {names} FROM span CROSS JOIN "session" e '
        f'CROSS JOIN "{ITEM_TABLE}" i {_IN_SPAN} AND i.session_id = e.id ORDER BY i.session_id, i.place'
    )
