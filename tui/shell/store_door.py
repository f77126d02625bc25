"""The door into a store.

The store opens a connection of its own for each call, or for several that follow at once. This is imported
once the frame is painted, and what the rows do not need is imported on first use: rules, record types and all
that reads a case. The words of a write are made before it: what fails in a write has written nothing, and
whoever asked may say so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.named_views import named_views
from armrise.store.database import desk
from armrise.store.exchange.backup.remembered import is_kept_in_a_file, last_backup
from armrise.store.record.clock import clinic_zone, today_in, utc_now
from armrise.store.verify.last import last_verified, remember_verified
from armrise.tui.shell.door import UNSOUND, Door, Header, Opened

if TYPE_CHECKING:
    from armrise.store.caseload.judged import Judged
    from armrise.store.caseload.timeline import Timeline
    from armrise.store.caseload.write import Ledger
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.audit.period import Audit, Period
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.desk import Draft, Waiting
    from armrise.store.database.place import Store
    from armrise.store.entries.words import CaseHead
    from armrise.store.exchange.backup.make import Made
    from armrise.store.kept.said import Said
    from armrise.store.record.case import CaseRecord
    from armrise.store.record.closing import Closing
    from armrise.store.record.kinds.head import Entry
    from armrise.store.rules.pathway import Rules
    from armrise.store.verify.result import Verified
    from armrise.tui.shell.keeping import Keeping

READ_ONLY = "This store is open for reading only, nothing can be written: close it and open it as its owner."


class StoreDoor(Door):
    """The door into one store.

    ``today`` is the clinic date, or a function giving it (a screen may stay open past midnight); ``now``
    gives the present instant, aware. ``rules`` may be a function that reads them: it is called once they are
    asked for.
    """

    def __init__(
        self,
        store: Store,
        rules: Rules | Callable[[], Rules],
        author: str,
        today: date | Callable[[], date],
        now: Callable[[], datetime],
    ) -> None:
        self.store = store
        self._rules = rules
        self.author = author
        self._now = now
        self._today = today
        self._version: int | None = None
        self.held: Judged | None = None
        """The list as it was last judged."""
        self.keeping: Keeping | None = None
        """The kept list of the store; None where none is used."""
        self.closing: Closing | None = None
        """When the clinic is closed, once a screen has asked."""
        self.tell: Callable[[int, int], None] = lambda judged, of: None
        """Told how many cases of the list are judged, and of how many, while somebody waits for it."""
        self._sound = True
        """False once a verification through this door found something wrong."""

    @property
    def rules(self) -> Rules:
        if callable(self._rules):
            self._rules = self._rules()
        return self._rules

    @property
    def said(self) -> Said:
        """What the first picture says of the rules: while they are not read, by the kept list."""
        if callable(self._rules) and self.keeping is not None and self.keeping.said is not None:
            return self.keeping.said
        from armrise.store.kept.said import said_of

        return said_of(self.rules)

    @property
    def today(self) -> date:
        return self._today() if callable(self._today) else self._today

    @property
    def fictional(self) -> bool:
        return self.store.fictional

    @property
    def cannot_write(self) -> str:
        return READ_ONLY if self.store.read_only else ""

    @property
    def encrypted(self) -> bool:
        return self.store.driver.encrypted

    def opened_by(self, passphrase: str) -> bool:
        from armrise.store.database.encrypted.unlock import is_opened_by

        return is_opened_by(self.store.driver, passphrase)

    def now(self) -> datetime:
        return self._now()

    def local(self, instant: datetime) -> datetime:
        return self.store.local(instant)

    def day_of(self, instant: datetime) -> date:
        return self.store.today(instant)

    # reading

    def several_readings(self) -> AbstractContextManager[None]:
        return self.store.several_readings()

    def standings(self) -> list[Standing]:
        from armrise.store.caseload.judged import judged
        from armrise.store.caseload.read import standings

        if self.store.known_at is not None:
            return standings(self.store, self.rules, self.today)
        before, today = self.held, self.today
        if self.keeping is not None and (before is None or before.mark is None or before.mark.today != today):
            before = self.keeping.of(today)
        # whoever reads at the same time in another thread begins with what was there before, and is as right
        self.held = found = judged(self.store, self.rules, today, before, tell=self.tell)
        return list(found.standings)

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
        return self.open(code).standing

    def open(self, code: str) -> Opened:
        from armrise.store.caseload.judging import judging
        from armrise.store.caseload.read import newest_entry
        from armrise.store.clinic.standing.stand import stand

        with self.several_readings():
            # before the record: what comes between is seen as a change
            newest = newest_entry(self.store, code)
            record = self.record(code)
            last = self._ledger().last_action(code) if newest else ()
        with judging(record, self.rules, self.today):
            return Opened(record, stand(record, self.rules, self.today), newest, last)

    def record(self, code: str, known_at: datetime | None = None) -> CaseRecord:
        """The whole record of one case, either as known at an instant."""
        from armrise.store.caseload.read import case

        return case(self.store, code, known_at=known_at)

    def last_look(self, code: str) -> datetime | None:
        """When this clinician last left the case, on the clinic's clock; None is never."""
        return desk.last_look(self.store, self.author, code)

    def looked(self, code: str) -> None:
        """Note that this clinician has looked at the case. Raises a store error."""
        desk.looked(self.store, self.author, code, self.now())

    def timeline(self, code: str) -> Timeline:
        from armrise.store.caseload.timeline import read_timeline

        return read_timeline(self.store, code, self.rules, self.today)

    def heads(self) -> list[tuple[str, str, str]]:
        from armrise.store.caseload.read import heads

        return heads(self.store)

    def own_past_cases(self, record: CaseRecord) -> str:
        """How long own past cases took in the present stage of a case, in words; empty for too few.

        Reads the steps of the whole store: for the screen of one case, never for the list.
        """
        from armrise.store.caseload.stays import own_past_cases

        return own_past_cases(self.store, record, self.rules, self.today)

    def header(self) -> Header:
        from armrise.store.caseload.recorded import newest_recorded

        newest, last, said = newest_recorded(self.store), last_verified(self.store), self.said
        return {
            "fictional": self.fictional,
            "as_of": self.today,
            "data_until": newest,
            "rules": said.version,
            "signed_off": said.signed_off,
            "backup_age": self.backup_age(),
            "backup_owed": newest is not None and self.is_to_be_kept,
            "verified": self.day_of(last.at) if last else None,
            "unsound": "" if self._sound and (last is None or last.sound) else UNSOUND,
            "plays": self.plays,
            "views": named_views(self.store),
        }

    @property
    def plays(self) -> bool:
        """True where the clinic date is fixed, and to another day than today."""
        fixed = self.store.clinic_date
        return fixed is not None and fixed != today_in(clinic_zone(self.store.zone))

    def backup_age(self) -> timedelta | None:
        """Time since the last backup of the store, None when none is known or its day is a played one."""
        taken = None if self.plays else last_backup(self.store)
        return self.now() - taken if taken else None

    @property
    def is_to_be_kept(self) -> bool:
        """True for a caseload of one's own that lasts, in a file: it is to have a backup."""
        return not self.store.read_only and not self.plays and is_kept_in_a_file(self.store)

    def _instant(self) -> datetime:
        """The present instant, also where the clinic's clock plays another day."""
        return utc_now() if self.plays else self.now()

    def back_up(self, stop: Callable[[], bool]) -> Made:
        """Copy the store into the folders that are to have a backup; ``stop`` is asked all the while.

        Raises a store error, and :class:`armrise.store.database.sqlite_copy.Stopped`.
        """
        from armrise.store.exchange.backup.make import back_up, folders_for

        return back_up(self.store, folders_for(self.store), self._instant(), stop)

    def backup_due(self) -> bool:
        """True when leaving is to make a backup."""
        from armrise.store.exchange.backup.remembered import is_due

        return is_due(self.store, self._instant())

    def tidy(self) -> None:
        from armrise.store.exchange.backup.leftovers import clear

        kept = is_kept_in_a_file(self.store)
        clear(self.store.path if kept else None, self._instant().timestamp())

    def verify(self, tell: Callable[[int, int], None] | None = None) -> Verified:
        """Look at the whole store, and remember what came of it; ``tell`` may stop it by raising."""
        from armrise.store.verify.verify import verify

        found = verify(self.store.driver, tell=tell)
        self._sound = found.sound
        if not self.store.read_only:
            remember_verified(self.store, found)
        return found

    def changed(self) -> bool:
        from armrise.store.caseload.recorded import data_version

        version = data_version(self.store)
        before, self._version = self._version, version
        return before is not None and before != version

    # forms not written yet

    def keep_unwritten(
        self, code: str, form: str, fields: dict[str, str], at: datetime | None = None
    ) -> None:
        if not self.store.read_only:
            desk.keep_draft(self.store, self.author, code, form, fields, at or self.now())

    def left_unwritten(self, code: str, form: str) -> Draft | None:
        return desk.draft_of(self.store, self.author, code, form)

    def forget_unwritten(self, code: str, form: str) -> None:
        if not self.store.read_only:
            desk.drop_draft(self.store, self.author, code, form)

    def unwritten(self) -> list[Waiting]:
        return desk.drafts(self.store, self.author)

    # what changed, and own marks

    def news(self) -> frozenset[str]:
        from armrise.store.caseload.news import news

        return news(self.store, self.author, self.now())

    def marked(self) -> frozenset[str]:
        return desk.marks(self.store, self.author)

    def mark(self, code: str, marked: bool) -> None:
        desk.mark(self.store, self.author, code, marked)

    # writing

    def words(self, entry: Entry) -> str:
        from armrise.store.record.phrase import dated

        return dated(entry, self.rules, year=self.today.year)

    def draft(self, kind: str, **values: Any) -> Entry:
        from armrise.store.record.case import KINDS

        instant = self.now()
        values.setdefault("on", self.today)
        return KINDS[kind](
            recorded_at=instant, recorded_on=self.day_of(instant), author=self.author, **values
        )

    def append(
        self, code: str, entries: Sequence[Entry], seen: int | None = None, *, confirmed: bool = False
    ) -> str:
        said = f"Written: {code} {'; '.join(map(self.words, entries))}."
        self._ledger().append(code, entries, seen=seen, confirmed=confirmed)
        return said

    def begin(self, head: CaseHead, entries: Sequence[Entry], *, confirmed: bool = False) -> str:
        told = [f"{head.code} {head.side}", *map(self.words, entries)]
        self._ledger().begin(head, entries, confirmed=confirmed)
        return f"Registered: {'; '.join(told)}."

    def correct(
        self,
        code: str,
        entry: Entry,
        reason: str,
        replacement: Entry | None = None,
        *,
        confirmed: bool = False,
    ) -> str:
        instead = f", instead: {self.words(replacement)}" if replacement else ""
        said = f"Withdrawn: {code} {self.words(entry)} ({reason}){instead}."
        self._ledger().correct(entry.id, reason, replacement, confirmed=confirmed)
        return said

    def move(
        self, code: str, entry: Entry, reason: str, to: str, there: Entry, *, confirmed: bool = False
    ) -> str:
        said = f"Moved from {code} to {to}, written in both: {self.words(there)} ({reason})."
        self._ledger().move(entry.id, reason, to, there, confirmed=confirmed)
        return said

    def undo(self, code: str) -> str:
        return self._ledger().undo(code)

    def warm(self) -> None:
        from importlib import import_module

        import_module("armrise.store.caseload.write")
        from armrise.store.database.written import make_ready
        from armrise.store.entries.build import FieldRule
        from armrise.store.entries.words import CaseHead
        from armrise.store.record.case import KINDS
        from armrise.store.record.light import write_out

        make_ready("session")  # a check-in, written most
        write_out(KINDS["session"], FieldRule, CaseHead)

    def _ledger(self) -> Ledger:
        from armrise.store.caseload.write import Ledger

        return Ledger(self.store, self.author, self.now, self.rules)


def into_store(door: Door | None) -> StoreDoor:
    """The door, where no key leads without a store behind it."""
    assert isinstance(door, StoreDoor)
    return door
