"""A caseload file on its way into a store: what of each case is new, is there already, is refused."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from armrise.store.entries.filed import FileCase
from armrise.store.entries.words import Fault
from armrise.store.record.kinds.head import Entry


@dataclass
class Part:
    """One case of a file on its way into the store."""

    filed: FileCase
    case_id: int
    is_new: bool
    known: Mapping[int, tuple[int, int]] = field(default_factory=dict[int, tuple[int, int]])
    """By position in the file what the store has already: its id, and that of its action."""
    entries: list[Entry] = field(default_factory=list[Entry])
    """What will be written, by id."""
    positions: dict[int, int] = field(default_factory=dict[int, int])
    """The position in the file of each of them, by its id."""
    faults: list[Fault] = field(default_factory=list[Fault])

    @property
    def code(self) -> str:
        """The code of the case."""
        return self.filed.head.code


@dataclass
class Taken:
    """What was taken of a file, or would be: its cases in their order, and the action of each new entry."""

    parts: list[Part]
    first: int = 0
    """The id of the first new entry."""
    batches: dict[int, int] = field(default_factory=dict[int, int])
    left_out: Mapping[str, int] = field(default_factory=dict[str, int])
    """What the file holds beside it and no caseload keeps: how many of each."""

    @property
    def faults(self) -> list[Fault]:
        """Why nothing is taken, over all cases."""
        return [fault for part in self.parts for fault in part.faults]

    @property
    def new_cases(self) -> list[Part]:
        """The cases that the store lacked."""
        return [part for part in self.parts if part.is_new]

    @property
    def new(self) -> int:
        """How many entries were new."""
        return sum(len(part.entries) for part in self.parts)

    @property
    def known(self) -> int:
        """How many entries the store had already."""
        return sum(len(part.known) for part in self.parts)
