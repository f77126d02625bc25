"""Pain as it is told: exercise sessions, mornings, medicines that can mask it, irritability."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from armrise.store.record.fields import Absence, Children, Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import Entry, Names
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.words import joined, listed, placed, value_words

IRRITABILITIES = ("high", "moderate", "low")
"""How easily pain is provoked and how long it takes to settle, the most irritable first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session(Entry):
    """One exercise session of the local date ``on``; ``morning`` is pain on waking the day after."""

    KIND: ClassVar[str] = "session"
    MEANING: ClassVar[str] = "exercises done, and pain after them"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    ordinal: int = may(Whole(1, 2), 1)
    during: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    later: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    morning: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    sling_off: bool = may(Flag(), False)
    items: tuple[DoneItem, ...] = may(Children(DoneItem), ())
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """The three scores, the exercises with their sets, the sling and the note."""
        which = "session"
        if self.ordinal == 2:
            which = "second session" if day else "second session of the day"
        scores = " / ".join(value_words(score) for score in (self.during, self.later, self.morning))
        return joined(
            f"{which}{placed('of', day)}, during / later / next morning {scores}",
            listed(*(item.short() for item in self.items)),
            "sling left off" if self.sling_off else "",
            self.note,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Morning(Entry):
    """Pain on waking on the date ``on``, with or without a session the day before."""

    KIND: ClassVar[str] = "morning"
    MEANING: ClassVar[str] = "pain on waking, with or without a session"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    pain: int | Absence = must(Whole(0, 10, absent=True))

    def sentence(self, names: Names | None, day: str) -> str:
        """The score."""
        return f"morning pain {value_words(self.pain)}{placed('on', day)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Medicine(Entry):
    """Something that can mask pain: an injection, or an analgesic that is new or stronger."""

    KIND: ClassVar[str] = "medicine"
    MEANING: ClassVar[str] = "an injection or analgesic that may mask pain"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    what: str = must(Choice(("injection", "analgesic")))
    change: str = may(Choice(("new", "stronger", "unchanged", "stopped")), "new")

    def sentence(self, names: Names | None, day: str) -> str:
        """What changed, and whether it can mask pain."""
        if self.change in ("unchanged", "stopped"):
            return f"{self.what} {self.change}{placed('on', day)}"
        return f"{self.change} {self.what}{placed('on', day)}: it may mask pain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Irritability(Entry):
    """How irritable the shoulder is: the level the clinician confirmed, and the rows it was proposed from."""

    KIND: ClassVar[str] = "irritability"
    MEANING: ClassVar[str] = "how easily pain is provoked"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    level: str = must(Choice(IRRITABILITIES))
    proposed: str | None = may(Choice(IRRITABILITIES))
    mixed: bool = may(Flag(), False)
    """No two rows agreed; the higher was proposed."""
    intensity: str | None = may(Choice(IRRITABILITIES))
    rest_and_night: str | None = may(Choice(IRRITABILITIES))
    end_range: str | None = may(Choice(IRRITABILITIES))
    settling: str | None = may(Choice(IRRITABILITIES))

    def sentence(self, names: Names | None, day: str) -> str:
        """The level, what was proposed instead, and the rows."""
        rows = {
            "intensity": self.intensity,
            "rest and night": self.rest_and_night,
            "end range": self.end_range,
            "settling": self.settling,
        }
        other = self.proposed if self.proposed != self.level else None
        return joined(
            f"irritability{placed('on', day)}: {self.level}",
            f"{other} was proposed" if other else "",
            "rows disagree" if self.mixed else "",
            listed(*(f"{name} {level}" for name, level in rows.items() if level)),
        )
