"""Everything a store holds of its cases, as a caseload file holds it: nothing left out.

What is read here is what :func:`~armrise.store.caseload.taking.take.take_whole` takes: whoever loads it into
a new store has the same record.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from armrise.store.caseload.read import unknown_case
from armrise.store.caseload.recorded import known_up_to
from armrise.store.database.driver import Connection
from armrise.store.database.instants import FOREVER
from armrise.store.database.place import Store
from armrise.store.database.reading import (
    WINDOWED,
    always,
    entries_of,
    entries_within,
    no_collecting,
)
from armrise.store.database.unreadable import read_rows
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.entries.words import CaseHead
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.light import dataclass

_HEAD = tuple(CaseHead.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class Stored:
    """A case as it lies in the store: every entry ever written, by id, and the action each belongs to."""

    id: int
    head: CaseHead
    entries: tuple[Entry, ...]
    batches: tuple[int, ...]
    """For each entry the id of the first entry of its action; 0 for one that came in a file."""


def whole(
    store: Store, today: date, codes: Collection[str] | None = None, known_at: datetime | None = None
) -> CaseloadFile:
    """The whole store as a caseload of the clinic date ``today``, or these cases of it, as known at
    an instant (None: now).

    Cases stand in the order in which they were registered; entries are numbered from 1 in the order of
    writing over all of them. Raises :class:`~armrise.store.database.place.StoreError`, and for a code that is
    not known :class:`~armrise.store.caseload.read.UnknownCase`.
    """
    with store.reading() as connection, no_collecting():
        cases = stored(connection, codes, known_up_to(store, known_at))
        for code in sorted(set(codes or ()) - {case.head.code for case in cases}):
            raise unknown_case(code, connection)
    ids = sorted(entry.id for case in cases for entry in case.entries)
    numbers = {entry_id: number for number, entry_id in enumerate(ids, 1)}
    actions: dict[int, int] = {}
    for case in cases:
        for entry, batch in zip(case.entries, case.batches, strict=True):
            if batch:
                actions[batch] = min(actions.get(batch, numbers[entry.id]), numbers[entry.id])
    made = tuple(_filed(case, numbers, actions) for case in cases)
    return CaseloadFile(today, store.zone, store.fictional, "", made)


def stored(
    connection: Connection, codes: Collection[str] | None = None, known: int = FOREVER
) -> list[Stored]:
    """Every case with all its entries known at ``known`` (microseconds UTC), or these cases, in the order in
    which they were registered."""
    names = ", ".join(f'"{name}"' for name in _HEAD)
    found = read_rows(connection, "cases", f"SELECT id, {names} FROM cases ORDER BY id", (), _heads)
    heads = {case_id: head for case_id, head in found if codes is None or head.code in codes}
    ids = tuple(heads)
    entries: dict[int, list[Entry]] = {case_id: [] for case_id in ids}
    for kind in KINDS if ids else ():
        if kind in WINDOWED:
            found = entries_within(connection, kind, [always(case_id) for case_id in ids], known)
        else:
            found = entries_of(connection, kind, ids, known)
        for case_id, some in found.items():
            entries[case_id] += some
    return [_stored(connection, case_id, head, entries[case_id]) for case_id, head in heads.items()]


def _heads(rows: Iterable[Any]) -> list[tuple[int, CaseHead]]:
    found: list[tuple[int, CaseHead]] = []
    for case_id, *values in rows:
        told: dict[str, Any] = dict(zip(_HEAD, values, strict=True))
        told["registered_on"] = date.fromisoformat(told["registered_on"])
        found.append((case_id, CaseHead(**told)))
    return found


def _stored(connection: Connection, case_id: int, head: CaseHead, entries: list[Entry]) -> Stored:
    rows = connection.execute("SELECT id, batch FROM entry WHERE case_id = ?", (case_id,))
    batches: dict[int, int] = dict(rows.fetchall())
    ordered = tuple(sorted(entries, key=lambda entry: entry.id))
    return Stored(case_id, head, ordered, tuple(batches[entry.id] for entry in ordered))


def _filed(case: Stored, numbers: dict[int, int], actions: dict[int, int]) -> FileCase:
    """The case as a file holds it: entries without ids, a correction by positions."""
    positions = {entry.id: position for position, entry in enumerate(case.entries, 1)}
    return FileCase(
        case.head,
        tuple(_draft(entry, positions) for entry in case.entries),
        tuple(numbers[entry.id] for entry in case.entries),
        tuple(actions.get(batch, 0) for batch in case.batches),
    )


def _draft(entry: Entry, positions: dict[int, int]) -> Entry:
    if not isinstance(entry, Correction):
        return replace(entry, id=0)
    by = None if entry.replaced_by is None else positions[entry.replaced_by]
    return replace(entry, id=0, corrects=positions[entry.corrects], replaced_by=by)
