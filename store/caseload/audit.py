"""The audit of a store: whole records, some at a time, counted as they are read and then let go."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from armrise.store.caseload import read as caseload
from armrise.store.caseload.paper import head_on_paper
from armrise.store.caseload.processes.shared import shared
from armrise.store.database.place import Store

if TYPE_CHECKING:
    from armrise.store.clinic.audit.facts import Facts
    from armrise.store.clinic.audit.period import Audit, Period
    from armrise.store.rules.pathway import Rules

AT_ONCE = 50
"""Cases read together: few enough that somebody who stops it does not wait."""
PAYS_FROM = 1000
"""So many cases take longer than helping processes take to start."""

Tell = Callable[[int, int], None]
"""Told (cases counted, cases there are). Whatever it raises stops the audit."""


@dataclass(frozen=True)
class Counting:
    """The facts of some cases, for an audit of a period as known at an instant."""

    rules: Rules
    period: Period
    known_at: datetime | None

    def __call__(self, store: Store, codes: Sequence[str], /) -> list[Facts]:
        """One for each case: from the days that the period rests on, from all of it where they do not do."""
        from armrise.store.clinic.audit.case import case_facts, week_ends
        from armrise.store.clinic.case.view import NeedsFullHistory

        first = week_ends(self.period)[0]
        found: dict[str, Facts] = {}
        for record in caseload.since(store, codes, first, self.rules, known_at=self.known_at):
            with suppress(NeedsFullHistory):
                found[record.code] = case_facts(record, self.rules, self.period)
        others = [code for code in codes if code not in found]
        for record in caseload.in_full(store, others, known_at=self.known_at) if others else ():
            found[record.code] = case_facts(record, self.rules, self.period)
        return [found[code] for code in codes]


def audit_store(
    store: Store,
    rules: Rules,
    period: Period,
    *,
    known_at: datetime | None = None,
    author: str = "",
    tell: Tell | None = None,
) -> Audit:
    """The audit of ``period`` over every case of the store, closed ones too, as known at an instant.

    A large store is counted by several processes. Raises
    :class:`armrise.store.database.place.StoreError`, and whatever ``tell`` raises.
    """
    from armrise.store.clinic.audit.period import audit

    def facts() -> Iterator[Facts]:
        every = caseload.codes(store)
        handfuls = [every[start : start + AT_ONCE] for start in range(0, len(every), AT_ONCE)]
        done = 0
        if tell and every:
            tell(done, len(every))
        pays = len(every) >= PAYS_FROM
        for found in shared(store, Counting(rules, period, known_at), handfuls, pays=pays):
            done += len(found or ())
            if tell and done < len(every):
                tell(done, len(every))
            yield from found or ()

    return replace(audit(facts(), rules, period, author), store_head=head_on_paper(store))
