"""Why a case stood where it stood: its place on the list of an earlier day, and what was told only later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.changed import differences, entries_between
from armrise.store.clinic.standing.stand import stand
from armrise.store.clinic.standing.triage import why_above
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.light import dataclass
from armrise.store.rules.pathway import Rules

_NAMED = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def ordinal(number: int) -> str:
    """ "third", "11th", "22nd": a place on the list; 1 is the top."""
    if number <= len(_NAMED):
        return _NAMED[number - 1]
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


@dataclass(frozen=True, slots=True)
class Place:
    """A case on a list: ``number`` 1 is the top; the cases directly above and below, None at an end."""

    standing: Standing
    number: int
    of: int
    before: Standing | None
    after: Standing | None

    @property
    def words(self) -> str:
        """ "third of 36"."""
        return f"{ordinal(self.number)} of {self.of}"

    @property
    def sentences(self) -> tuple[str, ...]:
        """Why the case before stood above it, and why it stood above the next."""
        above = (why_above(self.before, self.standing),) if self.before else ()
        return (*above, why_above(self.standing, self.after)) if self.after else above


def place_of(listed: Sequence[Standing], code: str) -> Place | None:
    """The place of a case among the standings of a list in order; None when it is not on it."""
    for at, standing in enumerate(listed):
        if standing.code == code:
            before = listed[at - 1] if at else None
            after = listed[at + 1] if at + 1 < len(listed) else None
            return Place(standing, at + 1, len(listed), before, after)
    return None


@dataclass(frozen=True, slots=True)
class Later:
    """An entry that was recorded, or withdrawn, after the instant looked at, about a day up to then."""

    entry: Entry
    withdrawn: bool
    changes: tuple[str, ...]
    """What it alone would have changed, had it been known; empty when nothing."""


@dataclass(frozen=True, slots=True)
class Since:
    """What is known since: the entries, and what all of them together change of that day's reading."""

    later: tuple[Later, ...]
    changes: tuple[str, ...]


def known_since(then: CaseRecord, now: CaseRecord, rules: Rules, day: date) -> Since:
    """What came to be known of days up to ``day`` after ``then`` was all that was known.

    Both records are of the same case in full. What happened after ``day`` is no part of it.
    """
    came, _ = entries_between(then, now)
    gone, _ = entries_between(now, then)
    was = stand(then, rules, day)
    moved = [(entry, False) for entry in came] + [(entry, True) for entry in gone]
    later = [
        Later(entry, withdrawn, tuple(differences(was, stand(_moved(then, entry, withdrawn), rules, day))))
        for entry, withdrawn in moved
        if entry.on <= day
    ]
    return Since(tuple(later), tuple(differences(was, stand(now, rules, day))))


def _moved(record: CaseRecord, entry: Entry, withdrawn: bool) -> CaseRecord:
    """``record`` without an entry of it, or with one more."""
    name = FIELD_OF_KIND[entry.KIND]
    kept: list[Any] = [e for e in getattr(record, name) if e.id != entry.id]
    if not withdrawn:
        kept = sorted([*kept, entry], key=lambda e: (e.on, e.id))
    changes: dict[str, Any] = {name: tuple(kept)}
    return replace(record, **changes)
