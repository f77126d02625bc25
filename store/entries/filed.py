"""A checked caseload as it came in a file: whole cases, their entries not numbered yet."""

from __future__ import annotations

from datetime import date

from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.head import Entry
from armrise.store.record.light import NamedTuple, dataclass


@dataclass(frozen=True, slots=True)
class FileCase:
    """A case with its entries as drafts (id 0) in the order of the file.

    A correction's ``corrects`` and ``replaced_by`` hold the position of an entry in ``entries``, from 1.
    """

    head: CaseHead
    entries: tuple[Entry, ...]
    numbers: tuple[int, ...] = ()
    """The place of each entry in the order of writing over all cases, rising; empty: that of the file."""
    actions: tuple[int, ...] = ()
    """The number of the first entry of each entry's action, 0 for one that came in a file; empty: all did."""


@dataclass(frozen=True, slots=True)
class CaseloadFile:
    """A whole caseload as of ``clinic_date`` in the clinic's time zone ``zone``."""

    clinic_date: date
    zone: str
    fictional: bool
    clinic: str
    cases: tuple[FileCase, ...]


class Beside(NamedTuple):
    """What the store has that a file is read for: what rests on entries there is judged beside them."""

    codes: frozenset[str] = frozenset()
    persons: frozenset[str] = frozenset()

    def touches(self, head: CaseHead) -> bool:
        """True for a case that the store has, and for one of a person who has a case in it."""
        return head.code in self.codes or head.person in self.persons
