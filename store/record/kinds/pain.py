"""Pain as it is told: exercise sessions, mornings, medicines that can mask it, irritability."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from armrise.store.record.fields import Absence, Children, Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem

IRRITABILITIES = ("high", "moderate", "low")
"""How easily pain is provoked and how long it takes to settle, the most irritable first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session(Entry):
    """One exercise session of the local date ``on``; ``morning`` is pain on waking the day after."""

    KIND: ClassVar[str] = "session"

    ordinal: int = may(Whole(1, 2), 1)
    during: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    later: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    morning: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    sling_off: bool = may(Flag(), False)
    items: tuple[DoneItem, ...] = may(Children(DoneItem), ())
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Morning(Entry):
    """Pain on waking on the date ``on``, with or without a session the day before."""

    KIND: ClassVar[str] = "morning"

    pain: int | Absence = must(Whole(0, 10, absent=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Medicine(Entry):
    """Something that can mask pain: an injection, or an analgesic that is new or stronger."""

    KIND: ClassVar[str] = "medicine"

    what: str = must(Choice(("injection", "analgesic")))
    change: str = may(Choice(("new", "stronger", "unchanged", "stopped")), "new")


@dataclass(frozen=True, slots=True, kw_only=True)
class Irritability(Entry):
    """How irritable the shoulder is: the level the clinician confirmed, and the rows it was proposed from."""

    KIND: ClassVar[str] = "irritability"

    level: str = must(Choice(IRRITABILITIES))
    proposed: str | None = may(Choice(IRRITABILITIES))
    mixed: bool = may(Flag(), False)
    """No two rows agreed; the higher was proposed."""
    intensity: str | None = may(Choice(IRRITABILITIES))
    rest_and_night: str | None = may(Choice(IRRITABILITIES))
    end_range: str | None = may(Choice(IRRITABILITIES))
    settling: str | None = may(Choice(IRRITABILITIES))
