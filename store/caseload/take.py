"""Taking a whole caseload file into a store, over the plain driver: the demonstration needs no SQLModel."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.refusal import refuse_known_codes
from armrise.store.database import chain
from armrise.store.database.bulk import insert_cases, insert_entries
from armrise.store.database.driver import Connection
from armrise.store.record.kinds.paperwork import Correction

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.entries.filed import CaseloadFile
    from armrise.store.record.kinds.head import Entry


def take_whole(store: Store, caseload: CaseloadFile) -> int:
    """Take every case of a checked caseload file, or none; how many.

    Raises :class:`~armrise.store.caseload.refusal.Refused` for a code that is in the store already.
    """
    with store.writing() as connection:
        known = {code for (code,) in connection.execute("SELECT code FROM cases")}
        refuse_known_codes(known, [case.head.code for case in caseload.cases])
        first = _next_id(connection, "cases")
        insert_cases(connection, first, [case.head for case in caseload.cases])
        entry_id = _next_id(connection, "entry")
        for case_id, case in enumerate(caseload.cases, first):
            entries = [_numbered(entry, entry_id, place) for place, entry in enumerate(case.entries)]
            insert_entries(connection, case_id, entries, batch=0)
            entry_id += len(entries)
        if store.lasting:
            chain.extend(connection)
    return len(caseload.cases)


def _next_id(connection: Connection, table: str) -> int:
    return (connection.execute(f"SELECT max(id) FROM {table}").fetchone()[0] or 0) + 1


def _numbered(draft: Entry, first: int, place: int) -> Entry:
    """A draft of a file with its id; a correction's positions become ids."""
    changed: dict[str, Any] = {"id": first + place}
    if isinstance(draft, Correction):
        changed["corrects"] = first + draft.corrects - 1
        if draft.replaced_by is not None:
            changed["replaced_by"] = first + draft.replaced_by - 1
    return replace(draft, **changed)
