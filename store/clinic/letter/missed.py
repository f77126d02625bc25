"""The letter after missed visits: to the patient, in the words a patient is spoken to (practice note 1.5)."""

from __future__ import annotations

from datetime import timedelta

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.reader import copy_to
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.slots import attempts
from armrise.store.record.words import clock_words, count_days, day_year


def to_the_patient(view: View) -> tuple[str, ...]:
    """Eight lines: which visits, who was tried, by when to answer, what then, what to keep to, when to ring.

    Nothing is discharged by itself: after the days to reply a clinician decides.
    """
    told, side = sheet(view), view.record.side.casefold()
    days = view.rules["missed.letter_days"]
    until = view.today + timedelta(days=days)
    return (
        f"This letter is about the treatment of the {side} shoulder with us. Code {view.record.code}.",
        f"{_missed(view)} {_last(view)}",
        _tried(view),
        f"Please ring us or write to us by {day_year(until)}, within {count_days(days)} of this letter.",
        "If we hear nothing, a clinician decides after that day whether treatment ends. It does not end by "
        "itself.",
        f"Until then: {' '.join(told.say)}" if told.say else "Until then: no limits are recorded.",
        f"Ring us before that day if: {'; '.join(told.ring_us)}.",
        f"{_next(view)} {_copy(view)}",
    )


def _missed(view: View) -> str:
    days = [day_year(slot.booked_for) for slot in clocks.missed(view)]
    if not days:
        return "No missed visit is recorded since we last spoke."
    return f"Booked for {' and '.join(days)}, and missed."


def _last(view: View) -> str:
    return f"The last visit was on {day_year(view.last_visit.on)}." if view.last_visit else "No visit so far."


def _tried(view: View) -> str:
    tried = attempts(view)
    if not tried:
        return "No call or message from us is recorded since then."
    days = ", ".join(dict.fromkeys(day_year(contact.on) for contact in tried))
    return f"We tried to reach you on {days}."


def _next(view: View) -> str:
    slot = clocks.next_slot(view)
    if slot is None:
        return "No visit is booked now."
    return f"The next visit is booked for {day_year(slot.booked_for)}{clock_words(slot.at)}."


def _copy(view: View) -> str:
    return f"A copy of this letter goes to {copy_to(view, 'missed visits')}."
