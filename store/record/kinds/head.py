"""What every entry states, and the closed lists that several kinds share.

An entry is a fact that somebody wrote down. Nothing here is computed, and nothing here is ever changed: a
correction is one more entry.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import ClassVar, Protocol

from armrise.store.record.light import dataclass
from armrise.store.record.words import near_date

CODE_LONGEST = 24
"""Characters of the code of a case at most."""
SIDES = ("LEFT", "RIGHT")
HANDS = ("left", "right", "both")
AGE_BANDS = ("under 16", "16-17", "18-19", "20s", "30s", "40s", "50s", "60s", "70s", "80s", "90 or over")
MEASURED, REPORTED = "clinician measured", "patient reported"
SOURCES = (MEASURED, REPORTED, "referral letter", "surgeon", "clinic records")
ANSWERABLE = (
    "plateau",
    "image cuff",
    "nerve",
    "bony",
    "losing range",
    "post-operative stiffness",
    "worse, or not responding",
    "possible red flag",
    "surgical opinion",
    "stalled",
    "review not needed",
    "worse at visits",
    "losing lift or strength",
    "second event",
    "healing clock",
    "seldom done",
    "over the limit",
    "flare",
    "message",
    "other",
)
"""What a referral or a decision entry can be about."""
NEWS = ("yes", "no", "not asked")
"""Answers to the one question "anything new?"."""
NEWS_ASKED = "fever, numbness, fall, weight loss, unsteady"
"""What the one question names."""
NOTHING_NEW = f"asked: anything new ({NEWS_ASKED}): no"
"""What a check-in notes where nothing is new."""
NEWS_NOTE = re.compile(r"asked: anything new \([^)]*\): no")
"""The same as any version wrote it: no words of the patient's own."""
NEWS_WORDS = {"yes": "something new reported", "no": "nothing new", "not asked": ""}
ANSWERS = ("yes", "no", "not asked", "declined")
COMBINED = "abduction with external rotation"
"""The arm out to the side and turned out at once: where a shoulder slips, in exercises and in injuries."""


class Unit(Protocol):
    """How a measure is named, and in what it is counted."""

    @property
    def label(self) -> str: ...
    @property
    def unit(self) -> str: ...


class Scale(Protocol):
    """Between what a score lies, and which way is better."""

    @property
    def low(self) -> Decimal: ...
    @property
    def high(self) -> Decimal: ...
    @property
    def lower_is_better(self) -> bool: ...


class Names(Protocol):
    """What a sentence needs to know of the rules: their measures and instruments, by name."""

    @property
    def measures(self) -> Mapping[str, Unit]: ...
    @property
    def instruments(self) -> Mapping[str, Scale]: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry states.

    ``on`` is the clinic-local date it happened. ``recorded_on`` is the clinic-local date of the recorded
    instant, ``recorded_at`` the instant itself (aware). ``history`` marks a fact from before the episode.

    ``KIND`` names the kind in the store and in files, ``MEANING`` says in a line when to record one, and
    ``GROUPS`` are the groups of the history that show it.
    """

    KIND: ClassVar[str] = ""
    MEANING: ClassVar[str] = ""
    GROUPS: ClassVar[tuple[str, ...]] = ()

    id: int = 0
    on: date
    recorded_at: datetime
    recorded_on: date
    author: str = ""
    source: str = MEASURED
    history: bool = False

    @property
    def days_late(self) -> int:
        """Days between happening and being recorded, by clinic-local dates."""
        return (self.recorded_on - self.on).days

    def sentence(self, names: Names | None, day: str) -> str:
        """What was recorded, with ``day`` where it reads best; empty: without its day."""
        raise NotImplementedError(self.KIND)

    def near(self, day: date) -> str:
        """Another date as this entry says it: with its year when it is not that of the entry."""
        return near_date(day, self.on)
