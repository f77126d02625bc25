"""What the patient may see beside the clinician: limits, exercises, next visit, when to ring, no more."""

from __future__ import annotations

from armrise.store.clinic.advice.dose_words import Told
from armrise.store.clinic.advice.today import (
    must_be_seen,
    ring_us_if,
    said_at_once,
    said_of_limits,
    said_of_pain,
    told_exercises,
)
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.clocks import next_slot
from armrise.store.record.light import dataclass
from armrise.store.rules.words.patient import PatientWords


@dataclass(frozen=True, slots=True)
class Sheet:
    """One case in the patient's words: no reason, no verdict, no other case."""

    words: PatientWords
    title: str
    """Which shoulder."""
    date: str
    """Of which day."""
    at_once: tuple[str, ...]
    """What a possible red flag or an injury asks for."""
    limits: tuple[str, ...]
    """What holds the patient back, or that the treatment has ended."""
    pain: tuple[str, ...]
    """How much pain is allowed, and what to do with more."""
    doing: tuple[Told, ...]
    """Empty where there is nothing to do: closed, to be seen first, or none written down yet."""
    awaits: bool
    """Exercises may be written down yet: neither closed nor to be seen first."""
    next_visit: str
    ring_us: tuple[str, ...]
    emergency: str

    @property
    def say(self) -> tuple[str, ...]:
        """What is said today, what matters most first; empty where nothing is to be said at all."""
        return (*self.at_once, *self.limits, *self.pain)

    @property
    def scale(self) -> str:
        """How pain is counted, where it is spoken of."""
        return self.words.say("pain.scale") if self.pain else ""

    @property
    def exercises(self) -> tuple[str, ...]:
        """Each exercise in one line, or that there is none yet; empty where there is nothing to do."""
        if self.awaits and not self.doing:
            return (self.words.say("exercise.none"),)
        return tuple(one.line(self.words) for one in self.doing)


def sheet(view: View) -> Sheet:
    """The patient's view of one case on the view's date (practice notes 6.3, 8.13)."""
    words, awaits = view.rules.words, view.closed is None and not must_be_seen(view)
    return Sheet(
        words=words,
        title=words.sided("sheet.title", view.record.side),
        date=words.date(view.today),
        at_once=said_at_once(view),
        limits=said_of_limits(view),
        pain=said_of_pain(view),
        doing=told_exercises(view),
        awaits=awaits,
        next_visit=_next_visit(view) if view.closed is None else "",
        ring_us=ring_us_if(view),
        emergency=words.say("sheet.emergency"),
    )


def _next_visit(view: View) -> str:
    """The date of the next booked visit with its distance, or that none is booked."""
    slot, words = next_slot(view), view.rules.words
    if slot is None:
        return words.say("next_visit.not_booked")
    when = words.date(slot.booked_for, view.today)
    if slot.at:
        when = words.say("dates.with_time", date=when, time=slot.at)
    days = (slot.booked_for - view.today).days
    if days in (0, 1):
        return words.say("next_visit.tomorrow" if days else "next_visit.today", date=when)
    return words.count("next_visit.in_days", days, date=when)
