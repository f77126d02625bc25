"""Reads every case of the store for a trial run of changed rules: some at a time, so that it can stop."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from armrise.store.caseload.processes.shared import shared
from armrise.store.caseload.read import read_cases
from armrise.store.caseload.recorded import known_up_to
from armrise.store.clinic.audit.trial import CaseTrial, Trial, Versions
from armrise.store.database.driver import Connection
from armrise.store.database.place import Store
from armrise.store.database.reading import entries_of, no_collecting
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.known import Everything

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


PAYS_FROM = 20_000
"""So many case-days take longer than helping processes take to start."""
AT_ONCE = 2_000
"""About so many case-days are read together: few enough that somebody who stops it does not wait."""


class Planned(NamedTuple):
    """A case that will be read, and on how many clinic dates."""

    code: str
    days: int


def plan(store: Store, *, since: date | None, until: date) -> list[Planned]:
    """Every case registered by ``until``, closed ones too, with the days from registration (or ``since``)."""
    with store.reading() as connection:
        rows = connection.execute(
            "SELECT code, registered_on FROM cases WHERE registered_on <= ? ORDER BY code",
            (until.isoformat(),),
        ).fetchall()
    firsts = [(code, max(date.fromisoformat(on), since or date.min)) for code, on in rows]
    return [Planned(code, max(0, (until - first).days + 1)) for code, first in firsts]


def everything(store: Store, codes: Sequence[str]) -> list[Everything]:
    """All that was told about these cases, in the order of their codes, up to what the store is known as.

    Read in a few statements for all of them together. Raises StoreError.
    """
    known = known_up_to(store)
    with store.reading() as connection, no_collecting():
        records = read_cases(connection, codes, known, withdrawn_too=True)
        heads = _heads(connection, [record.person for record in records])
        found = entries_of(connection, "correction", [head.id for head in heads], known)
    corrections: defaultdict[str, list[Correction]] = defaultdict(list)
    for head in heads:
        corrections[head.person] += found.get(head.id, ())
    registered_as = {head.code: head.pathway for head in heads}
    came_on = tuple(store.today(file.at) for file in records[0].came) if records else ()
    return [
        Everything(record, tuple(corrections[record.person]), registered_as[record.code], came_on)
        for record in records
    ]


class _Head(NamedTuple):
    id: int
    code: str
    person: str
    pathway: str
    """That of registration."""


def _heads(connection: Connection, persons: Sequence[str]) -> list[_Head]:
    """The cases of these people."""
    marks = ", ".join("?" * len(persons))
    sql = f"SELECT id, code, person, pathway FROM cases WHERE person IN ({marks}) ORDER BY id"
    return [_Head(*row) for row in connection.execute(sql, tuple(persons))]


@dataclass(frozen=True)
class Trying:
    """Cases read under two versions."""

    old: Rules
    new: Rules
    since: date | None
    until: date

    @cached_property
    def _versions(self) -> Versions:
        return Versions(self.old, self.new)

    def __call__(self, store: Store, codes: Sequence[str], /) -> list[CaseTrial]:
        """One for each case."""
        told = everything(store, codes)
        return [self._versions.case(each, since=self.since, until=self.until) for each in told]


def run(
    store: Store, old: Rules, new: Rules, *, since: date | None, until: date
) -> Iterator[tuple[Trial, int, int]]:
    """Read some cases after others under both versions: the trial so far, the days read, the days in all.

    A long history is read by several processes, and the same is told again while they read on. Whoever stops
    asking has the trial so far, and it says that it is partial. Nothing is written. Raises StoreError.
    """
    planned = plan(store, since=since, until=until)
    total = sum(case.days for case in planned)
    trial, read = Trial(old, new, since, until, len(planned)), 0
    yield trial, read, total
    handfuls = [[case.code for case in some] for some in _handfuls(planned)]
    for found in shared(store, Trying(old, new, since, until), handfuls, pays=total >= PAYS_FROM):
        for case in found or ():
            read += planned[len(trial.cases)].days
            trial.cases.append(case)
        yield trial, read, total


def _handfuls(planned: Sequence[Planned]) -> Iterator[list[Planned]]:
    """Cases that are read together."""
    some, days = list[Planned](), 0
    for case in planned:
        if some and days + case.days > AT_ONCE:
            yield some
            some, days = [], 0
        some.append(case)
        days += case.days
    if some:
        yield some
