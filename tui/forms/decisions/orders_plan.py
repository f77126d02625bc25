"""What the orders form writes, worked out from what was typed; no screen in here."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any

from armrise.store.clinic.healing.ordered import DATES
from armrise.store.entries.build import field_rules
from armrise.store.entries.values import RefusalError, number_of
from armrise.store.record.fields import Number, Rule, Whole, Words
from armrise.store.record.kinds.plan import Orders
from armrise.tui.words.entries import day, read_day

WEEK = 7
"""Days; "week 6" and "6 weeks" are six completed weeks, day 42: the later reading of the two there are."""

RULES: dict[str, Rule] = {one.name: one.rule for one in field_rules(Orders)}
TEXTS = tuple(name for name, rule in RULES.items() if isinstance(rule, Words))
STAGES = tuple(name for name in RULES if name.startswith("stage"))
RANGES = {name: rule for name, rule in RULES.items() if isinstance(rule, Whole | Number)}
"""Limits in numbers, each with its lowest, highest and unit."""


@dataclass
class Read:
    """The values that were typed, and a fault for each that could not be read."""

    values: dict[str, Any] = field(default_factory=dict[str, Any])
    faults: dict[str, str] = field(default_factory=dict[str, str])


def counted_day(text: str) -> int | None:
    """The day after surgery that "day 42", "week 6" or "6 weeks" means; None for any other text."""
    found = re.fullmatch(
        r"(day|days|week|weeks)\s*(\d{1,3})|(\d{1,3})\s*(day|days|week|weeks)", text.strip().lower()
    )
    if not found:
        return None
    word, number = found[1] or found[4], int(found[2] or found[3])
    return number * WEEK if word.startswith("week") else number


def read_ordered(text: str, today: date, onset: date | None) -> date | None:
    """The date of an order as it was typed: a date in words, or counted from surgery or injury."""
    count = counted_day(text)
    if count is None:
        return read_day(text, today, ahead=True)
    return onset + timedelta(days=count) if onset else None


def read(
    typed: Mapping[str, str], labels: Mapping[str, str], today: date, onset: date | None, word: str
) -> Read:
    """Every field that holds something, by its key; ``word`` is "surgery" or "injury"."""
    found = Read({key: typed[key] for key in TEXTS if typed.get(key)})
    for key in DATES:
        if typed.get(key):
            _date(found, key, typed[key], labels[key], today, onset, word)
    for key in RANGES:
        if typed.get(key):
            _number(found, key, typed[key], labels[key])
    _in_order(found, labels)
    return found


def _date(found: Read, key: str, text: str, label: str, today: date, onset: date | None, word: str) -> None:
    wanted = read_ordered(text, today, onset)
    if wanted:
        found.values[key] = wanted
    elif counted_day(text) is not None:
        found.faults[key] = f'{label}: "{text}" counts from {word or "surgery"}, whose date is not on record.'
    else:
        found.faults[key] = (
            f'{label}: "{text}" is no date; say 11 Mar, day 42 or week 6. Vague words go in the text.'
        )


def _number(found: Read, key: str, text: str, label: str) -> None:
    rule = RANGES[key]
    try:
        found.values[key] = number_of(rule, Decimal(text.replace(",", ".")))
    except (InvalidOperation, RefusalError):
        allowed = f"{rule.low} to {rule.high} {rule.unit}"
        found.faults[key] = f'{label}: "{text}" is not {allowed}. Vague words go in the text.'


def _in_order(found: Read, labels: Mapping[str, str]) -> None:
    """A later stage cannot open before an earlier one of the same orders."""
    before: tuple[str, date] | None = None
    for key in STAGES:
        on = found.values.get(key)
        if on is None:
            continue
        if before and on < before[1]:
            found.faults[key] = f"{labels[key]}: {day(on)} is before {labels[before[0]]}, {day(before[1])}."
        before = (key, on)
