"""The home programme: exercises with their doses, what was done of them, the loads at home."""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal
from typing import Any, ClassVar

from armrise.store.record.fields import Choice, Flag, Number, Series, Whole, Words, may, must
from armrise.store.record.kinds.head import COMBINED, Entry, Names
from armrise.store.record.light import dataclass
from armrise.store.record.words import joined, listed, placed, plain, value_words

LOAD_CLASSES = ("P0", "P1", "A1", "A2", "I1", "I2", "R1", "R2", "R3", "S1", "S2", "W1", "W2", "X1")
CLASS_WORDS = {
    "P0": "protection",
    "P1": "passive movement",
    "A1": "assisted movement",
    "A2": "active movement without load",
    "I1": "gentle isometric work",
    "I2": "strong isometric work",
    "R1": "light resisted work",
    "R2": "moderate resisted work",
    "R3": "heavy or fast resisted work",
    "S1": "gentle stretch",
    "S2": "sustained stretch",
    "W1": "part weight through the arm",
    "W2": "full weight through the arm",
    "X1": "work or sport tasks",
}
ISOMETRIC = ("I1", "I2")
"""Load classes that are held for seconds, not repeated."""
ASSISTS = ("", "other arm lifts", "both ways")
"""Who lifts: nothing is told; the other arm, so that this one only lowers; this one, both up and down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneItem:
    """One exercise of a session: what was asked and what was done.

    ``sets`` and ``reps`` are done, ``sets_asked`` and ``reps_asked`` prescribed. ``load`` is kilograms,
    ``band`` a grade 1 (light) to 6 (heavy). ``sets`` of None means not recorded.
    """

    exercise: str = must(Words(60))
    load_class: str = must(Choice(LOAD_CLASSES))
    sets: int | None = may(Whole(0, 20))
    sets_asked: int | None = may(Whole(1, 20))
    reps: int | None = may(Whole(0, 200))
    reps_asked: int | None = may(Whole(1, 200))
    load: Decimal | None = may(Number(0, 200, 2, "kg"))
    band: int | None = may(Whole(1, 6))
    above_shoulder: bool = may(Flag(), False)
    combined: bool = may(Flag(), False)
    """Combined abduction and external rotation."""
    assist: str = may(Choice(ASSISTS), "")
    """Who lifts; empty: nothing told."""
    lift_s: int | None = may(Whole(0, 60, "s"))
    pause_s: int | None = may(Whole(0, 60, "s"))
    lower_s: int | None = may(Whole(0, 60, "s"))
    lower_s_high: int | None = may(Whole(0, 60, "s"))
    """The longest of a range of seconds that begins with ``lower_s``."""
    arc_from: int | None = may(Whole(-20, 180, "degrees"))
    arc_to: int | None = may(Whole(-20, 180, "degrees"))
    full_arc: str | None = may(Choice(("yes", "no")))
    """Whether the whole arc was done; null: not told."""

    def short(self) -> str:
        """The exercise with the sets done, and the repetitions where they are not those asked for."""
        if self.sets is None:
            return f"{self.exercise}, sets not recorded"
        asked = f" of {self.sets_asked}" if self.sets_asked is not None else ""
        other = self.reps is not None and self.reps != self.reps_asked
        return f"{self.exercise} {self.sets}{asked} sets" + (f" of {self.reps}" if other else "")

    def words(self) -> str:
        """All of it: the kind of exercise, what was done of what was asked, and with what."""
        sets = value_words(self.sets) + (f" of {self.sets_asked}" if self.sets_asked is not None else "")
        asked = f" of {self.reps_asked}" if self.reps_asked is not None else ""
        done = listed(
            f"sets {sets}",
            f"{value_words(self.reps)}{asked} repetitions" if self.reps is not None or asked else "",
            resistance(self),
            way(self),
            {"yes": "full arc", "no": "not the full arc"}.get(self.full_arc or ""),
            position(self),
        )
        return f"{self.exercise} ({CLASS_WORDS[self.load_class]}): {done}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeItem(Entry):
    """One version of one exercise of the home programme, in force from ``on`` until the next version."""

    KIND: ClassVar[str] = "programme item"
    MEANING: ClassVar[str] = "one exercise of the home programme, from a day on"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    exercise: str = must(Words(60))
    load_class: str = must(Choice(LOAD_CLASSES))
    sets: int = must(Whole(1, 20))
    reps: int = must(Whole(1, 200))
    reps_low: int | None = may(Whole(1, 200))
    reps_high: int | None = may(Whole(1, 200))
    hold: int | None = may(Whole(1, 300, "s"))
    tempo: str | None = may(Words(12))
    load: Decimal | None = may(Number(0, 200, 2, "kg"))
    band: int | None = may(Whole(1, 6))
    per_week: int | None = may(Whole(1, 70, "sessions a week"))
    effort: int | None = may(Whole(0, 10))
    above_shoulder: bool = may(Flag(), False)
    combined: bool = may(Flag(), False)
    rest: int | None = may(Whole(0, 600, "s"))
    """Rest between sets."""
    sides: str | None = may(Choice(("affected", "both")))
    self_progress: bool = may(Flag(), False)
    """The patient may raise repetitions, never load, within the range."""
    sets_high: int | None = may(Whole(1, 20))
    """How far sets may rise; null: as the catalogue says."""
    assist: str = may(Choice(ASSISTS), "")
    """Who lifts; empty: nothing told."""
    lift_s: int | None = may(Whole(0, 60, "s"))
    pause_s: int | None = may(Whole(0, 60, "s"))
    lower_s: int | None = may(Whole(0, 60, "s"))
    lower_s_high: int | None = may(Whole(0, 60, "s"))
    """The longest of a range of seconds that begins with ``lower_s``."""
    arc_from: int | None = may(Whole(-20, 180, "degrees"))
    arc_to: int | None = may(Whole(-20, 180, "degrees"))
    stopped: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """The exercise with its whole dose; taken out, why, and the dose it had."""
        name = f"{self.exercise} ({CLASS_WORDS[self.load_class]})"
        dose = listed(
            self._count(),
            f"sets may rise to {self.sets_high}" if self.sets_high is not None else "",
            resistance(self),
            way(self),
            f"tempo {self.tempo}" if self.tempo else "",
            f"rest {self.rest} s" if self.rest is not None else "",
            _counted(self.per_week, "session", " a week"),
            f"effort {self.effort} of 10" if self.effort is not None else "",
            {"both": "both sides", "affected": "affected side"}.get(self.sides or "", ""),
            position(self),
            "patient may raise repetitions" if self.self_progress else "",
        )
        start = f"programme{placed('from', day)}"
        if self.stopped is None:
            return f"{start}, {name}: {dose}"
        return f"{start}, {name} TAKEN OUT: {self.stopped}; it was {dose}"

    def _count(self) -> str:
        """Sets and repetitions, or the seconds of isometric work: "3 x 8 repetitions", "5 x 30 s"."""
        timed = self.load_class in ISOMETRIC
        held = timed and self.hold is not None
        between = ""
        if self.reps_low is not None or self.reps_high is not None:
            between = f" (range {value_words(self.reps_low)} to {value_words(self.reps_high)})"
        if held and self.reps == 1:
            return f"{self.sets} x {self.hold}{between} s"
        if held:
            return f"{self.sets} x {_counted(self.reps, 'repetition')}, each held {self.hold}{between} s"
        if timed:
            return f"{self.sets} x {self.reps}{between} s"
        count = f"{self.sets} x {self.reps}{between} repetition{'s' if self.reps != 1 or between else ''}"
        return count + (f", each held {self.hold} s" if self.hold is not None else "")


def done_whole(item: ProgrammeItem) -> DoneItem:
    """An item done as it asks, every set of it; whether through the whole arc is not told."""
    asked = {f.name: getattr(item, f.name) for f in fields(DoneItem) if f.name in _SHARED}
    return DoneItem(**asked, sets_asked=item.sets, reps_asked=item.reps)


def _counted(number: int | None, noun: str, more: str = "") -> str:
    return "" if number is None else f"{number} {noun}{'s' if number != 1 else ''}{more}"


def resistance(item: DoneItem | ProgrammeItem) -> str:
    """The load and the band."""
    return listed(
        f"{plain(item.load)} kg" if item.load is not None else "",
        f"band grade {item.band}" if item.band is not None else "",
    )


def way(item: DoneItem | ProgrammeItem) -> str:
    """How the arm goes: who lifts, the seconds of each part, and the arc."""
    longer = f" to {item.lower_s_high}" if item.lower_s_high is not None else ""
    return listed(
        "sore arm both ways" if item.assist == "both ways" else item.assist,
        f"lift {item.lift_s} s" if item.lift_s is not None else "",
        f"pause {item.pause_s} s" if item.pause_s is not None else "",
        f"lower {item.lower_s}{longer} s" if item.lower_s is not None else "",
        _arc(item.arc_from, item.arc_to),
    )


def _arc(low: int | None, high: int | None) -> str:
    if low is None:
        return f"arc to {high} degrees" if high is not None else ""
    return f"arc from {low} degrees" if high is None else f"arc {low} to {high} degrees"


def position(item: DoneItem | ProgrammeItem) -> str:
    """Where the arm is, as far as a limit asks for it."""
    return listed(
        "elbow above the shoulder" if item.above_shoulder else "", COMBINED if item.combined else ""
    )


_SHARED = {f.name for f in fields(ProgrammeItem)}
"""What an item states that what was done of it states too."""
STATED = tuple(f.name for f in fields(ProgrammeItem) if f.name not in {f.name for f in fields(Entry)})
"""The fields of an item itself, without when it was written and by whom."""


def stated(item: ProgrammeItem) -> dict[str, Any]:
    """Everything an item states, to be written again with a change."""
    return {name: getattr(item, name) for name in STATED}


def is_again(before: ProgrammeItem, after: ProgrammeItem) -> bool:
    """True when a version states all that the one before it stated: how a smaller arc is accepted where no
    arc is set (ruling 81)."""
    return stated(before) == stated(after)


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeLoads(Entry):
    """The weights (kg) and band grades the patient has at home; the newest entry holds."""

    KIND: ClassVar[str] = "home loads"
    MEANING: ClassVar[str] = "weights and bands the patient has"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    weights: tuple[Decimal | None, ...] = may(Series(0, 200, 2, 30, "kg"), ())
    bands: tuple[Decimal | None, ...] = may(Series(1, 6, 0, 6), ())

    def sentence(self, names: Names | None, day: str) -> str:
        """The weights and the bands."""
        weights = ", ".join(value_words(weight) for weight in self.weights)
        bands = ", ".join(value_words(band) for band in self.bands)
        said = joined(f"{weights} kg" if weights else "no weights", f"bands {bands}" if bands else "no bands")
        return f"loads at home{placed('from', day)}: {said}"
