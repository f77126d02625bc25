"""What of the record a bundle carries: kinds, fields, and what is lost on the way. Said here once.

Texts that somebody typed stay behind, since they may say who a patient is; names of measurements and
exercises go along. What was withdrawn goes out as withdrawn, without a value, and is not taken in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields, replace
from functools import cache
from typing import Any

from armrise.store.record.case import KINDS
from armrise.store.record.fields import Words
from armrise.store.record.kinds.care import Appointment, Attendance, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure, Score
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.paperwork import Correction, Discharge, Reopen
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.kinds.safety import Onset
from armrise.store.record.known import withdrawn_ids
from armrise.store.record.labels import label_of

NOT_IN_IT = "stated, but its words are not in the bundle"
"""What stands for a text that an entry needs and a bundle does not carry."""


@dataclass(frozen=True, slots=True)
class Carried:
    """One kind of entry on its way: what it becomes, and which of its fields go along in which way."""

    kind: type[Entry]
    becomes: str
    elements: tuple[str, ...] = ()
    """Fields that elements of the standard say; the others stand in one extension."""
    names: tuple[str, ...] = ()
    """Texts that name a measurement, an exercise or a rule."""
    needed: tuple[str, ...] = ()
    """Texts that stay behind and that the entry needs: :data:`NOT_IN_IT` stands for them."""

    @property
    def lost(self) -> tuple[str, ...]:
        """The fields that stay behind."""
        texts = (f.name for f in fields(self.kind) if isinstance(f.metadata.get("rule"), Words))
        return tuple(name for name in texts if name not in (*self.names, *self.elements))


CARRIED: tuple[Carried, ...] = (
    Carried(Session, "Observation, with one for each score", ("during", "later", "morning")),
    Carried(Morning, "Observation", ("pain",)),
    Carried(Measure, "Observation", ("name", "value"), ("rater", "method", "position")),
    Carried(Score, "Observation", ("instrument", "total"), ("version", "language")),
    Carried(Step, "Observation", ("stage",), ("verdict", "rules"), ("override_reason",)),
    Carried(Visit, "Encounter"),
    Carried(ProgrammeItem, "CarePlan, an activity", (), ("exercise", "tempo"), ("stopped",)),
    Carried(Appointment, "Appointment"),
    Carried(Attendance, "Appointment, its status"),
    Carried(Onset, "Condition, its onset"),
    Carried(Discharge, "EpisodeOfCare, its end"),
    Carried(Reopen, "EpisodeOfCare", (), (), ("reason",)),
)
BY_KIND: Mapping[str, Carried] = {one.kind.KIND: one for one in CARRIED}
HEAD_LOST = ("referrer",)
"""What is said of a case at its registration and stays behind: it was typed too."""


def carried(entry: Entry) -> Entry | None:
    """The entry as it comes back out of a bundle, its number apart; None for a kind that is not carried."""
    how = BY_KIND.get(entry.KIND)
    if how is None:
        return None
    changed: dict[str, Any] = {}
    for name, without in _left(type(entry)):
        if getattr(entry, name) != without:
            changed[name] = NOT_IN_IT if name in how.needed else without
    return replace(entry, **changed) if changed else entry


@cache
def _left(kind: type[Entry]) -> tuple[tuple[str, Any], ...]:
    lost = BY_KIND[kind.KIND].lost
    return tuple(
        (f.name, None if f.default is MISSING else f.default) for f in fields(kind) if f.name in lost
    )


@dataclass(frozen=True, slots=True)
class Place:
    """One entry of a case on its way out, and what became of it."""

    number: int
    """Its place in the order of writing among those that stand and are carried, from 1; 0: withdrawn."""
    entry: Entry
    withdrawn: bool
    replaces: bool
    """It stands in the place of a withdrawn one."""


@dataclass(frozen=True)
class Laid:
    """The entries of a case that go out, by kind, in the order of writing."""

    places: Mapping[str, Sequence[Place]] = field(default_factory=dict[str, list[Place]])

    def every(self, kind: type[Entry]) -> Sequence[Place]:
        """Those of a kind, the withdrawn too."""
        return self.places.get(kind.KIND, ())

    def standing(self, kind: type[Entry]) -> list[Place]:
        """Those of a kind that nobody withdrew."""
        return [place for place in self.every(kind) if not place.withdrawn]


def laid_out(entries: Iterable[Entry]) -> Laid:
    """The entries of a case file as they are carried; its corrections point at positions from 1."""
    numbered = list(enumerate(entries, 1))
    corrections = [replace(e, id=number) for number, e in numbered if isinstance(e, Correction)]
    gone = withdrawn_ids(corrections)
    instead = {c.replaced_by for c in corrections if c.id not in gone}
    places: dict[str, list[Place]] = {}
    stands = 0
    for number, entry in numbered:
        if (goes := carried(entry)) is not None:
            stands += number not in gone
            place = Place(0 if number in gone else stands, goes, number in gone, number in instead)
            places.setdefault(entry.KIND, []).append(place)
    return Laid(places)


def losses() -> list[tuple[str, str, str]]:
    """What is lost, a row a kind: its name, what it becomes, and what of it does not come back."""
    rows = [(kind, *_loss(kind)) for kind in KINDS if kind in BY_KIND]
    rest = ", ".join(kind for kind in KINDS if kind not in BY_KIND)
    head = ", ".join(map(label_of, HEAD_LOST))
    return [
        ("case", "Patient, EpisodeOfCare, Condition", head),
        *rows,
        ("anything withdrawn", 'status "entered-in-error", no value', "all of it: it is not taken in"),
        (rest, "not carried", "all of it"),
    ]


def _loss(kind: str) -> tuple[str, str]:
    how = BY_KIND[kind]
    lost = [label_of(name) + (" (its words)" if name in how.needed else "") for name in how.lost]
    return how.becomes, ", ".join(lost) or "nothing"
