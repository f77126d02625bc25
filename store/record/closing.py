"""When the clinic is closed. It moves the date that is proposed for a slot, and never a count of days.

A review falls due where it is counted to, a silence lasts as long as it lasts: what is dangerous does not
wait for Monday.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date, timedelta

from armrise.store.record.light import NamedTuple, dataclass
from armrise.store.record.words import WEEKDAYS, near_date

WEEKEND = frozenset((5, 6))
FARTHEST = 92
"""Days looked ahead for one that is open, by design: a clinic closed for longer proposes by hand."""
DAY = timedelta(days=1)
HOLIDAY = "public holiday"


class Span(NamedTuple):
    """Days on which the clinic is closed, both included."""

    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Closing:
    """The days on which the clinic is closed: of each week (Monday is 0), of its own, and public holidays."""

    weekdays: frozenset[int] = WEEKEND
    spans: tuple[Span, ...] = ()
    public: Mapping[date, str] = field(default_factory=dict[date, str])

    def why(self, day: date) -> str:
        """Why the clinic is closed on that day; empty when it is open."""
        if any(span.first <= day <= span.last for span in self.spans):
            return "clinic closed"
        if day in self.public:
            return HOLIDAY
        return f"closed on {WEEKDAYS[day.weekday()]}s" if day.weekday() in self.weekdays else ""

    def word(self, day: date) -> str:
        """The same in a word or two, to follow the day: "closed", "a holiday"; empty when it is open."""
        why = self.why(day)
        return "a holiday" if why == HOLIDAY else "closed" if why else ""

    def next_open(self, day: date) -> date:
        """The day itself, or the next one on which the clinic is open; itself where none comes soon."""
        found = (day + n * DAY for n in range(FARTHEST + 1))
        return next((one for one in found if not self.why(one)), day)

    def moved_words(self, day: date) -> str:
        """Where a proposed day goes and why: "Mon 7 Dec; Sat 5 Dec is closed"; empty when it stays."""
        to = self.next_open(day)
        return "" if to == day else f"{near_date(to, day)}; {near_date(day, to)} is {self.word(day)}"
