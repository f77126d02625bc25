"""The entries of one case laid out for checking: in order, named, with what a correction took away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypeVar

from armrise.store.entries.words import CaseHead, Fault
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.safety import FlagOutcome, Onset, Screen
from armrise.store.record.known import withdrawn_ids
from armrise.store.record.light import NamedTuple
from armrise.store.rules.pathway import Pathway, Rules, Stage

E = TypeVar("E", bound=Entry)


class Place(NamedTuple):
    """Where an entry stands: the number a correction names it by, and its name in a fault."""

    ref: int
    name: str


class Placed(NamedTuple):
    """An entry with its place."""

    entry: Entry
    place: Place


@dataclass
class Sheet:
    """One case under check. ``every`` holds all entries, ``valid`` those that no correction withdrew."""

    head: CaseHead
    today: date
    rules: Rules
    every: tuple[Placed, ...]
    valid: tuple[Placed, ...]
    linked: tuple[Entry, ...] = ()
    """Screens and flag outcomes of the same person's other case: the screen belongs to the person."""
    faults: list[Fault] = field(default_factory=list[Fault])
    _kinds: set[type[Entry]] | None = field(default=None, init=False)
    """The kinds among the valid ones: most that are asked for are in no case."""

    def fault(self, placed: Placed | None, name: str, message: str) -> None:
        """Keep one fault of the field ``name`` of an entry, or of the case's head."""
        entry = placed.place.name if placed else ""
        self.faults.append(Fault(self.head.code, entry, name, message))

    def of(self, kind: type[E]) -> list[tuple[Placed, E]]:
        """The valid entries of one kind in order of date, then as written."""
        if self._kinds is None:
            self._kinds = {type(p.entry) for p in self.valid}
        if not any(issubclass(one, kind) for one in self._kinds):
            return []
        return [(p, p.entry) for p in self.valid if isinstance(p.entry, kind)]

    def start(self) -> date:
        """The first day of the episode: the earliest of onset, registration, first visit and first step."""
        begins = (Onset, Visit, Step)
        dates = [entry.on for kind in begins for _, entry in self.of(kind) if not entry.history]
        return min([self.head.registered_on, *dates])

    def stage_on(self, day: date) -> Stage | None:
        """The stage of the case on ``day``, or None before it was placed."""
        found: Stage | None = None
        for _, step in self.of(Step):
            if step.on <= day:
                pathway = self.pathway_of(step.stage)
                found = pathway.stage(step.stage) if pathway else None
        return found

    def pathway_of(self, stage: str) -> Pathway | None:
        """The pathway of the rule files that has this stage."""
        return next((p for p in self.rules.pathways.values() if p.stage(stage)), None)

    def open_flags(self, day: date) -> list[Screen]:
        """Red flags answered yes on or before ``day`` and without an outcome by then, the person's."""
        entries = [*(p.entry for p in self.valid), *self.linked]
        outcomes = [e for e in entries if isinstance(e, FlagOutcome) and e.on <= day]
        flags = [e for e in entries if isinstance(e, Screen) and e.answer == "yes" and e.on <= day]
        return [f for f in flags if not any(o.item in (f.item, "all") and o.on >= f.on for o in outcomes)]


def lay_out(
    head: CaseHead,
    entries: Sequence[Entry],
    today: date,
    rules: Rules,
    places: Sequence[Place] | None,
    linked: Iterable[Entry],
) -> Sheet:
    """The sheet of a case. Without ``places`` an entry is named by its stored id, else by its number."""
    placed = [Placed(e, places[i] if places else _place(e, i)) for i, e in enumerate(entries)]
    corrections = (replace(p.entry, id=p.place.ref) for p in placed if isinstance(p.entry, Correction))
    gone = withdrawn_ids(corrections)
    order = sorted(placed, key=lambda p: (p.entry.on, p.entry.id == 0, p.entry.id))
    valid = tuple(p for p in order if p.place.ref not in gone) if gone else tuple(order)
    return Sheet(head, today, rules, tuple(order), valid, tuple(linked))


def _place(entry: Entry, index: int) -> Place:
    number = entry.id or index + 1
    return Place(number, f"entry {number} ({entry.KIND} of {entry.on.isoformat()})")
