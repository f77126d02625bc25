"""Small words every room prints alike: dates, days ago, numbers, and the clauses of a sentence.

The only room that makes a date into words: in English, whatever the machine's language.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from decimal import Decimal

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAYS = tuple(name[:3] for name in WEEKDAYS)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


PROMPT = "The red-flag list is a prompt: a clean list rules nothing out."
"""Said wherever the list is asked or shown (practice notes 6.4)."""


def month_day(day: date) -> str:
    """A date without the name of its day: "2 Mar"."""
    return f"{day.day} {MONTHS[day.month - 1]}"


def day_year(day: date) -> str:
    """A date as letters have it, without the name of its day: "2 Mar 2026"."""
    return f"{month_day(day)} {day.year}"


def words_date(day: date) -> str:
    """A date as a clinician reads it: "Mon 2 Mar"."""
    return f"{DAYS[day.weekday()]} {month_day(day)}"


def full_date(day: date) -> str:
    """A date with its year: "Mon 2 Mar 2026"."""
    return f"{words_date(day)} {day.year}"


def near_date(day: date, beside: date) -> str:
    """A date as it is said beside another one, to a patient too: with its year when that is not the same."""
    return words_date(day) if day.year == beside.year else full_date(day)


def clock_words(at: str | None) -> str:
    """The hour of a slot, to follow its date: " 09:20"; nothing where it was not told."""
    return f" {at}" if at else ""


def time_words(at: datetime) -> str:
    """The time of day of an instant on the clock of its zone: "09:20".

    In the hour that the clocks give twice in autumn, which of the two is meant: "01:30 (second time)". An
    instant that carries an offset alone, and no zone, tells no such hour.
    """
    told = f"{at.hour:02}:{at.minute:02}"
    if at.replace(fold=0).utcoffset() == at.replace(fold=1).utcoffset():
        return told
    return f"{told} ({'second' if at.fold else 'first'} time)"


def days_ago(days: int) -> str:
    """ "today", "yesterday" or "n days ago"."""
    return "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"


def with_unit(value: str, unit: str) -> str:
    """A value with its unit, of one in the singular: "3 nights a week", "1 night a week"."""
    if value == "1":
        noun, blank, rest = unit.partition(" ")
        unit = noun.removesuffix("s") + blank + rest
    return f"{value} {unit}".strip()


def count_days(days: int) -> str:
    """ "1 day" or "n days"."""
    return "1 day" if days == 1 else f"{days} days"


def plain(value: Decimal) -> str:
    """A decimal without trailing zeros."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def value_words(value: Decimal | str | int | None) -> str:
    """A number, or the word for why there is none; nothing at all is "not recorded"."""
    if value is None:
        return "not recorded"
    return str(value) if isinstance(value, str | int) else plain(value)


def rules_words(stamp: str) -> str:
    """A rule version with its sign-off, "rules v1 NOT SIGNED OFF"; nothing where none is stated."""
    return f"rules {stamp if stamp.startswith('v') else f'v{stamp}'}" if stamp else ""


# the clauses of a sentence


def listed(*words: str | None) -> str:
    """The words that say something, with commas."""
    return ", ".join(word for word in words if word)


def joined(*clauses: str | None) -> str:
    """The clauses that say something, with semicolons."""
    return "; ".join(clause for clause in clauses if clause)


def placed(preposition: str, day: str) -> str:
    """ " on Mon 2 Mar", or nothing where the sentence goes without its day."""
    return f" {preposition} {day}" if day else ""
