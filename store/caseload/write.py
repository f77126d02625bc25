"""Writing: every user action is one transaction, and nothing that is written is ever changed.

A correction is one more entry that withdraws an earlier one; undo is a correction of everything the last
action wrote. The instant and the clinic date of recording are put on here, the same for one action's entries.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, replace
from datetime import date, datetime
from functools import cache
from typing import TYPE_CHECKING

from armrise.store.caseload import ahead
from armrise.store.caseload.read import read_case, unknown_case
from armrise.store.caseload.refusal import (
    UNDONE,
    ChangedSinceOpened,
    Refused,
    describe,
    refuse_changed,
    refuse_known_codes,
    refuse_second_case,
    refuse_undo,
    wrong_clock,
)
from armrise.store.clinic.case.view import View
from armrise.store.database import chain
from armrise.store.database.bulk import Stamp, insert_cases, insert_entries
from armrise.store.database.driver import Connection
from armrise.store.database.instants import EPOCH, FOREVER, came
from armrise.store.database.place import Store
from armrise.store.database.reading import entries_by_id, withdrawn
from armrise.store.entries.build import build
from armrise.store.entries.check import check_case
from armrise.store.entries.sheet import Place
from armrise.store.entries.words import CaseHead, Fault
from armrise.store.record.case import FIELD_OF_KIND, KINDS, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.phrase import dated

REASON_LONGEST = 200
"""What a reason may hold: the record type says so, and a test holds the two together."""

__all__ = ["ChangedSinceOpened", "Ledger", "Refused", "describe"]

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


class Ledger:
    """Writes for one author. ``now`` gives the aware instant; without ``rules`` those shipped hold."""

    def __init__(
        self, store: Store, author: str, now: Callable[[], datetime], rules: Rules | None = None
    ) -> None:
        self.store = store
        self.author = author
        self.now = now
        self._rules = rules

    @contextmanager
    def _action(self) -> Generator[Connection, None, None]:
        """One action in one transaction, which ends with its link in the chain."""
        with self.store.writing() as connection:
            yield connection
            if self.store.lasting:
                chain.extend(connection)

    def register(self, head: CaseHead) -> None:
        """Put a new case in the store. Raises :class:`Refused` when the code is taken or a field is wrong."""
        with self._action() as connection:
            self._register(connection, head)

    def begin(self, head: CaseHead, entries: Sequence[Entry], *, confirmed: bool = False) -> tuple[int, ...]:
        """Put a new case in the store with its first entries: both are written, or neither; the ids.

        Raises :class:`Refused`.
        """
        with self._action() as connection:
            case_id = self._register(connection, head)
            return self._append(connection, case_id, head.code, entries, confirmed)

    def _register(self, connection: Connection, head: CaseHead) -> int:
        known = connection.execute("SELECT code FROM cases WHERE code = ?", (head.code,))
        refuse_known_codes([code for (code,) in known], [head.code])
        today = self.store.today(self.now())
        self._refuse_faults(check_case(head, (), today=today, rules=self._rule_files()))
        sql = "SELECT code FROM cases WHERE person = ? AND side = ? ORDER BY code"
        same = [code for (code,) in connection.execute(sql, (head.person, head.side))]
        refuse_second_case(same, head, lambda code: self._is_open(connection, code))
        case_id = _next_id(connection, "cases")
        insert_cases(connection, case_id, [head])
        return case_id

    def _is_open(self, connection: Connection, code: str) -> bool:
        today = self.store.today(self.now())
        return View.of(read_case(connection, code), self._rule_files(), today).closed is None

    def append(
        self, code: str, entries: Sequence[Entry], *, seen: int | None = None, confirmed: bool = False
    ) -> tuple[int, ...]:
        """Record drafts of one case together; their ids. Everything is written, or nothing.

        ``seen`` is the newest entry of the case when it was opened. ``confirmed`` accepts a clock that stands
        before the newest entry. Raises :class:`Refused`, :class:`ChangedSinceOpened`, and for a code that is
        not known :class:`~armrise.store.caseload.read.UnknownCase`.
        """
        if not entries:
            return ()
        with self._action() as connection:
            case_id = _case_id(connection, code)
            if seen is not None:
                refuse_changed(code, _entries_by_id(connection, case_id, "id > ?", seen))
            return self._append(connection, case_id, code, entries, confirmed)

    def _append(
        self, connection: Connection, case_id: int, code: str, entries: Sequence[Entry], confirmed: bool
    ) -> tuple[int, ...]:
        if not entries:
            return ()
        stamped = self._stamped(connection, entries, confirmed=confirmed)
        self._check(read_case(connection, code), stamped)
        _write(connection, case_id, stamped)
        return tuple(entry.id for entry in stamped)

    def correct(
        self, entry_id: int, reason: str, replacement: Entry | None = None, *, confirmed: bool = False
    ) -> tuple[int, ...]:
        """Withdraw an entry, with another in its place if one is given; the ids written.

        Raises :class:`Refused`.
        """
        with self._action() as connection:
            case_id, code = self._to_withdraw(connection, entry_id)
            first = _next_id(connection)
            drafts = [replacement] if replacement else []
            today = self.store.today(self.now())
            drafts.append(_correction(today, entry_id, reason, first if replacement else None))
            return self._append(connection, case_id, code, drafts, confirmed)

    def move(
        self, entry_id: int, reason: str, code: str, entry: Entry, *, confirmed: bool = False
    ) -> tuple[int, ...]:
        """Withdraw an entry and write ``entry`` in the case ``code`` it belongs to; the ids written.

        The withdrawal names the case gone to, and both bear the number of one action, so that each half leads
        to the other. Raises :class:`Refused` and, for a code that is not known,
        :class:`~armrise.store.caseload.read.UnknownCase`.
        """
        with self._action() as connection:
            there = read_case(connection, code)
            case_id, origin = self._to_withdraw(connection, entry_id)
            if origin == code:
                raise Refused(f"the entry is in {code} already: name the other case, or replace it")
            drafts = [
                entry,
                _correction(self.store.today(self.now()), entry_id, moved_words(origin, code, reason)),
            ]
            arrived, gone = self._stamped(connection, drafts, confirmed=confirmed)
            self._check(there, [arrived])
            self._check(read_case(connection, origin), [gone])
            _write(connection, _case_id(connection, code), [arrived])
            _write(connection, case_id, [gone], batch=arrived.id)
        return arrived.id, gone.id

    @staticmethod
    def _to_withdraw(connection: Connection, entry_id: int) -> tuple[int, str]:
        """Id and code of the case of an entry that still stands; refused for any other."""
        sql = "SELECT c.id, c.code, e.kind FROM entry e JOIN cases c ON c.id = e.case_id WHERE e.id = ?"
        row = connection.execute(sql, (entry_id,)).fetchone()
        if row is None:
            raise Refused(f"there is no entry {entry_id}: look the case up again")
        case_id, code, kind = row
        if kind == Correction.KIND:
            raise Refused(f"entry {entry_id} is a correction: record what holds as a new entry instead")
        if entry_id in withdrawn(connection, [case_id], FOREVER).get(case_id, ()):
            raise Refused(f"entry {entry_id} is already withdrawn: look at {code} again")
        return case_id, code

    def undo(self, code: str) -> str:
        """Withdraw what the last action on a case wrote, on the clinic day it was written; says what.

        A move is one action in two cases: both halves are undone. Raises :class:`Refused`.
        """
        with self._action() as connection:
            case_id = _case_id(connection, code)
            batch = _newest_batch(connection, case_id)
            now = self.now()
            refuse_undo(code, batch, self.store.today(now))
            for one, entries in ((case_id, batch), *_other_half(connection, case_id)):
                drafts = [_correction(self.store.today(now), entry.id, UNDONE) for entry in entries]
                _write(connection, one, self._stamped(connection, drafts, confirmed=True))
            kept = [entry for entry in batch if not isinstance(entry, Correction)] or batch
            said = f"Undone: {code} {'; '.join(dated(entry, self._rule_files()) for entry in kept)}."
        return said

    def last_action(self, code: str) -> tuple[Entry, ...]:
        """What :meth:`undo` would withdraw; nothing when it would refuse."""
        with self.store.reading() as connection:
            batch = _newest_batch(connection, _case_id(connection, code))
        try:
            refuse_undo(code, batch, self.store.today(self.now()))
        except Refused:
            return ()
        return tuple(batch)

    def _rule_files(self) -> Rules:
        return self._rules or _shipped_rules()

    def _stamped(self, connection: Connection, drafts: Sequence[Entry], *, confirmed: bool) -> list[Entry]:
        """The drafts with ids, and with one instant and author of recording."""
        now, today, author = self._stamp(connection, confirmed=confirmed)
        return [
            replace(draft, id=number, recorded_at=now, recorded_on=today, author=draft.author or author)
            for number, draft in enumerate(drafts, _next_id(connection))
        ]

    def _stamp(self, connection: Connection, *, confirmed: bool) -> Stamp:
        """What recording states now. Raises :class:`Refused` for a clock behind the newest entry."""
        now = self.store.local(self.now())
        today = self.store.today(now)
        wrong = wrong_clock(self.store, now, today, *_last_recorded(connection))
        if wrong and not confirmed:
            raise Refused(wrong)
        if wrong:
            ahead.note(connection, self.store, now)
        return Stamp(now, today, self.author)

    def _check(self, record: CaseRecord, new: Sequence[Entry]) -> None:
        """Refuse what the new entries make wrong; what was wrong before is not theirs."""
        self._refuse_faults([fault for entry in new for fault in _field_faults(record.code, entry)])
        head = CaseHead(**{name: getattr(record, name) for name in CaseHead.__dataclass_fields__})
        old = [entry for kind in FIELD_OF_KIND.values() for entry in getattr(record, kind)]
        places = [Place(entry.id, f"entry {entry.id} ({describe(entry)})") for entry in old]
        places += [Place(entry.id, f"new {describe(entry)}") for entry in new]

        def faults(entries: list[Entry]) -> list[Fault]:
            today, rules = new[0].recorded_on, self._rule_files()
            return check_case(head, entries, today=today, rules=rules, places=places[: len(entries)])

        if found := faults([*old, *new]):
            before = set(faults(old))
            self._refuse_faults([fault for fault in found if fault not in before])

    @staticmethod
    def _refuse_faults(faults: Sequence[Fault]) -> None:
        if faults:
            raise Refused(str(faults[0]), faults)


@cache
def _shipped_rules() -> Rules:
    from armrise.store.rules.read import load

    return load()


def _field_faults(code: str, entry: Entry) -> list[Fault]:
    """What each field of an entry by itself may not hold: the same check as for a file and a form."""
    left_out = ("id", "recorded_at", "recorded_on")
    raw = {name: value for name, value in asdict(entry).items() if value is not None and name not in left_out}
    return build(entry.KIND, raw, case=code, label="new", base=entry.recorded_on)[1]


def _write(connection: Connection, case_id: int, entries: Sequence[Entry], batch: int | None = None) -> None:
    """Write entries of one case; ``batch`` is the number of their action where it began in another case."""
    insert_entries(connection, case_id, entries, batch=entries[0].id if batch is None else batch)


def moved_words(origin: str, code: str, reason: str) -> str:
    """The reason of a withdrawal whose entry goes to the case it belongs to, within what a reason holds."""
    return f"belongs to {code}, was entered in {origin}: {reason}"[:REASON_LONGEST]


def _next_id(connection: Connection, table: str = "entry") -> int:
    return (connection.execute(f"SELECT max(id) FROM {table}").fetchone()[0] or 0) + 1


def _last_recorded(connection: Connection) -> tuple[int, int]:
    """When anything was recorded last, and when something at the keyboard was; 0 is never.

    What was found to lie ahead of the clock is left out.
    """
    left_out, values = ahead.outside(ahead.noted(connection))
    newest = f"SELECT max(recorded_at_utc) FROM entry WHERE 1 = 1{left_out}"
    typed = (
        f"SELECT recorded_at_utc FROM entry WHERE batch > 0{left_out} "
        f"AND NOT EXISTS (SELECT 1 FROM {came('entry.id', 'entries')}) ORDER BY entry.id DESC LIMIT 1"
    )
    row = connection.execute(f"SELECT ({newest}), ({typed})", [*values, *values]).fetchone()
    return row[0] or 0, row[1] or 0


def _case_id(connection: Connection, code: str) -> int:
    row = connection.execute("SELECT id FROM cases WHERE code = ?", (code,)).fetchone()
    if row is None:
        raise unknown_case(code, connection)
    return row[0]


def _correction(on: date, corrects: int, reason: str, replaced_by: int | None = None) -> Correction:
    return Correction(
        on=on, recorded_at=EPOCH, recorded_on=on, corrects=corrects, replaced_by=replaced_by, reason=reason
    )


def _entries_by_id(connection: Connection, case_id: int, picked: str, value: int) -> list[Entry]:
    """Entries of a case of any kind, by id, ``picked`` by a condition from the sequence of ids."""
    sql = f"SELECT id, kind FROM entry WHERE case_id = ? AND {picked}"
    ids: dict[str, list[int]] = {}
    for entry_id, kind in connection.execute(sql, (case_id, value)):
        ids.setdefault(kind, []).append(entry_id)
    found = [entry for kind in KINDS if kind in ids for entry in entries_by_id(connection, kind, ids[kind])]
    return sorted(found, key=lambda entry: entry.id)


def _newest_batch(connection: Connection, case_id: int) -> list[Entry]:
    """What the last action on a case wrote; nothing when that came in a file, with its actions or without."""
    number = _batch_number(connection, case_id)
    return _entries_by_id(connection, case_id, "batch = ?", number) if number else []


def _batch_number(connection: Connection, case_id: int) -> int:
    sql = (
        f"SELECT batch, EXISTS (SELECT 1 FROM {came('entry.id', 'entries')}) "
        "FROM entry WHERE case_id = ? ORDER BY id DESC LIMIT 1"
    )
    found = connection.execute(sql, (case_id,)).fetchone()
    return found[0] if found and not found[1] else 0


def _other_half(connection: Connection, case_id: int) -> list[tuple[int, list[Entry]]]:
    """What the last action on a case wrote in another one (a move), by the other case's id.

    Raises :class:`Refused` when it was corrected there since: undoing one half would double or lose it.
    """
    number = _batch_number(connection, case_id)
    if not number:
        return []
    sql = "SELECT DISTINCT case_id FROM entry WHERE id >= ? AND batch = ? AND case_id <> ?"
    others = connection.execute(sql, (number, number, case_id)).fetchall()
    halves = [(one, _entries_by_id(connection, one, "batch = ?", number)) for (one,) in others]
    for one, entries in halves:
        if {entry.id for entry in entries} & withdrawn(connection, [one], FOREVER).get(one, set()):
            raise Refused("the entry was corrected in the other case since it was moved: correct it there")
    return halves
