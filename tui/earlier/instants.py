"""An earlier instant as somebody types it, and the clinic date and knowledge that belong to it."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.database.place import Store

ALLOWED = 'a day such as "3 Mar", "Tue", "-3" or "2026-03-03", with or without a time such as "08:05"'
FARTHEST_AHEAD = 1830
"""Days, by design: five years, more than any slot is booked or any review due ahead."""
_TIMED = re.compile(r"(?P<day>.*?)(?:[ ,]+|T)(?P<hour>\d{1,2})[:.](?P<minute>\d{2})")


class Then(NamedTuple):
    """The clinic date looked at, and the last instant whose entries were known (None: everything)."""

    today: date
    known_at: datetime | None


def end_of(store: Store, day: date) -> Then:
    """The end of a clinic day: all that was recorded on it is known. Raises StoreError for one far ahead."""
    refuse_far(store, day)
    if store.clinic_date and store.clinic_date <= day:
        # The day of such a store never ends: what is recorded today counts as recorded on its clinic date.
        return Then(day, None)
    return Then(day, store.end_of_day(day))


def refuse_far(store: Store, day: date) -> None:
    """Raise StoreError for a day far ahead of the clinic date: every day up to it would be worked out."""
    from armrise.store.database.place import StoreError

    today = store.today()
    if (day - today).days > FARTHEST_AHEAD:
        raise StoreError(
            f"{day} lies {(day - today).days} days ahead of the clinic date {today}, "
            f"allowed are {FARTHEST_AHEAD}: take an earlier day"
        )


def read_then(text: str, store: Store, today: date) -> Then:
    """What ``text`` names: an instant on the clinic's clock, or with an offset on that one, or a whole day.

    ``today`` is the clinic date that "yesterday" and "-3" count from. Raises StoreError in one sentence.
    """
    from armrise.store.database.place import StoreError
    from armrise.store.entries.words import shown
    from armrise.tui.words.entries import read_day

    told = " ".join(text.split())
    if exact := _with_offset(told):
        refuse_far(store, store.local(exact).date())
        return Then(store.local(exact).date(), exact)
    timed = _TIMED.fullmatch(told)
    day = read_day(timed["day"] if timed else told, today)
    if day is None or not 1900 <= day.year <= 2199:
        raise StoreError(f"{shown(text)} names no instant, allowed is {ALLOWED}")
    if timed is None:
        return end_of(store, day)
    if int(timed["hour"]) > 23 or int(timed["minute"]) > 59:
        raise StoreError(f"{shown(text)} holds no time of a day, allowed are 00:00 to 23:59")
    refuse_far(store, day)
    return Then(day, _on_the_clock(store, day, time(int(timed["hour"]), int(timed["minute"]))))


def _with_offset(text: str) -> datetime | None:
    """An ISO instant that says its own offset."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo is not None and 1900 < found.year < 2199 else None


def _on_the_clock(store: Store, day: date, at: time) -> datetime:
    """The instant in UTC. Of an hour that comes twice the second is meant; one left out is refused."""
    from armrise.store.database.place import StoreError
    from armrise.store.record.clock import NoSuchTime

    try:
        return store.instant_at(day, at)
    except NoSuchTime as none:
        raise StoreError(f"{none}: the clocks went forward, take a later time") from None


def a_day(store: Store, then: Then, by: int) -> Then:
    """The same time of day ``by`` days on (negative: back); where clocks left it out, the day's end."""
    from armrise.store.database.place import StoreError

    day = then.today + timedelta(days=by)
    local = None if then.known_at is None else store.local(then.known_at)
    if local is None or local.date() != then.today or then.known_at == store.end_of_day(then.today):
        return end_of(store, day)
    try:
        return Then(day, _on_the_clock(store, day, local.time()))
    except StoreError:
        return end_of(store, day)


def words_then(store: Store, then: Then) -> str:
    """ "Tue 3 Mar 2026 08:05"; "Tue 3 Mar 2026, end of day"; both dates where they differ."""
    from armrise.store.record.words import time_words
    from armrise.tui.words.standing import day

    told = day(then.today)
    if then.known_at is None:
        return told
    local = store.local(then.known_at)
    whole = then.known_at == store.end_of_day(local.date())
    if local.date() == then.today:
        return f"{told}, end of day" if whole else f"{told} {time_words(local)}"
    return f"{told} with what was known {day(local.date())} {'at its end' if whole else time_words(local)}"
