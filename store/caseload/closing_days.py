"""The clinic's closing days: remembered beside the record, with the country whose public holidays it keeps.

They are no record and may change. Public holidays come from a library that is an extra; where it is missing
they are not known, and that is said.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

from armrise.store.database.place import Store, StoreError, remember, remembered
from armrise.store.database.unreadable import making
from armrise.store.entries.values import RefusalError
from armrise.store.entries.values import day as read_day
from armrise.store.record.closing import WEEKEND, Closing, Span
from armrise.store.record.light import dataclass
from armrise.store.record.words import WEEKDAYS

NAME = "closing days"
MOST = 100
NONE = "none"
WITHOUT = "public holidays need one extra library: pip install 'armrise[holidays]', then say it again"
NOT_KNOWN = "not known here, {region} needs one extra library: pip install 'armrise[holidays]'"
_REGION = re.compile(r"[A-Z]{2}(/[A-Za-z0-9 _-]{1,30})?")


@dataclass(frozen=True, slots=True)
class Kept:
    """What the clinic said: weekdays (Monday is 0), days of its own, a region such as "GB/ENG" or none."""

    weekdays: frozenset[int] = WEEKEND
    spans: tuple[Span, ...] = ()
    region: str = ""


def kept(store: Store) -> Kept:
    """What the clinic said; without anything said it is closed on Saturdays and Sundays."""
    text = remembered(store, NAME)
    if not text:
        return Kept()
    with making(f"remembered {NAME}"):
        told = json.loads(text)
        spans = tuple(Span(date.fromisoformat(a), date.fromisoformat(b)) for a, b in told["days"])
        return Kept(frozenset(told["weekdays"]), spans, told["region"] + "")


def closing(store: Store, today: date) -> Closing:
    """When the clinic is closed, for dates of the year before ``today`` to two years ahead."""
    said = kept(store)
    years = range(today.year - 1, today.year + 3)
    public: Mapping[date, str] = {}
    if said.region:
        with suppress(StoreError):  # without the library they are not known, which the command says
            public = public_holidays(said.region, tuple(years))
    return Closing(said.weekdays, said.spans, public)


def not_known(store: Store) -> str:
    """That the public holidays of the clinic's region cannot be looked up; empty when they can."""
    region = kept(store).region
    try:
        public_holidays(region, (2026,)) if region else None
    except StoreError:
        return NOT_KNOWN.format(region=region)
    return ""


@cache
def public_holidays(region: str, years: tuple[int, ...]) -> Mapping[date, str]:
    """The public holidays of a region such as "GB/ENG". Raises a store error, one sentence."""
    try:
        import holidays
    except ImportError:
        raise StoreError(WITHOUT) from None
    country, _, part = region.partition("/")
    of: Any = holidays
    try:
        return dict(of.country_holidays(country, subdiv=part or None, years=list(years)))
    except (NotImplementedError, KeyError, ValueError):
        known = ", ".join(sorted(of.list_supported_countries().get(country, ())))
        say = (
            f"allowed of {country}: {known}" if known else "allowed is a country of ISO 3166, as GB or GB/ENG"
        )
        raise StoreError(f'public holidays of "{region}" are not known, {say}') from None


# --- saying it ----------------------------------------------------------------------------------------------


def say_weekdays(store: Store, text: str) -> None:
    """Set the days of each week on which the clinic is closed: "Sat Sun", or "none"."""
    words = [] if text.strip().casefold() == NONE else text.replace(",", " ").split()
    found = {_weekday(word) for word in words}
    if len(found) == len(WEEKDAYS):
        raise StoreError("a clinic is open on some day of the week: leave one out")
    _keep(store, replace(kept(store), weekdays=frozenset(found)))


def say_region(store: Store, text: str) -> None:
    """Set whose public holidays the clinic keeps: "GB/ENG", "DE/BY", or "none"."""
    region = "" if text.strip().casefold() == NONE else text.strip()
    if region:
        country, sign, part = region.partition("/")
        region = f"{country.upper()}{sign}{part}"
        if not _REGION.fullmatch(region):
            raise StoreError(f'public holidays of "{text}": say a country and a part of it, as GB/ENG')
        public_holidays(region, (2026,))
    _keep(store, replace(kept(store), region=region))


def add_days(store: Store, text: str) -> None:
    """Add days on which the clinic is closed: "2026-12-24", or "2026-12-24..2027-01-02"."""
    said, span = kept(store), _span(text)
    if len(said.spans) == MOST:
        raise StoreError(f"there are {MOST} closing days already, drop some first")
    _keep(store, replace(said, spans=tuple(sorted({*said.spans, span}))))


def drop_days(store: Store, text: str) -> None:
    """Forget days that were added, named as they were."""
    said, span = kept(store), _span(text)
    if span not in said.spans:
        there = ", ".join(map(span_words, said.spans)) or NONE
        raise StoreError(f"{span_words(span)} is no closing day that was added, there are: {there}")
    _keep(store, replace(said, spans=tuple(one for one in said.spans if one != span)))


def span_words(span: Span) -> str:
    """Days as they are typed."""
    return span.first.isoformat() if span.first == span.last else f"{span.first}..{span.last}"


def weekday_words(weekdays: Iterable[int]) -> str:
    """Days of the week as they are typed."""
    return " ".join(WEEKDAYS[day][:3] for day in sorted(weekdays)) or NONE


def _weekday(word: str) -> int:
    found = [
        n for n, name in enumerate(WEEKDAYS) if len(word) > 2 and name.casefold().startswith(word.casefold())
    ]
    if len(found) != 1:
        raise StoreError(f'"{word}" is no day of the week, allowed are {weekday_words(range(7))}, or none')
    return found[0]


def _span(text: str) -> Span:
    first, sign, last = (part.strip() for part in text.partition(".."))
    try:
        span = Span(read_day(first, date.min), read_day(last if sign else first, date.min))
    except RefusalError as fault:
        raise StoreError(f"closing day: {fault}") from None
    if span.last < span.first:
        raise StoreError(f"closing days: {span.last} lies before {span.first}, say the first day first")
    return span


def _keep(store: Store, said: Kept) -> None:
    days = [(span.first.isoformat(), span.last.isoformat()) for span in said.spans]
    told = {"weekdays": sorted(said.weekdays), "days": days, "region": said.region}
    with store.writing() as connection:
        remember(connection, {NAME: json.dumps(told)})
