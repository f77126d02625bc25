"""Entries made from the rule beside each field: the bare entry of a kind, each field in turn, all of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from armrise.store.entries.build import FieldRule, build, field_rules
from armrise.store.record.case import KINDS
from armrise.store.record.fields import (
    Absence,
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Number,
    Rule,
    Series,
    Whole,
    Words,
)
from armrise.store.record.kinds.head import Entry
from tests.golden.demo import AUTHOR, TODAY

LONDON = ZoneInfo("Europe/London")
MOST_WORDS = 14
"""Of a closed list of at most so many words each word is shown; of a longer one the first."""
TEXT = "words typed by a clinician"


def sample(kind: str, stated: Mapping[str, Any]) -> Entry:
    """The entry of this kind that states these values, of today unless they say otherwise."""
    entry, faults = build(kind, {"on": 0, **stated}, case="", label="entry", base=TODAY, zone=LONDON)
    assert entry is not None, f"{kind} {dict(stated)}: {faults}"
    return entry


def samples(kind: str) -> Iterator[tuple[str, Entry | str]]:
    """What is stated, with the entry that states it, or with why it is refused."""
    fields = field_rules(KINDS[kind])
    bare = {field.name: value(field.rule) for field in fields if field.required}
    yield "bare", _built(kind, bare)
    for field in fields:
        for said, stated in _variants(field):
            yield f"{field.name} {said}", _built(kind, {**bare, field.name: stated})
    yield (
        "every field",
        _built(kind, {field.name: value(field.rule) for field in fields} | {"author": AUTHOR}),
    )


def _built(kind: str, stated: Mapping[str, Any]) -> Entry | str:
    entry, faults = build(kind, {"on": 0, **stated}, case="", label="entry", base=TODAY, zone=LONDON)
    return entry or " ".join(str(fault) for fault in faults)


def value(rule: Rule) -> Any:
    """One value that the rule allows, as a file states it."""
    match rule:
        case Whole(low, high):
            return min(high, max(low, 2))
        case Number(low, high, places):
            return min(Decimal(high), max(Decimal(low), Decimal("2.5") if places else Decimal(2)))
        case Choice(words):
            return words[0]
        case Words(longest, shortest):
            return TEXT if shortest <= len(TEXT) <= longest else TEXT[:longest]
        case Day(future):
            return (TODAY + timedelta(days=14 if future else -14)).isoformat()
        case ClockTime():
            return "08:40"
        case Flag():
            return True
        case Series(low, _, _, _, _, blanks):
            return [low, low + 1, None] if blanks else [low, low + 1]
        case Children(of):
            bare = {field.name: value(field.rule) for field in field_rules(of) if field.required}
            return [bare, {field.name: value(field.rule) for field in field_rules(of)}]


def _variants(field: FieldRule) -> Iterator[tuple[str, Any]]:
    """Other values of one field, each with its word."""
    rule = field.rule
    match rule:
        case Choice(words) if len(words) <= MOST_WORDS:
            yield from ((word, word) for word in words)
        case Flag():
            yield from (("yes", True), ("no", False))
        case Day(future) if future:
            yield from (("later", value(rule)), ("the same day", TODAY.isoformat()))
        case _:
            yield "stated", value(rule)
    if getattr(rule, "absent", False):
        yield from ((absence.value, absence.value) for absence in Absence)
