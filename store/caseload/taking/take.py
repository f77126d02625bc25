"""Taking a caseload file into a store, over the plain driver: the demonstration needs no SQLModel.

A case that the store lacks is taken whole. Of a case that it has, what is new is added, and what is there
already is recognised by what it says; nothing is doubled, nothing is changed. Each entry keeps the instant at
which it was recorded, wherever that was; the link that the chain ends with says when it came here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.refusal import Refused
from armrise.store.caseload.taking.part import Part, Taken
from armrise.store.database import chain
from armrise.store.database.bulk import insert_cases, insert_of_cases
from armrise.store.database.driver import Connection
from armrise.store.record.kinds.paperwork import Correction

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.entries.filed import CaseloadFile
    from armrise.store.record.kinds.head import Entry
    from armrise.store.rules.pathway import Rules


def take_whole(store: Store, caseload: CaseloadFile, rules: Rules | None = None) -> Taken:
    """Take what is new in a checked caseload file, everything or nothing; what was taken.

    ``rules`` give the ranges a case of the store is checked against together with what is added to it, by
    default those shipped. Raises :class:`~armrise.store.caseload.refusal.Refused` with every fault.
    """
    with store.writing() as connection:
        taken = planned(connection, store, caseload, rules)
        if taken.faults:
            raise Refused(str(taken.faults[0]), taken.faults)
        _write(connection, taken)
        if store.lasting:
            chain.extend(connection, chain.FILE)
    return taken


def would_take(store: Store, caseload: CaseloadFile, rules: Rules | None = None) -> Taken:
    """What :func:`take_whole` would take, and why not; nothing is written."""
    with store.reading() as connection:
        return planned(connection, store, caseload, rules)


def planned(connection: Connection, store: Store, caseload: CaseloadFile, rules: Rules | None) -> Taken:
    """The cases of the file with what is new in each, numbered, and with what is refused."""
    cases: dict[str, int] = dict(connection.execute("SELECT code, id FROM cases").fetchall())
    first = _next_id(connection, "cases")
    parts: list[Part] = []
    for filed in caseload.cases:
        there = cases.get(filed.head.code)
        parts.append(Part(filed, first if there is None else there, there is None))
        first += there is None
    if not cases:  # nothing to recognise, and the file was judged by itself: the demonstration is in a hurry
        return _numbered(connection, parts)
    from armrise.store.caseload.taking.merge import judge, recognise

    recognise(connection, parts)
    taken = _numbered(connection, parts)
    judge(connection, parts, rules, store.today())
    return taken


def _numbered(connection: Connection, parts: list[Part]) -> Taken:
    """Give every new entry its id, in the order of writing, and its action the id of its first entry."""
    first = _next_id(connection, "entry")
    ids = {
        (at, position): found for at, part in enumerate(parts) for position, (found, _) in part.known.items()
    }
    taken = Taken(parts, first)
    new = [(at, position) for at, position in _in_order(parts) if (at, position) not in ids]
    ids |= {place: number for number, place in enumerate(new, first)}
    actions = _actions(parts, ids)
    for at, position in new:
        part, entry_id = parts[at], ids[at, position]
        part.entries.append(_with_ids(part.filed.entries[position - 1], entry_id, at, ids))
        part.positions[entry_id] = position
        taken.batches[entry_id] = actions.get(_action(part, position), 0)
    return taken


def _in_order(parts: list[Part]) -> list[tuple[int, int]]:
    """Every entry as (case, position), in the order of writing where the file tells it, else as it stands."""
    every = [
        (at, position) for at, part in enumerate(parts) for position in range(1, len(part.filed.entries) + 1)
    ]
    if not all(part.filed.numbers for part in parts if part.filed.entries):
        return every
    return sorted(every, key=lambda place: parts[place[0]].filed.numbers[place[1] - 1])


def _action(part: Part, position: int) -> int:
    """The number that the file gives the action of an entry; 0 for none."""
    return part.filed.actions[position - 1] if part.filed.actions else 0


def _actions(parts: list[Part], ids: Mapping[tuple[int, int], int]) -> dict[int, int]:
    """What an action of the file is called in the store: as there, where a part of it is there already."""
    called: dict[int, int] = {}
    known: dict[int, int] = {}
    for (at, position), entry_id in ids.items():
        action = _action(parts[at], position)
        if not action:
            continue
        called[action] = min(called.get(action, entry_id), entry_id)
        if batch := parts[at].known.get(position, (0, 0))[1]:
            known[action] = batch
    return called | known


def _with_ids(draft: Entry, entry_id: int, at: int, ids: Mapping[tuple[int, int], int]) -> Entry:
    """A draft of a file with its id; a correction's positions become ids."""
    changed: dict[str, Any] = {"id": entry_id}
    if isinstance(draft, Correction):
        changed["corrects"] = ids[at, draft.corrects]
        if draft.replaced_by is not None:
            changed["replaced_by"] = ids[at, draft.replaced_by]
    return replace(draft, **changed)


def _write(connection: Connection, taken: Taken) -> None:
    first_case = _next_id(connection, "cases")
    insert_cases(connection, first_case, [part.filed.head for part in taken.new_cases])
    insert_of_cases(connection, ((part.case_id, part.entries) for part in taken.parts), taken.batches)


def _next_id(connection: Connection, table: str) -> int:
    return (connection.execute(f"SELECT max(id) FROM {table}").fetchone()[0] or 0) + 1
