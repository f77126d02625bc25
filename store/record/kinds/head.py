"""What every entry states, and the closed lists that several kinds share.

An entry is a fact that somebody wrote down. Nothing here is computed, and nothing here is ever changed: a
correction is one more entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

SIDES = ("LEFT", "RIGHT")
SOURCES = ("clinician measured", "patient reported", "referral letter", "surgeon", "clinic records")
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
    "other",
)
"""What a referral or a decision entry can be about."""
ANSWERS = ("yes", "no", "not asked", "declined")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry states.

    ``on`` is the clinic-local date it happened. ``recorded_on`` is the clinic-local date of the recorded
    instant, ``recorded_at`` the instant itself (aware). ``history`` marks a fact from before the episode.
    """

    KIND: ClassVar[str] = ""

    id: int = 0
    on: date
    recorded_at: datetime
    recorded_on: date
    author: str = ""
    source: str = "clinician measured"
    history: bool = False

    @property
    def days_late(self) -> int:
        """Days between happening and being recorded, by clinic-local dates."""
        return (self.recorded_on - self.on).days
