"""Reads every case of the store for a trial run of changed rules: case by case, so that it can stop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from armrise.store.caseload.processes.shared import shared
from armrise.store.caseload.read import read_case
from armrise.store.caseload.recorded import known_up_to
from armrise.store.clinic.audit.trial import CaseTrial, Trial, Versions
from armrise.store.database.place import Store
from armrise.store.database.reading import entries_of, no_collecting
from armrise.store.record.known import Everything

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


PAYS_FROM = 20_000
"""So many case-days take longer than helping processes take to start."""


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


def everything(store: Store, code: str) -> Everything:
    """All that was told about a case, up to what the store is known as. Raises UnknownCase, StoreError."""
    known = known_up_to(store)
    with store.reading() as connection, no_collecting():
        record = read_case(connection, code, known, withdrawn_too=True)
        (registered_as,) = connection.execute("SELECT pathway FROM cases WHERE code = ?", (code,)).fetchone()
        family = connection.execute("SELECT id FROM cases WHERE person = ?", (record.person,)).fetchall()
        found = entries_of(connection, "correction", [case_id for (case_id,) in family], known)
    came_on = tuple(store.today(file.at) for file in record.came)
    return Everything(record, tuple(c for some in found.values() for c in some), registered_as, came_on)


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
        told = (everything(store, code) for code in codes)
        return [self._versions.case(each, since=self.since, until=self.until) for each in told]


def run(
    store: Store, old: Rules, new: Rules, *, since: date | None, until: date
) -> Iterator[tuple[Trial, int, int]]:
    """Read case after case under both versions: the trial so far, the days read, the days in all.

    A long history is read by several processes, and the same is told again while they read on. Whoever stops
    asking has the trial so far, and it says that it is partial. Nothing is written. Raises StoreError.
    """
    planned = plan(store, since=since, until=until)
    total = sum(case.days for case in planned)
    trial, read = Trial(old, new, since, until, len(planned)), 0
    yield trial, read, total
    cases = [[case.code] for case in planned]
    for found in shared(store, Trying(old, new, since, until), cases, pays=total >= PAYS_FROM):
        if found:
            read += planned[len(trial.cases)].days
            trial.cases += found
        yield trial, read, total
