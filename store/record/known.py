"""A case as it was known at the end of an earlier day: all that was ever told, and what of it stood by then.

The day an entry was recorded is a clinic date (ruling 39), so a whole day is known at its end or not at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import Any

from armrise.store.record.case import FIELD_OF_KIND, Came, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import pathway_code
from armrise.store.record.light import dataclass


def withdrawn_ids(corrections: Iterable[Correction]) -> set[int]:
    """Ids of what these corrections withdraw. The newest speaks first, for one may withdraw another."""
    gone: set[int] = set()
    for correction in sorted(corrections, key=lambda c: c.id, reverse=True):
        if correction.id not in gone:
            gone.add(correction.corrects)
    return gone


@dataclass(frozen=True)
class Everything:
    """All that was ever told about a case: ``record`` holds the withdrawn entries too, so no rule reads it.

    ``corrections`` are those of the case and of the same person's others; ``registered_as`` is the pathway
    of registration, which counts as long as no step was known.
    """

    record: CaseRecord
    corrections: tuple[Correction, ...]
    registered_as: str
    came_on: tuple[date, ...] = ()
    """The clinic dates on which the files came that ``record`` tells of, in that order."""

    @cached_property
    def _files(self) -> list[tuple[Came, date]]:
        return list(zip(self.record.came, self.came_on, strict=True))

    @cached_property
    def recorded_on(self) -> frozenset[date]:
        """Every date on which something became known: between two of them the same things were known."""
        entries = (e for name in FIELD_OF_KIND.values() for e in getattr(self.record, name))
        return frozenset(map(self.known_on, (*entries, *self.corrections)))

    def known_on(self, entry: Entry) -> date:
        """The clinic date from which an entry was known: it was recorded, and if in a file it had come."""
        if not self.came_on:
            return entry.recorded_on
        return max([entry.recorded_on, *(on for f, on in self._files if f.first <= entry.id <= f.last)])

    def known_by(self, day: date) -> CaseRecord:
        """The record as it was known at the end of the clinic date ``day``."""
        gone = withdrawn_ids(c for c in self.corrections if self.known_on(c) <= day)
        known: dict[str, Any] = {
            name: tuple(e for e in getattr(self.record, name) if self.known_on(e) <= day and e.id not in gone)
            for name in FIELD_OF_KIND.values()
        }
        steps = known["steps"]
        pathway = pathway_code(steps[-1].stage) if steps else self.registered_as
        came = tuple(file for file, on in self._files if on <= day)
        return replace(self.record, pathway=pathway, came=came, **known)
