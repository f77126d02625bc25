"""Dates as they are typed and printed in forms, and the warning about names in notes."""

from __future__ import annotations

import re
from datetime import date, timedelta

from armrise.store.record.fields import Absence
from armrise.store.record.words import DAYS, MONTHS, WEEKDAYS, days_ago, full_date, words_date


def day(on: date, *, year: bool = True) -> str:
    """A date as "Mon 2 Mar 2026"; without the year "Mon 2 Mar"."""
    return full_date(on) if year else words_date(on)


def weekday(on: date) -> str:
    """The name of the day in full."""
    return WEEKDAYS[on.weekday()]


def ago(on: date, today: date) -> str:
    """How long before ``today``: "today", "yesterday", "5 days ago"; or "in 3 days"."""
    days = (today - on).days
    if days < 0:
        return "tomorrow" if days == -1 else f"in {-days} days"
    return days_ago(days)


def read_day(text: str, today: date, *, ahead: bool = False) -> date | None:
    """The date a clinician typed, or None.

    Taken are "2026-02-27", "27 Feb", "27 Feb 2026", "today", "yesterday", "tomorrow", a day's name (the last
    one, or the next one with ``ahead``), and a signed number of days from today ("-3", "+3").
    """
    words = text.strip().lower().replace(",", " ").split()
    if not words:
        return None
    joined = " ".join(words)
    if re.fullmatch(r"[+-]\d{1,3}", joined):
        return today + timedelta(days=int(joined))
    near = {"today": 0, "yesterday": -1, "tomorrow": 1}
    if joined in near:
        return today + timedelta(days=near[joined])
    return _named(words, today, ahead) or _calendar(words, today, ahead)


def read_time(text: str) -> str | None:
    """The time of day a clinician typed, as "09:20", or None; "9:20", "9.20", "0920" and "920" are it too."""
    match = re.fullmatch(r"([01]?\d|2[0-3])[:.]?([0-5]\d)", text.strip(), re.ASCII)
    return f"{int(match[1]):02}:{match[2]}" if match else None


def _named(words: list[str], today: date, ahead: bool) -> date | None:
    """The last or next day of that name, never today itself."""
    if len(words) != 1 or not words[0].isalpha() or len(words[0]) < 3:
        return None
    for number, name in enumerate(WEEKDAYS):
        if name.lower().startswith(words[0]):
            if ahead:
                return today + timedelta(days=(number - today.weekday()) % 7 or 7)
            return today - timedelta(days=(today.weekday() - number) % 7 or 7)
    return None


def _calendar(words: list[str], today: date, ahead: bool) -> date | None:
    """An ISO date, or day and month with or without the year and the day's name."""
    try:
        if len(words) == 1:
            return date.fromisoformat(words[0])
        if words[0][:3].title() in DAYS:
            words = words[1:]
        months = [m.lower() for m in MONTHS]
        month = months.index(words[1][:3]) + 1
        if len(words) > 2:
            return date(int(words[2]), month, int(words[0]))
        return _nearest(int(words[0]), month, today, ahead)
    except (ValueError, IndexError):
        return None


def _nearest(number: int, month: int, today: date, ahead: bool) -> date | None:
    """Day and month in this year, or in the year before (after, with ``ahead``) over the turn of the year."""
    this = date(today.year, month, number)
    if not ahead and this > today + timedelta(days=180):
        return date(today.year - 1, month, number)
    if ahead and this < today - timedelta(days=180):
        return date(today.year + 1, month, number)
    return this


def score(value: int | Absence | None) -> str:
    """A score, or why there is none, in words."""
    return str(value.value) if isinstance(value, Absence) else "not asked" if value is None else str(value)


NOTE_WORDS = """
    January February March April June July August September October November December
    Spoke Told Rang Rings Will Would Has Had Says Said No Not Yes The This That They He She It Is Was
    Patient Message Left Called Asked Advised Agreed Pain Load Sling Exercise Exercises Programme
    Morning Night Review Plan Surgeon Carer Band Still Back Better Worse Feels Felt Happy Cut
    And But Due Stop Stopped Keep Wants Ring Call Phone For From With Awaiting Waiting Sent
    Please Thank Thanks We You Your Our If As At In On To Could Can Would Should Both Since After Before
"""
PLAIN = {*DAYS, *WEEKDAYS, *MONTHS, *NOTE_WORDS.split()}
"""Capitalised words that are no name: days, months, and how notes begin."""


def identifying(text: str) -> str:
    """A warning when a note looks as if it names or numbers a person, else an empty string.

    Capitalised words and runs of six or more digits are looked for (practice note 6.3). Never a refusal.
    """
    names = [w for w in re.findall(r"\b[A-Z][a-z]+\b", text) if w not in PLAIN]
    if names:
        return f'"{names[0]}" may be a name: notes carry no names.'
    if re.search(r"\d(?:[\s().-]?\d){5,}", text):
        return "this looks like a phone number: notes carry none."
    return ""
