"""Safety: the red-flag screen and its outcome, injuries and instability, the onset healing counts from."""

from __future__ import annotations

from typing import ClassVar

from armrise.store.record.fields import Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import ANSWERS, COMBINED, Entry, Names
from armrise.store.record.light import dataclass
from armrise.store.record.words import joined, listed, placed

SCREEN_ITEMS = (
    "hot or swollen joint, or unwell",
    "unreduced dislocation or deformity",
    "motor or sensory loss",
    "new lump or weight loss",
    "cancer in the past",
    "unrelenting night pain",
    "trauma and cannot lift to 90 degrees",
    "both shoulders stiff in the morning over 45 minutes, age over 50",
    "sight, jaw or new headache with shoulder pain",
    "chest, arm or jaw pain on exertion, or breathless",
    "shoulder-tip pain with belly pain or faintness",
    "calf or arm swelling after surgery or immobilisation",
    "wound discharge or fever after surgery",
    "neck movement reproduces arm pain with neurological signs",
    "clumsy hands or unsteady legs",
    "bladder, bowel or saddle numbness",
    "cough with blood, drooping eyelid or wasted hand",
    "child or teenager: fall, night pain, fever, or arm not used",
)
"""The red-flag screen: a prompt, never a rule-out (practice note on every screen that shows it)."""
CHILD_ITEM = SCREEN_ITEMS[-1]
"""The item that is asked under 18 only."""
UNDER_18 = ("under 16", "16-17")
"""The age bands of those under 18."""
RETIRED_SCREEN_ITEMS = {
    "mass, cancer history, weight loss or unrelenting night pain": (
        "new lump or weight loss",
        "cancer in the past",
        "unrelenting night pain",
    ),
    "girdle pain with morning stiffness, headache, visual or jaw symptoms": (
        "both shoulders stiff in the morning over 45 minutes, age over 50",
        "sight, jaw or new headache with shoulder pain",
    ),
    "chest, arm or jaw pain on exertion, breathless, or abdominal signs": (
        "chest, arm or jaw pain on exertion, or breathless",
        "shoulder-tip pain with belly pain or faintness",
    ),
}
"""Items of earlier screens with the items that ask the same now (ruling 85).

The record keeps what was written: an old "no" answers each part, an old "yes" stays open under its old name.
"""
NOT_NAMED = "something new told, not named"
"""A "yes" to the one question that nobody has named yet: a possible red flag, and no item of the screen."""
FLAG_ITEMS = (*SCREEN_ITEMS, *RETIRED_SCREEN_ITEMS, NOT_NAMED)
"""Whatever may be open as a possible red flag, and so has an outcome."""


def asked_of(age_band: str | None) -> tuple[str, ...]:
    """The items of the screen that somebody of this age is asked; an age nobody recorded is not young."""
    return SCREEN_ITEMS if age_band in UNDER_18 else tuple(i for i in SCREEN_ITEMS if i != CHILD_ITEM)


def parts_of(item: str) -> tuple[str, ...]:
    """The items of the present screen that an answer to ``item`` answers: itself, its parts, or all."""
    return SCREEN_ITEMS if item == "all" else RETIRED_SCREEN_ITEMS.get(item, (item,))


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

    item: str = must(Choice(("all", *SCREEN_ITEMS, *RETIRED_SCREEN_ITEMS)))
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

    item: str = must(Choice(("all", *FLAG_ITEMS)))
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
