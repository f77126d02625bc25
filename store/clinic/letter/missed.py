"""The letter after missed visits: to the patient, in the words a patient is spoken to (practice note 1.5)."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.reader import copy_to
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.slots import attempts
from armrise.store.rules.words.patient import PatientWords

SECTION, ABOUT = "missed_visits", "missed visits"


def to_the_patient(view: View) -> tuple[str, ...]:
    """Eight lines: which visits, who was tried, by when to answer, what then, what to keep to, when to ring.

    Nothing is discharged by itself: after the days to reply a clinician decides. Raises
    :class:`~armrise.store.rules.words.patient.WordsError` where the clinic's file of words is refused.
    """
    told, words, days = sheet(view), view.rules.words, view.rules["missed.letter_days"]
    until = view.today + timedelta(days=days)
    keep = " ".join(told.say)
    return (
        words.sided(f"{SECTION}.about", view.record.side, code=view.record.code),
        f"{_missed(view, words)} {_last(view, words)}",
        _tried(view, words),
        words.count(f"{SECTION}.answer", days, date=words.date(until, view.today)),
        words.say(f"{SECTION}.then"),
        words.say(f"{SECTION}.until_then", said=keep) if keep else words.say(f"{SECTION}.no_limits"),
        words.say(f"{SECTION}.ring_us", reasons=words.joined(*told.ring_us)),
        " ".join([_next(view, words), *([words.say(f"{SECTION}.copy")] if copy_to(view, ABOUT) else [])]),
    )


def _days(view: View, words: PatientWords, days: Iterable[date]) -> str:
    return words.listed(*dict.fromkeys(words.date(day, view.today) for day in days))


def _missed(view: View, words: PatientWords) -> str:
    missed = [slot.booked_for for slot in clocks.missed(view)]
    if not missed:
        return words.say(f"{SECTION}.none_missed")
    return words.say(f"{SECTION}.booked", dates=_days(view, words, missed))


def _last(view: View, words: PatientWords) -> str:
    if view.last_visit is None:
        return words.say(f"{SECTION}.no_visit")
    return words.say(f"{SECTION}.last_visit", date=words.date(view.last_visit.on, view.today))


def _tried(view: View, words: PatientWords) -> str:
    tried = [contact.on for contact in attempts(view)]
    if not tried:
        return words.say(f"{SECTION}.not_tried")
    return words.say(f"{SECTION}.tried", dates=_days(view, words, tried))


def _next(view: View, words: PatientWords) -> str:
    slot = clocks.next_slot(view)
    if slot is None:
        return words.say(f"{SECTION}.none_booked")
    when = words.date(slot.booked_for, view.today)
    timed = words.say("dates.with_time", date=when, time=slot.at) if slot.at else when
    return words.say(f"{SECTION}.next_visit", date=timed)
