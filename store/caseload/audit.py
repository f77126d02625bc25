"""The audit of a store: whole records, some at a time, counted as they are read and then let go."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from armrise.store.caseload import read as caseload
from armrise.store.caseload.paper import head_on_paper
from armrise.store.database.place import Store

if TYPE_CHECKING:
    from armrise.store.clinic.audit.period import Audit, Period
    from armrise.store.record.case import CaseRecord
    from armrise.store.rules.pathway import Rules

AT_ONCE = 20
"""Cases read together: few enough that somebody who stops it does not wait."""

Tell = Callable[[int, int], None]
"""Told (cases counted, cases there are). Whatever it raises stops the audit."""


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

    Raises :class:`armrise.store.database.place.StoreError`, and whatever ``tell`` raises.
    """
    from armrise.store.clinic.audit.period import audit

    def records() -> Iterator[CaseRecord]:
        every = caseload.codes(store)
        for start in range(0, len(every), AT_ONCE):
            if tell:
                tell(start, len(every))
            yield from caseload.in_full(store, every[start : start + AT_ONCE], known_at=known_at)

    return replace(audit(records(), rules, period, author), store_head=head_on_paper(store))
