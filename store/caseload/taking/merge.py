"""A file beside what the store has: what of it is there already, and what the two may not say together.

Judged is a person: all their cases, of the store and of the file, as if everything had been typed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from armrise.store.caseload.refusal import Refused, refuse_second_case
from armrise.store.caseload.taking.part import Part
from armrise.store.caseload.taking.recognise import recognised
from armrise.store.caseload.whole import Stored, stored
from armrise.store.clinic.case.view import View
from armrise.store.database.driver import Connection
from armrise.store.entries.check import check_case
from armrise.store.entries.sheet import Place
from armrise.store.entries.words import CaseHead, Fault, shown
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction, Discharge, Reopen
from armrise.store.record.kinds.safety import FlagOutcome, Screen
from armrise.store.record.known import withdrawn_ids

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


@dataclass
class Both:
    """One case of a person: what the store has of it, and what the file adds."""

    head: CaseHead
    has: tuple[Entry, ...] = ()
    part: Part | None = None
    stands: tuple[Entry, ...] = field(init=False)
    """All of it that nobody withdrew."""
    stood: tuple[Entry, ...] = field(init=False)
    """The same without the file."""

    def __post_init__(self) -> None:
        self.stood = _standing(self.has)
        self.stands = _standing([*self.has, *self.new])

    @property
    def new(self) -> Sequence[Entry]:
        """What the file adds."""
        return self.part.entries if self.part else ()


def recognise(connection: Connection, parts: Sequence[Part]) -> None:
    """Note in every part what the store has of it already, and a head that is not the one it has."""
    there = {case.head.code: case for case in stored(connection, {p.code for p in parts if not p.is_new})}
    for part in parts:
        case = there.get(part.code)
        if case is None:
            continue
        batches = dict(zip((entry.id for entry in case.entries), case.batches, strict=True))
        found = recognised(case.entries, part.filed.entries)
        part.known = {position: (entry_id, batches[entry_id]) for position, entry_id in found.items()}
        part.faults += _other_head(case.head, part.filed.head)


def _other_head(has: CaseHead, said: CaseHead) -> Iterator[Fault]:
    for name in CaseHead.__dataclass_fields__:
        value = getattr(said, name)
        if value != getattr(has, name):
            what = (
                f"{shown(value or None)} is not what the store has, and a case keeps the head it began with"
            )
            named = "registered" if name == "registered_on" else name
            yield Fault(said.code, "", named, f"{what}: correct the file, or give the case another code")


def judge(connection: Connection, parts: Sequence[Part], rules: Rules | None, today: date) -> None:
    """Note in every part what it makes wrong that was not wrong before."""
    if rules is None:
        from armrise.store.rules.read import load

        rules = load()
    for family in _families(connection, parts):
        for both in family:
            if both.part and (both.part.is_new or both.part.entries):
                others = [other for other in family if other is not both]
                both.part.faults += _new_faults(both, others, rules, today)
                both.part.faults += _second_case(both, others, rules, today)


def _families(connection: Connection, parts: Sequence[Part]) -> list[list[Both]]:
    """The cases of each person whom both the store and the file have, or of whom the file adds to a case."""
    people: defaultdict[str, list[Part]] = defaultdict(list)
    for part in parts:
        people[part.filed.head.person].append(part)
    marks = ", ".join("?" * len(people))
    rows = connection.execute(f"SELECT code FROM cases WHERE person IN ({marks})", tuple(people))
    there: defaultdict[str, list[Stored]] = defaultdict(list)
    for case in stored(connection, {code for (code,) in rows}):
        there[case.head.person].append(case)
    return [_family(there[person], mine) for person, mine in people.items() if person in there]


def _family(there: Iterable[Stored], parts: Sequence[Part]) -> list[Both]:
    by_code = {part.code: part for part in parts}
    known = [Both(case.head, case.entries, by_code.get(case.head.code)) for case in there]
    return known + [Both(part.filed.head, (), part) for part in parts if part.is_new]


def _standing(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    gone = withdrawn_ids(entry for entry in entries if isinstance(entry, Correction))
    return tuple(entry for entry in entries if entry.id not in gone)


def _new_faults(both: Both, others: Sequence[Both], rules: Rules, today: date) -> list[Fault]:
    """What the case and the person's other cases say wrong together, and did not say before the file."""
    before: set[Fault] = set()
    if both.has:
        linked = _shared(entry for other in others for entry in other.stood)
        before = set(_faults(both, both.has, linked, rules, today))
    linked = _shared(entry for other in others for entry in other.stands)
    return [
        fault for fault in _faults(both, [*both.has, *both.new], linked, rules, today) if fault not in before
    ]


def _faults(
    both: Both, entries: Sequence[Entry], linked: Sequence[Entry], rules: Rules, today: date
) -> list[Fault]:
    places = [Place(entry.id, _name(both, entry)) for entry in entries]
    return check_case(both.head, entries, today=today, rules=rules, places=places, linked=linked)


def _shared(entries: Iterable[Entry]) -> list[Entry]:
    return [entry for entry in entries if isinstance(entry, (Screen, FlagOutcome))]


def _name(both: Both, entry: Entry) -> str:
    """How a fault calls an entry: by its position in the file, or as one of the store."""
    position = both.part.positions.get(entry.id) if both.part else None
    where = f"entry {position}" if position else f"entry {entry.id} of the store"
    return f"{where} ({entry.KIND} of {entry.on.isoformat()})"


def _second_case(both: Both, others: Sequence[Both], rules: Rules, today: date) -> list[Fault]:
    """A shoulder has one open case: refused for one that the file opens beside another."""
    if not _open(both.head, both.stands, rules, today) or (
        both.has and _open(both.head, both.stood, rules, today)
    ):
        return []
    same = {other.head.code: other for other in others if other.head.side == both.head.side}
    try:
        refuse_second_case(
            same, both.head, lambda code: _open(same[code].head, same[code].stands, rules, today)
        )
    except Refused as refused:
        return [Fault(both.head.code, "", "person", str(refused))]
    return []


def _open(head: CaseHead, entries: Iterable[Entry], rules: Rules, today: date) -> bool:
    ends = sorted((e for e in entries if isinstance(e, (Discharge, Reopen))), key=lambda e: (e.on, e.id))
    given = {name: getattr(head, name) for name in CaseHead.__dataclass_fields__}
    record = CaseRecord(
        **given,
        discharges=tuple(e for e in ends if isinstance(e, Discharge)),
        reopenings=tuple(e for e in ends if isinstance(e, Reopen)),
    )
    return View.of(record, rules, today).closed is None
