"""The one way a screen reaches the caseload: reading, drafting, writing and undoing, each in a sentence.

A screen holds a :class:`Door` and nothing else of the store. Every method may be called from a worker thread,
because the store opens a connection of its own for each call; the modules of the store are imported on first
use, so that the frame is painted before them. The words of a write are made before it: what fails in a write
has written nothing, and whoever asked may say so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.every import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.phrase import dated

if TYPE_CHECKING:
    from armrise.store.caseload.timeline import Timeline
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.audit.period import Audit, Period
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.desk import Draft, Waiting
    from armrise.store.database.place import Store
    from armrise.store.entries.words import CaseHead
    from armrise.store.rules.pathway import Rules


class Opened(NamedTuple):
    """A case as a form opens it; ``seen`` is its newest entry, ``last`` what undo would withdraw."""

    record: CaseRecord
    standing: Standing
    seen: int
    last: tuple[Entry, ...]


class Door:
    """One clinician's way into one store on one clinic date.

    ``today`` is the clinic date, or a function giving it (a screen may stay open past midnight); ``now``
    gives the present instant, aware. ``author`` is the initials that every entry written here carries.
    """

    def __init__(
        self,
        store: Store,
        rules: Rules,
        author: str,
        today: date | Callable[[], date],
        now: Callable[[], datetime],
    ) -> None:
        self.store = store
        self.rules = rules
        self.author = author
        self.now = now
        self._today = today
        self._version: int | None = None

    @property
    def today(self) -> date:
        """The clinic date."""
        return self._today() if callable(self._today) else self._today

    @property
    def fictional(self) -> bool:
        """True for the invented demo caseload: every screen then says so."""
        return bool(self.store.fictional)

    # reading

    def standings(self) -> list[Standing]:
        """Every case on the list, in list order."""
        from armrise.store.caseload import read as caseload

        return caseload.standings(self.store, self.rules, self.today)

    def sweep(self) -> Minutes:
        """The weekly sweep: what was decided this week, and the queue that remains, in order."""
        from armrise.store.caseload.sweep import sweep

        return sweep(self.store, self.rules, self.today)

    def audit(self, period: Period, tell: Callable[[int, int], None] | None = None) -> Audit:
        """A period counted over every case; ``tell`` is told how far it is, and stops it by raising."""
        from armrise.store.caseload.audit import audit_store

        return audit_store(self.store, self.rules, period, author=self.author, tell=tell)

    def closed(self) -> list[tuple[str, str]]:
        """Closed cases by code, each with the day and the outcome in words."""
        from armrise.store.caseload.sweep import closed_cases

        return closed_cases(self.store)

    def standing(self, code: str) -> Standing:
        """What follows today for one case, from its whole record."""
        return self.open(code).standing

    def open(self, code: str) -> Opened:
        """One case opened for writing: its whole record, what follows from it, and how far it was known."""
        from armrise.store.caseload.read import newest_entry
        from armrise.store.clinic.standing.stand import stand

        newest = newest_entry(self.store, code)  # before the record: what comes between is seen as a change
        record = self.record(code)
        last = self._ledger().last_action(code) if newest else ()
        return Opened(record, stand(record, self.rules, self.today), newest, last)

    def record(self, code: str, known_at: datetime | None = None) -> CaseRecord:
        """The whole record of one case, either as known at an instant.

        Raises a store error in one sentence for an unknown code.
        """
        from armrise.store.caseload import read as caseload

        return caseload.case(self.store, code, known_at=known_at)

    def last_look(self, code: str) -> datetime | None:
        """When this clinician last left the case, on the clinic's clock; None is never."""
        from armrise.store.database import desk

        return desk.last_look(self.store, self.author, code)

    def looked(self, code: str) -> None:
        """Note that this clinician has looked at the case. Raises a store error."""
        from armrise.store.database import desk

        desk.looked(self.store, self.author, code, self.now())

    def timeline(self, code: str) -> Timeline:
        """Every entry of a case with what became of it, withdrawn ones too."""
        from armrise.store.caseload.timeline import read_timeline

        return read_timeline(self.store, code, self.rules, self.today)

    def heads(self) -> list[tuple[str, str, str]]:
        """Code, person and side of every case, closed ones too."""
        from armrise.store.caseload import read as caseload

        return caseload.heads(self.store)

    def own_past_cases(self, record: CaseRecord) -> str:
        """How long own past cases took in the present stage of a case, in words; empty for too few.

        Reads the steps of the whole store: for the screen of one case, never for the list.
        """
        from armrise.store.caseload.stays import own_past_cases

        return own_past_cases(self.store, record, self.rules, self.today)

    def header(self) -> dict[str, Any]:
        """What the head of the list says: fictional, as_of, data_until, rules, signed_off, backup_age.

        ``data_until`` is the newest recorded instant or None; ``backup_age`` a duration, None when no backup
        is known.
        """
        from armrise.store.caseload import read as caseload

        newest = caseload.newest_recorded(self.store)
        return {
            "fictional": self.fictional,
            "as_of": self.today,
            "data_until": newest,
            "rules": self.rules.version,
            "signed_off": self.rules.sign_off,
            "backup_age": self.backup_age(),
        }

    def backup_age(self) -> timedelta | None:
        """Time since the last backup of the store, None when none is known."""
        from armrise.store.database.place import last_backup

        taken = last_backup(self.store)
        return self.now() - taken if taken else None

    def changed(self) -> bool:
        """True when something was written since this was last asked (the first time: False)."""
        from armrise.store.caseload import read as caseload

        version = caseload.data_version(self.store)
        before, self._version = self._version, version
        return before is not None and before != version

    # forms not written yet

    def keep_unwritten(
        self, code: str, form: str, fields: dict[str, str], at: datetime | None = None
    ) -> None:
        """Keep what is typed in a form about a case; in a store opened for reading nothing is kept."""
        from armrise.store.database import desk

        if not self.store.read_only:
            desk.keep_draft(self.store, self.author, code, form, fields, at or self.now())

    def left_unwritten(self, code: str, form: str) -> Draft | None:
        """What this author left unwritten in a form about a case; None when nothing was."""
        from armrise.store.database import desk

        return desk.draft_of(self.store, self.author, code, form)

    def forget_unwritten(self, code: str, form: str) -> None:
        """Drop what was kept of a form: it was written, or forgotten on purpose."""
        from armrise.store.database import desk

        if not self.store.read_only:
            desk.drop_draft(self.store, self.author, code, form)

    def unwritten(self) -> list[Waiting]:
        """The forms this author left unwritten, the one typed last first."""
        from armrise.store.database import desk

        return desk.drafts(self.store, self.author)

    # writing

    def words(self, entry: Entry) -> str:
        """An entry as one sentence with its day, as it is confirmed, read back and undone."""
        return dated(entry, self.rules, year=self.today.year)

    def draft(self, kind: str, **values: Any) -> Entry:
        """An entry of ``kind``, not yet written: of today unless ``on`` is given, recorded now."""
        instant = self.now()
        values.setdefault("on", self.today)
        return KINDS[kind](
            recorded_at=instant, recorded_on=self.store.today(instant), author=self.author, **values
        )

    def append(
        self, code: str, entries: Sequence[Entry], seen: int | None = None, *, confirmed: bool = False
    ) -> str:
        """Write ``entries`` of a case in one transaction; says what was written.

        ``seen`` is the newest entry id the screen knew, ``confirmed`` that a clock before the newest entry is
        right. Raises a store error in one sentence, with nothing written, when the store refuses or the case
        has changed since.
        """
        said = f"{code}: {'; '.join(map(self.words, entries))}. Written."
        self._ledger().append(code, entries, seen=seen, confirmed=confirmed)
        return said

    def begin(self, head: CaseHead, entries: Sequence[Entry], *, confirmed: bool = False) -> str:
        """Put a new case in the store with its first entries, or neither; says what was written.

        Raises a store error in one sentence, with nothing written, when the store refuses.
        """
        told = [f"{head.code} {head.side} registered", *map(self.words, entries)]
        self._ledger().begin(head, entries, confirmed=confirmed)
        return f"{'; '.join(told)}. Written."

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

        Both stay on record. Raises a store error in one sentence, with nothing written.
        """
        instead = f", instead: {self.words(replacement)}" if replacement else ""
        said = f"{code}: withdrawn: {self.words(entry)} ({reason}){instead}. Written."
        self._ledger().correct(entry.id, reason, replacement, confirmed=confirmed)
        return said

    def move(
        self, code: str, entry: Entry, reason: str, to: str, there: Entry, *, confirmed: bool = False
    ) -> str:
        """Withdraw an entry of a case and write it in the case it belongs to, in one action; says what.

        Raises a store error in one sentence, with nothing written in either case.
        """
        said = f"moved from {code} to {to}: {self.words(there)} ({reason}). Written in both."
        self._ledger().move(entry.id, reason, to, there, confirmed=confirmed)
        return said

    def undo(self, code: str) -> str:
        """Withdraw what was last written for a case today; says what was withdrawn. Both entries are kept."""
        return self._ledger().undo(code)

    def warm(self) -> None:
        """Load what the first writing needs while somebody still types, so that it does not wait for it."""
        from importlib import import_module

        for name in ("armrise.store.caseload.write", "sqlmodel"):
            import_module(name)

    def _ledger(self) -> Any:
        from armrise.store.caseload.write import Ledger

        return Ledger(self.store, self.author, self.now, self.rules)


def every_entry(record: CaseRecord) -> list[Entry]:
    """All entries of a record by id, the oldest first."""
    kept = [entry for name in FIELD_OF_KIND.values() for entry in getattr(record, name)]
    return sorted(kept, key=lambda entry: entry.id)


def new_since(before: CaseRecord, after: CaseRecord, words: Callable[[Entry], str] = dated) -> list[str]:
    """What became of a case between two readings, one sentence an entry, withdrawn ones said so."""
    old = {entry.id: entry for entry in every_entry(before)}
    new = {entry.id: entry for entry in every_entry(after)}
    came = [f"{entry.author} wrote {words(entry)}" for key, entry in new.items() if key not in old]
    went = [f"withdrawn: {words(entry)}" for key, entry in old.items() if key not in new]
    return came + went
