"""Safety: the red-flag screen and its outcome, injuries and instability, the onset healing counts from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from armrise.store.record.fields import Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import ANSWERS, Entry

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

    item: str = must(Choice(("all", *SCREEN_ITEMS)))
    answer: str = must(Choice(ANSWERS))
    severity: int | None = may(Whole(1, 3))
    """3 same day, 2 urgent, 1 soon or query; None takes the item's default from the rule file."""
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagOutcome(Entry):
    """The clinician's recorded outcome of a possible red flag."""

    KIND: ClassVar[str] = "flag outcome"

    item: str = must(Choice(("all", *SCREEN_ITEMS)))
    outcome: str = must(Choice(("cleared", "referred and answered")))
    reason: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Event(Entry):
    """A new injury or instability event."""

    KIND: ClassVar[str] = "event"

    event: str = must(Choice(EVENTS))
    combined: bool = may(Flag(), False)
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset(Entry):
    """When and how it began: the surgery or injury date from which healing is counted.

    A later entry of the same ``what`` restarts the healing clock: only a clinician writes one.
    """

    KIND: ClassVar[str] = "onset"

    what: str = must(Choice(ONSETS))
    operation: str | None = may(Words(80))
    low_energy: bool = may(Flag(), False)
