"""Safety: the red-flag screen and its outcome, injuries and instability, the onset healing counts from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from armrise.store.record.fields import Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import ANSWERS, COMBINED, Entry, Names
from armrise.store.record.words import joined, listed, placed

SCREEN_ITEMS = (
    "hot or swollen joint, or unwell",
    "unreduced dislocation or deformity",
    "motor or sensory loss",
    "mass, cancer history, weight loss or unrelenting night pain",
    "trauma and cannot lift to 90 degrees",
    "girdle pain with morning stiffness, headache, visual or jaw symptoms",
    "chest, arm or jaw pain on exertion, breathless, or abdominal signs",
    "calf or arm swelling after surgery or immobilisation",
    "wound discharge or fever after surgery",
    "neck movement reproduces arm pain with neurological signs",
)
"""The red-flag screen: a prompt, never a rule-out (practice note on every screen that shows it)."""
EVENTS = (
    "fall",
    "dislocation",
    "slipped out of joint",
    "sudden loss of active lift",
    "pop",
    "new bulge of the upper arm",
    "sudden weakness",
    "other injury",
)
ONSETS = ("surgery", "dislocation", "fracture", "other injury", "gradual")


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen(Entry):
    """One answer of the red-flag screen. ``item`` "all" with "no": every item asked, every one no."""

    KIND: ClassVar[str] = "screen"
    MEANING: ClassVar[str] = "one answer of the red-flag list"
    GROUPS: ClassVar[tuple[str, ...]] = ("measures",)

    item: str = must(Choice(("all", *SCREEN_ITEMS)))
    answer: str = must(Choice(ANSWERS))
    severity: int | None = may(Whole(1, 3))
    """3 same day, 2 urgent, 1 soon or query; None takes the item's default from the rule file."""
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """What was asked, the answer, and how urgent it is."""
        said = f"red-flag screen{placed('on', day)}"
        severity = {3: "same day", 2: "urgent", 1: "soon or query"}.get(self.severity or 0, "")
        if self.item == "all":
            answer = "every item asked, all no" if self.answer == "no" else f"all items, {self.answer}"
            return joined(f"{said}: {answer}", severity, self.note)
        return joined(f'{said}, "{self.item}": {self.answer}', severity, self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagOutcome(Entry):
    """The clinician's recorded outcome of a possible red flag."""

    KIND: ClassVar[str] = "flag outcome"
    MEANING: ClassVar[str] = "what became of a possible red flag"
    GROUPS: ClassVar[tuple[str, ...]] = ("measures", "decisions")

    item: str = must(Choice(("all", *SCREEN_ITEMS)))
    outcome: str = must(Choice(("cleared", "referred and answered")))
    reason: str = must(Words(200, 3))

    def sentence(self, names: Names | None, day: str) -> str:
        """What became of the flag, and why."""
        flag = "every possible red flag" if self.item == "all" else f'possible red flag "{self.item}"'
        return f"{flag} {self.outcome}{placed('on', day)}: {self.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event(Entry):
    """A new injury or instability event."""

    KIND: ClassVar[str] = "event"
    MEANING: ClassVar[str] = "a new injury or instability event"
    GROUPS: ClassVar[tuple[str, ...]] = ("pain",)

    event: str = must(Choice(EVENTS))
    combined: bool = may(Flag(), False)
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """What happened, and whether the arm was out and turned out."""
        combined = COMBINED if self.combined else ""
        return joined(f"new event: {self.event}{placed('on', day)}", combined, self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset(Entry):
    """When and how it began: the surgery or injury date from which healing is counted.

    A later entry of the same ``what`` restarts the healing clock: only a clinician writes one.
    """

    KIND: ClassVar[str] = "onset"
    MEANING: ClassVar[str] = "surgery or injury date; healing counts from it"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    what: str = must(Choice(ONSETS))
    operation: str | None = may(Words(80))
    low_energy: bool = may(Flag(), False)

    def sentence(self, names: Names | None, day: str) -> str:
        """How it began, the operation, and whether little force sufficed."""
        low = "low energy" if self.low_energy else ""
        return listed(f"onset: {self.what}{placed('on', day)}", self.operation, low)
