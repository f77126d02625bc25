"""The red-flag screen as data: how urgent each item is, what the patient is told, and the words of messages.

Rulings 84 and 85. Which items there are is part of the record; how urgent one is, and since when it is asked,
is a rule.
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from armrise.store.record.kinds.safety import FLAG_ITEMS, RETIRED_SCREEN_ITEMS
from armrise.store.record.light import dataclass
from armrise.store.rules.declared import (
    SOURCE,
    STATUS,
    Apart,
    Around,
    Count,
    OneOf,
    Several,
    Text,
    may,
    must,
    read,
)
from armrise.store.rules.figure import Figure
from armrise.store.rules.table import Table, shown, shown_key
from armrise.store.rules.trigger import VISIT_CAUSES

EVENT = "new injury or event"
"""Stands for an item where a word of a message asks for an event."""
_ENDING = "*"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """What a patient with a red flag is to do, in a sentence."""

    name: str = must(Text(40))
    words: str = must(Text(120))
    source: str = must(SOURCE)
    status: str = must(STATUS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A further lead of an item, with its condition in words."""

    lead: str = must(OneOf("leads"))
    words: str = must(Text(120))


@dataclass(frozen=True, slots=True, kw_only=True)
class Raised:
    """A severity that holds while another item is open, or a cause of "worse at visits" is live."""

    severity: int = must(Count(1, 3))
    item: str | None = may(OneOf(FLAG_ITEMS))
    visit_causes: tuple[str, ...] = may(Several(VISIT_CAUSES), default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenItem:
    """One item of the red-flag screen. ``severity`` 3 same day, 2 urgent, 1 soon or query.

    ``lead`` names a :class:`Lead`; an item of earlier screens has none and no words: its parts have.
    """

    name: str = must(OneOf(FLAG_ITEMS))
    severity: int = must(Count(1, 3))
    raised: Raised | None = may(Apart())
    lead: str | None = may(OneOf("leads"))
    words: str | None = may(Text(120))
    short: str | None = may(Text(40))
    """The item in a word or two; None: its name is short enough."""
    also: tuple[Said, ...] = may(Apart(), default=())
    asked_from: date | None = may(Apart())
    """A first visit or a later full screen from this date on owes it; None: every one."""
    asked_under: int | None = may(Count(1, 120))
    """Asked of those under this age only."""
    source: str = must(SOURCE)
    status: str = must(STATUS)

    @property
    def urgency(self) -> Figure:
        """The severity with where it comes from."""
        return Figure(Decimal(self.severity), self.source, self.status)


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageWords:
    """Words of a message that ask for an item of the screen; ``*`` at the end stands for any ending."""

    items: dict[str, str]
    """By word: an item, or :data:`EVENT`."""
    not_after: tuple[str, ...]
    """A word directly after one of these does not count."""
    not_before: tuple[str, ...]


def leads(table: Table) -> tuple[Lead, ...]:
    """What a patient is to do, the most urgent first."""
    found: list[Lead] = []
    for part in table.tables("lead", "lead"):
        made = read(part, Lead)
        if any(made.name == other.name for other in found) and not part.spoiled("name"):
            part.fault("name", f"is {made.name!r} a second time, allowed is each name once")
        found.append(made)
    if not found and not table.spoiled("lead"):
        table.fault("lead", "is missing, needed is at least one [[lead]]")
    return tuple(found)


def screen_items(table: Table, around: Around) -> dict[str, ScreenItem]:
    """Every item that may be open, by name in the order of the file."""
    parts = table.tables("screen_item", "screen item")
    found: dict[str, ScreenItem] = {}
    for part, made in zip(parts, table.gather(parts, lambda one: _item(one, around)), strict=False):
        if made.name in found and not part.spoiled("name"):
            part.fault("name", f"is {made.name!r} a second time, allowed is each item once")
        found[made.name] = made
    missing = [name for name in FLAG_ITEMS if name not in found]
    if missing and not table.spoiled("screen_item") and not any(part.faulty for part in parts):
        table.fault("screen_item", f"lacks {missing[0]!r}, needed is a [[screen_item]] for each item")
    return found


def _item(part: Table, around: Around) -> ScreenItem:
    name = part.words("name", 100)
    part.where = part.where if part.spoiled("name") else f"screen item {name!r}"
    also = tuple(read(one, Said, around) for one in part.tables("also", "further lead"))
    made = read(part, ScreenItem, around, raised=_raised(part), also=also, asked_from=_day(part))
    if (made.lead is None) != (name in RETIRED_SCREEN_ITEMS) and not part.spoiled("name", "lead"):
        said = (
            "is missing, needed is what the patient is to do" if made.lead is None else "has no effect here"
        )
        part.fault("lead", said)
    return made


def _raised(part: Table) -> Raised | None:
    if not part.has("raised"):
        return None
    inner = part.table("raised")
    made = read(inner, Raised)
    if made.item is None and not made.visit_causes and not inner.spoiled("item", "visit_causes"):
        inner.fault("item", "is missing, needed is item or visit_causes")
    return made


def _day(part: Table) -> date | None:
    """A date as TOML writes it."""
    value = part.data["asked_from"] if part.has("asked_from") else None
    if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
        return value
    part.fault("asked_from", f"is {shown(value)}, allowed is a date such as 2026-12-01, without quotes")
    return None


def message_words(table: Table) -> MessageWords:
    """The words of messages, each with the item it asks for."""
    words = table.table("words")
    offered = (*FLAG_ITEMS, EVENT)
    items: dict[str, str] = {}
    for word in words.data:
        _check_word(words, word)
        items[word] = words.choice(word, offered)
    words.done()
    made = MessageWords(items=items, not_after=table.lines("not_after"), not_before=table.lines("not_before"))
    table.done()
    return made


def _check_word(words: Table, word: str) -> None:
    plain = word.removesuffix(_ENDING)
    right = plain and _ENDING not in plain and plain == " ".join(plain.casefold().split())
    if not right:
        said = "is no word in small letters, allowed are words, with * at the end for any ending"
        words.fault(shown_key(word), said)
