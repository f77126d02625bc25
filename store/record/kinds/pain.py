"""Pain as it is told: exercise sessions, mornings, weeks, medicines that can mask it, irritability."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from armrise.store.record.fields import Absence, Children, Choice, Day, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import Entry, Names
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days, joined, listed, month_day, placed, value_words

IRRITABILITIES = ("high", "moderate", "low")
"""How easily pain is provoked and how long it takes to settle, the most irritable first."""
DOSE_WORDS = {"whole": "whole dose", "part": "part of the dose", "more": "more than the dose"}
_NTH = ("", "", "second ", "third ", "fourth ", "fifth ", "sixth ")


def from_diary(entry: Session | Morning) -> str:
    """That it was written down at home, and how much later it was typed: paper is often filled in later."""
    if not entry.written:
        return ""
    late = f", typed {count_days(entry.days_late)} later" if entry.days_late > 0 else ""
    return f"from a written diary{late}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Session(Entry):
    """One exercise session of the local date ``on``; ``morning`` is pain on waking the day after."""

    KIND: ClassVar[str] = "session"
    MEANING: ClassVar[str] = "exercises done, and pain after them"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    ordinal: int = may(Whole(1, 6), 1)
    during: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    later: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    morning: int | Absence = may(Whole(0, 10, absent=True), Absence.NOT_ASKED)
    times: int | None = may(Whole(1, 6))
    """How often on this day; None: not told."""
    dose: str | None = may(Choice(("whole", "part")))
    """How much of the dose, where the sets were not counted; None: not told."""
    written: bool = may(Flag(), False)
    """Written down at home on the day, and typed here from the paper."""
    usual_morning: int | None = may(Whole(0, 10))
    """Usual pain on waking, asked with the first session told, before enough mornings are known."""
    sling_off: bool = may(Flag(), False)
    items: tuple[DoneItem, ...] = may(Children(DoneItem), ())
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """The three scores, how often, the exercises with their sets, the sling and the note."""
        of_the_day = " of the day" if self.ordinal > 1 and not day else ""
        which = f"{_NTH[self.ordinal]}session{of_the_day}"
        scores = " / ".join(value_words(score) for score in (self.during, self.later, self.morning))
        return joined(
            f"{which}{placed('of', day)}, during / later / next morning {scores}",
            listed(f"{self.times} times" if self.times else "", DOSE_WORDS.get(self.dose or "")),
            listed(*(item.short() for item in self.items)),
            f"usual morning pain {self.usual_morning}" if self.usual_morning is not None else "",
            "sling left off" if self.sling_off else "",
            from_diary(self),
            self.note,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Morning(Entry):
    """Pain on waking on the date ``on``, with or without a session the day before."""

    KIND: ClassVar[str] = "morning"
    MEANING: ClassVar[str] = "pain on waking, with or without a session"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    pain: int | Absence = must(Whole(0, 10, absent=True))
    written: bool = may(Flag(), False)
    """Written down at home on the day, and typed here from the paper."""

    def sentence(self, names: Names | None, day: str) -> str:
        """The score."""
        said = f"morning pain {value_words(self.pain)}{placed('on', day)}"
        return joined(said, from_diary(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodSummary(Entry):
    """The days from ``since`` to ``on`` as the patient sums them up, where nobody keeps a diary.

    What was not told is None, never zero. The period has as many days as lie between its two dates.
    """

    KIND: ClassVar[str] = "period summary"
    MEANING: ClassVar[str] = "the weeks since the last visit, as told in one line"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    since: date = must(Day())
    days_done: int | None = may(Whole(0, 28, "days"))
    days_asked: int | None = may(Whole(1, 28, "days"))
    worst_during: int | None = may(Whole(0, 10))
    worst_later: int | None = may(Whole(0, 10))
    mornings_worse: int | None = may(Whole(0, 28))
    """Mornings worse than usual by two points or more."""
    dose: str | None = may(Choice(tuple(DOSE_WORDS)))
    settled: str | None = may(Choice(("yes", "no")))
    """Whether the shoulder has settled by now."""

    @property
    def days(self) -> int:
        """How many days the period has."""
        return (self.on - self.since).days

    @property
    def tells(self) -> bool:
        """True when anything of the period was told."""
        told = (self.days_done, self.worst_during, self.worst_later, self.mornings_worse, self.settled)
        return any(value is not None for value in told) or self.dose is not None

    def sentence(self, names: Names | None, day: str) -> str:
        """The period and everything told of it."""
        year = f" {self.since.year}" if self.since.year != self.on.year else ""
        period = f"{month_day(self.since)}{year} to {day or month_day(self.on)}"
        return f"as told for {period}: {self.values()}"

    def values(self) -> str:
        """Everything told of the period, without its dates."""
        said = listed(
            self._done(),
            f"worst during {self.worst_during}" if self.worst_during is not None else "",
            f"worst later {self.worst_later}" if self.worst_later is not None else "",
            self._worse(),
            DOSE_WORDS.get(self.dose or ""),
            {"yes": "settled", "no": "not settled"}.get(self.settled or ""),
        )
        return said or "nothing"

    def _done(self) -> str:
        if self.days_done is None:
            return f"asked on {count_days(self.days_asked)}" if self.days_asked is not None else ""
        if self.days_asked is None:
            return f"done on {count_days(self.days_done)}"
        return f"{self.days_done} of {count_days(self.days_asked)}"

    def _worse(self) -> str:
        if self.mornings_worse is None:
            return ""
        return f"{self.mornings_worse} morning{'s' if self.mornings_worse != 1 else ''} worse than usual"


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
