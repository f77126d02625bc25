"""A checked caseload as it came in a file: whole cases, their entries not numbered yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.head import Entry


@dataclass(frozen=True, slots=True)
class FileCase:
    """A case with its entries as drafts (id 0) in the order of the file.

    A correction's ``corrects`` and ``replaced_by`` hold the position of an entry in ``entries``, from 1.
    """

    head: CaseHead
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class CaseloadFile:
    """A whole caseload as of ``clinic_date`` in the clinic's time zone ``zone``."""

    clinic_date: date
    zone: str
    fictional: bool
    clinic: str
    cases: tuple[FileCase, ...]
