"""What the patient may see beside the clinician: limits, exercises, next visit, when to ring, no more."""

from __future__ import annotations

from dataclasses import dataclass

from armrise.store.clinic.advice.today import EMERGENCY, exercises, must_be_seen, ring_us_if, say_to_patient
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.clocks import next_slot
from armrise.store.record.words import clock_words, near_date

NO_EXERCISES = "none written down yet"
NOT_BOOKED = "not booked yet"
PAIN = "Pain is counted from 0, none, to 10, the worst you can imagine."


@dataclass(frozen=True, slots=True)
class Sheet:
    """One case in the patient's words: no reason, no verdict, no other case."""

    side: str
    say: tuple[str, ...]
    pain: str
    exercises: tuple[str, ...]
    """Empty where there is nothing to do: closed, or to be seen first."""
    next_visit: str
    ring_us: tuple[str, ...]
    emergency: str = EMERGENCY


def sheet(view: View) -> Sheet:
    """The patient's view of one case on the view's date (practice notes 6.3, 8.13)."""
    open_case = view.closed is None
    doing = exercises(view) or ((NO_EXERCISES,) if open_case and not must_be_seen(view) else ())
    say = say_to_patient(view)
    pain = PAIN if any("of 10" in sentence for sentence in say) else ""
    return Sheet(view.record.side, say, pain, doing, _next_visit(view) if open_case else "", ring_us_if(view))


def _next_visit(view: View) -> str:
    """The date of the next booked visit with its distance, or that none is booked."""
    slot = next_slot(view)
    if slot is None:
        return NOT_BOOKED
    days = (slot.booked_for - view.today).days
    far = "today" if days == 0 else "tomorrow" if days == 1 else f"in {days} days"
    return f"{near_date(slot.booked_for, view.today)}{clock_words(slot.at)}, {far}"
