"""The demo caseload as case records, straight from its file: what the store would hand to the rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.into.caseload_file import demo_path, read
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction

SHARED = ("screen", "flag outcome")
"""Entries that belong to the person, not to one shoulder (clinic's practice notes, clarification 11.6)."""


@cache
def demo() -> CaseloadFile:
    """The shipped file, checked and built; read once."""
    return read(demo_path())


def records(file: CaseloadFile) -> list[CaseRecord]:
    """A record of every case, entries numbered in one sequence over the file, corrections applied."""
    numbered: list[tuple[FileCase, list[Entry]]] = []
    first = 0
    for case in file.cases:
        entries: list[Entry] = [replace(e, id=first + n) for n, e in enumerate(case.entries, 1)]
        gone = {first + e.corrects for e in entries if isinstance(e, Correction)}
        numbered.append((case, [e for e in entries if e.id not in gone]))
        first += len(entries)
    return [_record(case, entries, numbered) for case, entries in numbered]


def _record(
    case: FileCase, entries: Sequence[Entry], everyone: Sequence[tuple[FileCase, list[Entry]]]
) -> CaseRecord:
    head = case.head
    others = [(c, es) for c, es in everyone if c.head.person == head.person and c is not case]
    shared = [e for _, es in others for e in es if e.KIND in SHARED]
    kinds: dict[str, list[Entry]] = {name: [] for name in FIELD_OF_KIND.values()}
    for entry in [*entries, *shared]:
        if entry.KIND in FIELD_OF_KIND:
            kinds[FIELD_OF_KIND[entry.KIND]].append(entry)
    ordered = {name: tuple(sorted(found, key=lambda e: (e.on, e.id))) for name, found in kinds.items()}
    return CaseRecord(
        code=head.code,
        person=head.person,
        side=head.side,
        pathway=head.pathway,
        dominance=head.dominance,
        age_band=head.age_band,
        clinician=head.clinician,
        referrer=head.referrer,
        registered_on=head.registered_on,
        linked=tuple(c.head.code for c, _ in others),
        **ordered,  # type: ignore[arg-type]
    )
