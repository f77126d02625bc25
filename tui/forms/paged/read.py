"""Dates and totals as a clinician types them in a visit form: the value, or one sentence about it. Pure."""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.record.fields import Absence
from armrise.store.record.words import plain
from armrise.tui.words.entries import day, read_day

WEEKS_BACK = re.compile(r"(\d{1,3})\s*w")
TOTAL = re.compile(r"\d{1,4}(?:\.\d{1,2})?")
INCOMPLETE, DECLINED = "i", "d"


def read_when(text: str, today: date, *, ahead: bool = False, label: str = "date") -> tuple[date | None, str]:
    """The date in ``text`` and what is wrong with it; (None, "") for an empty text."""
    if not text.strip():
        return None, ""
    weeks = WEEKS_BACK.fullmatch(text.strip().lower())
    when = today - timedelta(weeks=int(weeks[1])) if weeks else read_day(text, today, ahead=ahead)
    example = "27 Mar, +14 or 2026-03-27" if ahead else "27 Feb, -60, 12w or 2026-02-27"
    if when is None:
        return None, f'{label}: "{text}" is no date; say {example}.'
    if not ahead and when > today:
        return None, f'{label}: "{text}" is {day(when)} and lies ahead; at the latest {day(today)}.'
    if ahead and when < today:
        return None, f'{label}: "{text}" is {day(when)} and lies behind; at the earliest {day(today)}.'
    return when, ""


def read_total(text: str, label: str, low: Decimal, high: Decimal) -> tuple[Decimal | Absence | None, str]:
    """The total in ``text`` (None: incomplete) and what is wrong with it. Empty is not asked."""
    key = text.strip().lower()
    if not key:
        return Absence.NOT_ASKED, ""
    if key == INCOMPLETE:
        return None, ""
    if key == DECLINED:
        return Absence.DECLINED, ""
    allowed = f"allowed is {plain(low)} to {plain(high)}, i incomplete, d declined"
    if not TOTAL.fullmatch(key) or not low <= Decimal(key) <= high:
        return Absence.NOT_ASKED, f'{label}: "{text}" is no total, {allowed}.'
    return Decimal(key), ""
