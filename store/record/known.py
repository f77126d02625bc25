"""A case as it was known at the end of an earlier day: all that was ever told, and what of it stood by then.

The day an entry was recorded is a clinic date (ruling 39), so a whole day is known at its end or not at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import cached_property
from operator import attrgetter
from typing import Any, NamedTuple

from armrise.store.record.case import FIELD_OF_KIND, Came, CaseRecord
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import Step, pathway_code
from armrise.store.record.light import dataclass

DAY = timedelta(days=1)
OF_THEIR_DAY = frozenset(
    (
        *("sessions", "mornings", "visits", "measures", "scores"),
        *("contacts", "appointments", "attendances", "letters"),
    )
)
"""Fields of which no rule looks at what is dated after the clinic date: they add to a record, day by day.

Others may speak of days before their own: an exercise struck out was in the programme until then, and a step
into another pathway says in which one days without a stage are read.
"""


def withdrawn_ids(corrections: Iterable[Correction]) -> set[int]:
    """Ids of what these corrections withdraw. The newest speaks first, for one may withdraw another."""
    gone: set[int] = set()
    for correction in sorted(corrections, key=lambda c: c.id, reverse=True):
        if correction.id not in gone:
            gone.add(correction.corrects)
    return gone


class Stretch(NamedTuple):
    """Days, both included, that may be read from one record: see :meth:`Everything.stretches`."""

    first: date
    last: date
    record: CaseRecord


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
        return frozenset(self._news)

    @cached_property
    def _news(self) -> dict[date, list[tuple[str, Entry]]]:
        """What became known on each date, with the field that holds it; a correction is in none."""
        found: defaultdict[date, list[tuple[str, Entry]]] = defaultdict(list)
        known_on: Callable[[Entry], date] = self.known_on if self.came_on else attrgetter("recorded_on")
        for name in FIELD_OF_KIND.values():
            for entry in getattr(self.record, name):
                found[known_on(entry)].append((name, entry))
        for correction in self.corrections:
            found[self.known_on(correction)].append(("", correction))
        return found

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

    def stretches(self, first: date, until: date) -> Iterator[Stretch]:
        """The days from ``first`` to ``until``, in stretches that are read from one record each.

        On every day of a stretch, what of the record had happened by then is what was known at its end. A
        stretch ends where something was told late, withdrawn, or is of a kind that speaks of earlier days.
        """
        start = newest = first
        told: tuple[Any, ...] = ()
        for day in sorted(self._news):
            if first < day <= until:
                if not self._only_adds(day, told):
                    yield Stretch(start, day - DAY, self.known_by(newest))
                    start = day
                newest = day
            told = max(told, *((entry.recorded_at, entry.id) for _, entry in self._news[day]))
        yield Stretch(start, until, self.known_by(newest))

    def _goes_on(self, entry: Entry, day: date) -> bool:
        """Whether it is a step of the pathway that the case was known to be in before ``day``."""
        return isinstance(entry, Step) and pathway_code(entry.stage) == self._pathway_by(day - DAY)

    def _pathway_by(self, day: date) -> str:
        gone = withdrawn_ids(c for c in self.corrections if self.known_on(c) <= day)
        steps = (s for s in self.record.steps if self.known_on(s) <= day and s.id not in gone)
        newest = max(steps, key=lambda step: (step.on, step.id), default=None)
        return pathway_code(newest.stage) if newest else self.registered_as

    def _only_adds(self, day: date, told: tuple[Any, ...]) -> bool:
        """Whether all that became known on ``day`` happened on it, and was told after all that is known."""
        return day not in self.came_on and all(
            (name in OF_THEIR_DAY or self._goes_on(entry, day))
            and entry.on == day
            and (entry.recorded_at, entry.id) > told
            and not entry.history
            and not (isinstance(entry, Visit) and entry.decision)
            for name, entry in self._news[day]
        )
