"""The history of one case as it is known: every entry ever written, the withdrawn ones and why among them.

What the rules read is :func:`armrise.store.caseload.read.case`, which leaves withdrawn entries out. This is
the other reading, for people: nothing is left out, and each entry says what became of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from sqlalchemy.orm import aliased
from sqlmodel import select

from armrise.store.caseload.judging import judging
from armrise.store.caseload.read import read_case
from armrise.store.caseload.recorded import known_up_to
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.contradictions import Contradiction, standing_contradictions
from armrise.store.database.classes.engine import Session as Asking
from armrise.store.database.classes.engine import driver
from armrise.store.database.classes.tables import Case, EntryLine, table_of
from armrise.store.database.driver import Connection
from armrise.store.database.instants import FOREVER
from armrise.store.database.place import Store
from armrise.store.database.reading import (
    WINDOWED,
    always,
    entries_of,
    entries_within,
    no_collecting,
)
from armrise.store.database.unreadable import known_kind
from armrise.store.record.case import KINDS, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import Override, Step
from armrise.store.record.light import NamedTuple, dataclass

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules


class Elsewhere(NamedTuple):
    """The other half of an entry that was moved between cases: the other case, its entry, the reason."""

    code: str
    entry_id: int
    reason: str


@dataclass(frozen=True, slots=True)
class Told:
    """One entry of a history and what is to be said beside it."""

    entry: Entry
    batch: int
    """The first id of the action that wrote it; 0 for an entry that came in a file."""
    withdrawn_by: Correction | None = None
    replaced_by: Entry | None = None
    """What stands instead, where this was withdrawn with something in its place."""
    replaces: Entry | None = None
    """What was withdrawn in favour of this."""
    why_replaced: Correction | None = None
    corrects: Entry | None = None
    """What this correction withdrew."""
    duplicate: bool = False
    contradiction: Contradiction | None = None
    resting_on: tuple[Entry, ...] = ()
    """Entries withdrawn after the verdict of this step or override was given, and recorded before it."""
    moved_to: Elsewhere | None = None
    moved_from: Elsewhere | None = None

    @property
    def days_late(self) -> int:
        """Whole days between happening and being recorded; 1 is how a next morning is told, and not late."""
        usual = 1 if isinstance(self.entry, Session) else 0
        return self.entry.days_late if self.entry.days_late > usual else 0

    @property
    def marked(self) -> bool:
        """True when something is to be said beside it."""
        return bool(
            self.withdrawn_by
            or self.replaces
            or self.corrects
            or self.duplicate
            or self.contradiction
            or self.resting_on
            or self.moved_from
            or self.moved_to
            or self.days_late
        )


@dataclass(frozen=True)
class Timeline:
    """The history of one case, oldest first by (happened date, id)."""

    record: CaseRecord
    told: tuple[Told, ...]
    newest: int
    """The newest entry id: what a writer names to notice that somebody wrote meanwhile."""
    places: Mapping[int, int] = field(default_factory=dict[int, int])

    def of(self, entry_id: int) -> Told | None:
        """What is told of the entry with this id."""
        place = self.places.get(entry_id)
        return None if place is None else self.told[place]


def read_timeline(store: Store, code: str, rules: Rules, today: date, known: int = FOREVER) -> Timeline:
    """Every entry of a case recorded up to ``known`` (microseconds UTC).

    Raises :class:`~armrise.store.caseload.read.UnknownCase` and StoreError.
    """
    known = min(known, known_up_to(store))
    with store.session() as session, no_collecting():
        record = read_case(driver(session), code, known)
        case_id, lines = _lines(session, code, known)
        entries = _entries(driver(session), case_id, {kind for kind, _ in lines.values()}, known)
        away, here = _moved(session, case_id)
    batches = {key: batch for key, (_, batch) in lines.items()}
    with judging(record, rules, today):
        return _timeline(record, entries, batches, rules, today, away, here)


def _lines(session: Asking, code: str, known: int) -> tuple[int, dict[int, tuple[str, int]]]:
    """The id of a case, and kind and action of each of its entries."""
    case_id = session.exec(select(Case.id).where(Case.code == code)).one()
    lines = select(EntryLine.id, EntryLine.kind, EntryLine.batch).where(
        EntryLine.case_id == case_id, EntryLine.recorded_at_utc <= known
    )
    return case_id, {key: (known_kind(key, kind, KINDS), batch) for key, kind, batch in session.exec(lines)}


def _entries(connection: Connection, case_id: int, kinds: Iterable[str], known: int) -> list[Entry]:
    found: list[Entry] = []
    for kind in kinds:
        if kind in WINDOWED:
            found += entries_within(connection, kind, [always(case_id)], known).get(case_id, [])
        else:
            found += entries_of(connection, kind, [case_id], known).get(case_id, [])
    return sorted(found, key=lambda entry: (entry.on, entry.id))


def _moved(session: Asking, case_id: int) -> tuple[dict[int, Elsewhere], dict[int, Elsewhere]]:
    """The corrections of a case that moved an entry away, and the entries that were moved here, by id.

    A move is one action in two cases: the entry where it belongs, and right after it the withdrawal.
    """
    mine, other, correction = aliased(EntryLine), aliased(EntryLine), table_of("correction").c

    def ask(step: int, withdrawal: type[EntryLine]) -> dict[int, Elsewhere]:
        halves = (
            select(mine.id, Case.code, other.id, correction.reason)
            .where(mine.case_id == case_id, other.case_id != case_id, mine.batch > 0)
            .where(other.id == mine.id + step, other.batch == mine.batch)
            .where(Case.id == other.case_id, correction.id == withdrawal.id)
        )
        found = session.exec(halves).all()
        return {key: Elsewhere(code, entry_id, reason) for key, code, entry_id, reason in found}

    return ask(-1, mine), ask(1, other)


def effective(corrections: Iterable[Correction]) -> dict[int, Correction]:
    """The correction that withdrew each entry, by the entry's id; a correction may have been withdrawn too.

    The same reading as ``reading.withdrawn``: the newest first, for one may withdraw another.
    """
    by_entry: dict[int, Correction] = {}
    for correction in sorted(corrections, key=lambda c: c.id, reverse=True):
        if correction.id not in by_entry:
            by_entry.setdefault(correction.corrects, correction)
    return by_entry


def _timeline(
    record: CaseRecord,
    entries: Sequence[Entry],
    batches: Mapping[int, int],
    rules: Rules,
    today: date,
    away: Mapping[int, Elsewhere],
    here: Mapping[int, Elsewhere],
) -> Timeline:
    by_id = {entry.id: entry for entry in entries}
    corrections = [entry for entry in entries if isinstance(entry, Correction)]
    gone = effective(corrections)
    instead = {c.replaced_by: c for c in gone.values() if c.replaced_by is not None}
    contradicted = standing_contradictions(View.of(record, rules, today))
    twice = _duplicates(record, timedelta(minutes=float(rules["contradiction.duplicate_minutes"])))

    def told(entry: Entry) -> Told:
        by, why = gone.get(entry.id), instead.get(entry.id)
        return Told(
            entry,
            batches.get(entry.id, 0),
            withdrawn_by=by,
            replaced_by=by_id.get(by.replaced_by or 0) if by else None,
            replaces=by_id.get(why.corrects) if why else None,
            why_replaced=why,
            corrects=by_id.get(entry.corrects) if isinstance(entry, Correction) else None,
            duplicate=entry.id in twice,
            contradiction=contradicted.get(entry.id),
            resting_on=_withdrawn_since(entry, gone, by_id),
            moved_to=away.get(by.id) if by else away.get(entry.id),
            moved_from=here.get(entry.id),
        )

    every = tuple(told(entry) for entry in entries)
    places = {one.entry.id: place for place, one in enumerate(every)}
    return Timeline(record, every, max(by_id, default=0), places)


def _recorded(entry: Entry) -> tuple[object, int]:
    return entry.recorded_at, entry.id


def _withdrawn_since(
    verdict: Entry, gone: Mapping[int, Correction], by_id: Mapping[int, Entry]
) -> tuple[Entry, ...]:
    """What a stored verdict may have rested on and was withdrawn afterwards (practice note 6.2)."""
    given = verdict.verdict if isinstance(verdict, Step) else isinstance(verdict, Override)
    if not given:
        return ()
    return tuple(
        by_id[key]
        for key, correction in gone.items()
        if key in by_id
        and not isinstance(by_id[key], Correction)
        and key != verdict.id
        and _recorded(by_id[key]) < _recorded(verdict) < _recorded(correction)
    )


def _duplicates(record: CaseRecord, apart: timedelta) -> set[int]:
    """Identical check-ins of one day recorded within minutes of each other: both are questioned."""
    alike: dict[object, list[Session]] = {}
    for session in record.sessions:
        alike.setdefault((session.on, session.during, session.later, session.morning), []).append(session)
    found: set[int] = set()
    for same in alike.values():
        for one, two in pairwise(same):
            if abs(two.recorded_at - one.recorded_at) <= apart:
                found |= {one.id, two.id}
    return found
