"""Why an action is not written: the errors of the ledger, and the checks that raise them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date, datetime

from armrise.store.caseload.ahead import CLOCK_SLACK
from armrise.store.database.instants import EPOCH, MICROSECOND
from armrise.store.database.place import Store, StoreError
from armrise.store.entries.words import CaseHead, Fault
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.phrase import dated
from armrise.store.record.words import full_date, time_words

UNDONE = "undone on the day it was written"
"""The reason of the corrections that an undo writes."""


class Refused(StoreError):
    """An action that was not written; ``faults`` holds every fault when there are several."""

    def __init__(self, message: str, faults: Sequence[Fault] = ()) -> None:
        super().__init__(message)
        self.faults = tuple(faults)


class ChangedSinceOpened(Refused):
    """Somebody recorded something in the case since it was opened: ``entries``, oldest first."""

    def __init__(self, code: str, entries: Sequence[Entry]) -> None:
        what = "; ".join(f"{dated(entry)} by {entry.author or 'an unnamed author'}" for entry in entries)
        super().__init__(
            f"{code} changed since you opened it ({what}): look at it again, nothing was written"
        )
        self.entries = tuple(entries)


def describe(entry: Entry) -> str:
    """Which entry is meant, in a few words: its kind and date."""
    return f"{entry.KIND} of {full_date(entry.on)}"


def refuse_undo(code: str, batch: Sequence[Entry], today: date) -> None:
    """Refuse an undo unless ``batch`` is an action of ``today`` that is no undo itself."""
    if not batch:
        say = "nothing was recorded in it at the keyboard, or a file came later"
        raise Refused(f"nothing to undo in {code}: {say}")
    if all(isinstance(entry, Correction) and entry.reason == UNDONE for entry in batch):
        raise Refused(f"nothing to undo in {code}: the last action was undone already")
    if batch[-1].recorded_on != today:
        raise Refused(
            f"{describe(batch[-1])} in {code} was written on {full_date(batch[-1].recorded_on)}, "
            "undo is for the same day: correct it instead"
        )


def refuse_changed(code: str, entries: Sequence[Entry]) -> None:
    """Refuse when entries came in since the case was opened."""
    if entries:
        raise ChangedSinceOpened(code, entries)


def refuse_second_case(same: Iterable[str], head: CaseHead, is_open: Callable[[str], bool]) -> None:
    """Refuse a case of a person and side when one of the cases they have, ``same``, is still open."""
    for code in same:
        if is_open(code):
            raise Refused(
                f"{code} of person {head.person} {head.side} is not discharged, and a shoulder has one open "
                f"case: record in {code}, or give the new case another person"
            )


def refuse_known_codes(known: Collection[str], codes: Sequence[str]) -> None:
    """Refuse case codes that the store has already."""
    taken = [code for code in codes if code in known]
    if taken:
        more = f" and {len(taken) - 1} more" if len(taken) > 1 else ""
        verb = "are" if more else "is"
        raise Refused(f"{taken[0]}{more} {verb} in the store already: nothing was taken, choose another code")


def wrong_clock(store: Store, now: datetime, today: date, newest: int, typed: int) -> str:
    """What a clock before the newest entry is told, empty for any other; of a file the day alone counts.

    ``newest`` is when anything was recorded last, ``typed`` when something at the keyboard was: microseconds
    UTC, 0 for nothing. Entries that were found to lie ahead are no part of it.
    """
    last = store.local(EPOCH + newest * MICROSECOND)
    if store.today(last) > today or EPOCH + typed * MICROSECOND > now + CLOCK_SLACK:
        return (
            f"the clock says {now:%Y-%m-%d} {time_words(now)}, before the newest entry was recorded "
            f"({last:%Y-%m-%d} {time_words(last)}): set the clock, or confirm that it is right"
        )
    return ""
