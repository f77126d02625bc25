"""The one way a screen reaches the caseload: reading, drafting, writing and undoing, each in a sentence.

A screen holds a :class:`Door` and nothing else of the store; what only a store can tell, a sweep or an audit,
is asked of the door into one, :class:`armrise.tui.shell.store_door.StoreDoor`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Protocol, TypedDict

from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.caseload.timeline import Timeline
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.desk import Draft, Waiting
    from armrise.store.entries.words import CaseHead
    from armrise.store.record.case import CaseRecord
    from armrise.store.record.kinds.head import Entry
    from armrise.store.rules.pathway import Rules


UNSOUND = "STORE NOT SOUND: armrise verify"
"""What the head of the list says of a store that was not found as it was written."""


class Opened(NamedTuple):
    """A case as a form opens it; ``seen`` is its newest entry, ``last`` what undo would withdraw."""

    record: CaseRecord
    standing: Standing
    seen: int
    last: tuple[Entry, ...]


class Header(TypedDict):
    """What the head of the list says; ``rules`` is the version of the rules, ``signed_off`` by whom."""

    fictional: bool
    as_of: date
    data_until: datetime | None
    """The newest recorded instant (aware); None where nothing is recorded."""
    rules: str
    signed_off: str
    backup_age: timedelta | None
    """Time since the last backup; None when no backup is known."""
    backup_owed: bool
    """True for a caseload that lasts and holds something: it is to have a backup."""
    verified: date | None
    """The clinic date on which the store was last verified; None where that is not known."""
    unsound: str
    """What to say of a store that was not found as it was written; empty while nothing wrong is known."""
    plays: bool
    """True where the clinic date is fixed to another day than today."""
    views: Sequence[tuple[str, str]]
    """The clinic's own views: names, and what the list is searched for."""


class Door(Protocol):
    """What screens ask of the caseload: one clinician's way to it, on one clinic date.

    Every method may be called from a worker thread. One that reads or writes raises a store error of one
    sentence when the store refuses, and has written nothing then.
    """

    author: str
    """The initials that every entry written here carries."""

    @property
    def rules(self) -> Rules:
        """The rules by which everything is judged."""
        ...

    @property
    def today(self) -> date:
        """The clinic date."""
        ...

    @property
    def fictional(self) -> bool:
        """True for the invented demo caseload: every screen then says so."""
        ...

    @property
    def cannot_write(self) -> str:
        """Why nothing can be written through this door, in a sentence; empty when it can."""
        ...

    @property
    def encrypted(self) -> bool:
        """True where a passphrase opens the caseload; it is asked for again after a long pause."""
        return False

    def opened_by(self, passphrase: str) -> bool:
        """True for the passphrase that opens the caseload. Takes the better part of a second."""
        return False

    def now(self) -> datetime:
        """The present instant, aware."""
        ...

    def local(self, instant: datetime) -> datetime:
        """An aware instant on the clinic's clock."""
        ...

    def day_of(self, instant: datetime) -> date:
        """The clinic date at an aware instant."""
        ...

    # reading

    def header(self) -> Header:
        """What the head of the list says."""
        ...

    def several_readings(self) -> AbstractContextManager[None]:
        """Around several readings of one thread that follow at once: what they share is done once."""
        return nullcontext()

    def changed(self) -> bool:
        """True when something was written since this was last asked (the first time: False)."""
        ...

    def standings(self) -> list[Standing]:
        """Every case on the list, in list order."""
        ...

    def heads(self) -> list[tuple[str, str, str]]:
        """Code, person and side of every case, closed ones too."""
        ...

    def standing(self, code: str) -> Standing:
        """What follows today for one case, from its whole record."""
        ...

    def open(self, code: str) -> Opened:
        """One case opened for writing: its whole record, what follows from it, and how far it was known."""
        ...

    def record(self, code: str) -> CaseRecord:
        """The whole record of one case."""
        ...

    def timeline(self, code: str) -> Timeline:
        """Every entry of a case with what became of it, withdrawn ones too."""
        ...

    # forms not written yet

    def keep_unwritten(
        self, code: str, form: str, fields: dict[str, str], at: datetime | None = None
    ) -> None:
        """Keep what is typed in a form about a case; in a store opened for reading nothing is kept."""
        ...

    def left_unwritten(self, code: str, form: str) -> Draft | None:
        """What this author left unwritten in a form about a case; None when nothing was."""
        ...

    def forget_unwritten(self, code: str, form: str) -> None:
        """Drop what was kept of a form: it was written, or forgotten on purpose."""
        ...

    def unwritten(self) -> list[Waiting]:
        """The forms this author left unwritten, the one typed last first."""
        ...

    # what changed, and own marks

    def news(self) -> frozenset[str]:
        """Codes of the cases in which somebody else recorded something since this author last opened them."""
        ...

    def marked(self) -> frozenset[str]:
        """Codes of the cases this author has marked."""
        ...

    def mark(self, code: str, marked: bool) -> None:
        """Mark a case for this author, or take the mark away."""
        ...

    # writing

    def words(self, entry: Entry) -> str:
        """An entry as one sentence with its day, as it is confirmed, read back and undone."""
        ...

    def draft(self, kind: str, **values: Any) -> Entry:
        """An entry of ``kind``, not yet written: of today unless ``on`` is given, recorded now."""
        ...

    def append(
        self, code: str, entries: Sequence[Entry], seen: int | None = None, *, confirmed: bool = False
    ) -> str:
        """Write ``entries`` of a case in one transaction; says what was written.

        ``seen`` is the newest entry id the screen knew: a case that has changed since is refused.
        ``confirmed``: a clock before the newest entry is right.
        """
        ...

    def begin(self, head: CaseHead, entries: Sequence[Entry], *, confirmed: bool = False) -> str:
        """Put a new case in the store with its first entries, or neither; says what was written."""
        ...

    def correct(
        self,
        code: str,
        entry: Entry,
        reason: str,
        replacement: Entry | None = None,
        *,
        confirmed: bool = False,
    ) -> str:
        """Withdraw an entry of a case, with another in its place if one is given; says what was written.

        Both stay on record.
        """
        ...

    def move(
        self, code: str, entry: Entry, reason: str, to: str, there: Entry, *, confirmed: bool = False
    ) -> str:
        """Withdraw an entry of a case and write it in the case it belongs to, in one action; says what."""
        ...

    def undo(self, code: str) -> str:
        """Withdraw what was last written for a case today; says what was withdrawn. Both entries are kept."""
        ...

    def tidy(self) -> None:
        """Clear what killed runs left beside the caseload, where it is certainly of this program."""
        ...

    def warm(self) -> None:
        """Load what the first writing needs while somebody still types, so that it does not wait for it."""
        ...


def every_entry(record: CaseRecord) -> list[Entry]:
    """All entries of a record by id, the oldest first."""
    from armrise.store.record.case import FIELD_OF_KIND

    kept = [entry for name in FIELD_OF_KIND.values() for entry in getattr(record, name)]
    return sorted(kept, key=lambda entry: entry.id)


def new_since(before: CaseRecord, after: CaseRecord, words: Callable[[Entry], str]) -> list[str]:
    """What became of a case between two readings, one sentence an entry, withdrawn ones said so."""
    old = {entry.id: entry for entry in every_entry(before)}
    new = {entry.id: entry for entry in every_entry(after)}
    came = [f"{entry.author} wrote {words(entry)}" for key, entry in new.items() if key not in old]
    went = [f"withdrawn: {words(entry)}" for key, entry in old.items() if key not in new]
    return came + went
