"""Small words every room prints alike: dates, days ago, plain numbers."""

from __future__ import annotations

from datetime import date
from decimal import Decimal


def words_date(day: date) -> str:
    """A date as a clinician reads it: "Mon 2 Mar"."""
    return f"{day:%a} {day.day} {day:%b}"


def full_date(day: date) -> str:
    """A date with its year: "Mon 2 Mar 2026"."""
    return f"{words_date(day)} {day.year}"


def days_ago(days: int) -> str:
    """ "today", "yesterday" or "n days ago"."""
    return "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"


def plain(value: Decimal) -> str:
    """A decimal without trailing zeros."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def count_days(days: int) -> str:
    """ "1 day" or "n days"."""
    return "1 day" if days == 1 else f"{days} days"
