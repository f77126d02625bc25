"""Dates and entries in words, the way every form prints them; and the warning about names in notes."""

from __future__ import annotations

import re
from datetime import date, timedelta

from armrise.store.clinic.dose.parts import Dose
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Appointment, Attendance, Contact, SweepDecision
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.paperwork import Decision, Discharge, Letter, Referral, ReferralAnswer, Reopen
from armrise.store.record.kinds.plan import Clearance, Hold, InHand, Override, Step
from armrise.store.record.kinds.programme import HomeLoads, ProgrammeItem
from armrise.store.record.kinds.safety import Event, FlagOutcome, Onset, Screen
from armrise.tui.words.phrases import NOT_ALLOWED, dated
from armrise.tui.words.standing import DAYS, MONTHS

LONG_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def day(on: date, *, year: bool = True) -> str:
    """A date as "Mon 2 Mar 2026"; without the year "Mon 2 Mar"."""
    short = f"{DAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"
    return f"{short} {on.year}" if year else short


def weekday(on: date) -> str:
    """The name of the day in full."""
    return LONG_DAYS[on.weekday()]


def ago(on: date, today: date) -> str:
    """How long before ``today``: "today", "yesterday", "5 days ago"; or "in 3 days"."""
    days = (today - on).days
    if days < 0:
        return "tomorrow" if days == -1 else f"in {-days} days"
    return ("today", "yesterday")[days] if days < 2 else f"{days} days ago"


def read_day(text: str, today: date, *, ahead: bool = False) -> date | None:
    """The date a clinician typed, or None.

    Taken are "2026-02-27", "27 Feb", "27 Feb 2026", "today", "yesterday", "tomorrow", a day's name (the last
    one, or the next one with ``ahead``), and a signed number of days from today ("-3", "+3").
    """
    words = text.strip().lower().replace(",", " ").split()
    if not words:
        return None
    joined = " ".join(words)
    if re.fullmatch(r"[+-]\d{1,3}", joined):
        return today + timedelta(days=int(joined))
    near = {"today": 0, "yesterday": -1, "tomorrow": 1}
    if joined in near:
        return today + timedelta(days=near[joined])
    return _named(words, today, ahead) or _calendar(words, today, ahead)


def _named(words: list[str], today: date, ahead: bool) -> date | None:
    """The last or next day of that name, never today itself."""
    if len(words) != 1 or not words[0].isalpha() or len(words[0]) < 3:
        return None
    for number, name in enumerate(LONG_DAYS):
        if name.lower().startswith(words[0]):
            if ahead:
                return today + timedelta(days=(number - today.weekday()) % 7 or 7)
            return today - timedelta(days=(today.weekday() - number) % 7 or 7)
    return None


def _calendar(words: list[str], today: date, ahead: bool) -> date | None:
    """An ISO date, or day and month with or without the year and the day's name."""
    try:
        if len(words) == 1:
            return date.fromisoformat(words[0])
        if words[0][:3].title() in DAYS:
            words = words[1:]
        months = [m.lower() for m in MONTHS]
        month = months.index(words[1][:3]) + 1
        if len(words) > 2:
            return date(int(words[2]), month, int(words[0]))
        return _nearest(int(words[0]), month, today, ahead)
    except (ValueError, IndexError):
        return None


def _nearest(number: int, month: int, today: date, ahead: bool) -> date | None:
    """Day and month in this year, or in the year before (after, with ``ahead``) over the turn of the year."""
    this = date(today.year, month, number)
    if not ahead and this > today + timedelta(days=180):
        return date(today.year - 1, month, number)
    if ahead and this < today - timedelta(days=180):
        return date(today.year + 1, month, number)
    return this


def score(value: int | Absence | None) -> str:
    """A score, or why there is none, in words."""
    return str(value.value) if isinstance(value, Absence) else "not asked" if value is None else str(value)


def describe(entry: Entry) -> str:
    """An entry as a short phrase: what it is, of which day, with what in it."""
    match entry:
        case Session():
            triple = " / ".join(score(v) for v in (entry.during, entry.later, entry.morning))
            return f"session of {day(entry.on, year=False)}, during / later / next morning {triple}"
        case Morning():
            return f"morning pain {score(entry.pain)} on {day(entry.on, year=False)}"
        case Measure():
            value = entry.value.value if isinstance(entry.value, Absence) else f"{entry.value:f}"
            return f"{entry.name.replace('_', ' ')} {value} on {day(entry.on, year=False)}"
        case Screen():
            return f'red-flag screen, "{entry.item}": {entry.answer}'
        case Event():
            return f"new event: {entry.event}, {day(entry.on, year=False)}"
        case Contact():
            return _contact(entry)
        case InHand():
            return f'"{entry.reason}" in hand until {day(entry.until, year=False)}: {entry.action}'
        case Step():
            how = "placed in" if entry.direction == "placing" else f"stepped {entry.direction} to"
            return f"{how} {entry.stage} on {day(entry.on)}"
        case Override():
            how = "override" if entry.against.startswith(NOT_ALLOWED) else "stays, against"
            return f"{how} {entry.against}: {entry.category}, {entry.reason}"
        case ProgrammeItem():
            return _programme(entry)
        case HomeLoads():
            weights, bands = (
                ", ".join(f"{n:f}" for n in ns if n is not None) for ns in (entry.weights, entry.bands)
            )
            return f"at home: weights {weights or 'none'} kg, bands {bands or 'none'}"
        case _:
            return _of_the_desk(entry)


def _of_the_desk(entry: Entry) -> str:
    """Answers, permissions and paperwork; any other kind by its name and day."""
    on = day(entry.on, year=False)
    match entry:
        case FlagOutcome():
            return f'possible red flag, "{entry.item}": {entry.outcome}, {entry.reason}'
        case Referral():
            return f"referral of {on} to {entry.to}, {entry.urgency}, about {entry.about}"
        case Letter():
            return f"{entry.about} letter, {entry.state}, {on}"
        case Decision():
            return f"decision of {on} about {entry.about}: {entry.note}"
        case Onset():
            return f"onset: {entry.what} on {on}"
        case Clearance():
            return f"clearance by {entry.by} for {entry.scope}: {entry.answer}, {on}"
        case _:
            return _arranged(entry) or dated(entry)


def _arranged(entry: Entry) -> str:
    """An entry about slots, holds, endings or the sweep; empty for any other."""
    on = day(entry.on, year=False)
    match entry:
        case Appointment():
            return f"booked for {day(entry.booked_for)}"
        case Attendance():
            return f"slot of {day(entry.booked_for, year=False)}: {entry.outcome}"
        case Hold():
            ends = entry.until == entry.on
            return f"hold ended {on}" if ends else f"on hold until {day(entry.until)}: {entry.reason}"
        case ReferralAnswer():
            return f"answer to the referral about {entry.about}: {entry.answer}"
        case Discharge():
            return f"discharged {on}: {entry.outcome}"
        case Reopen():
            return f"reopened {on}: {entry.reason}"
        case SweepDecision():
            return f"sweep decision: {entry.decision}, until {day(entry.until, year=False)}"
        case _:
            return ""


def _programme(entry: ProgrammeItem) -> str:
    """A version of an exercise: its dose, or that it was taken out."""
    if entry.stopped is not None:
        return f"{entry.exercise} taken out of the programme: {entry.stopped}"
    return f"{entry.exercise} {Dose.of(entry).words(entry)}, from {day(entry.on, year=False)}"


def _contact(entry: Contact) -> str:
    said = [
        word
        for word, true in (
            ("load cut", entry.load_cut),
            ("plan corrected", entry.plan_corrected),
            ("surgeon told", entry.surgeon_told),
        )
        if true
    ]
    return ", ".join([f"contact of {day(entry.on, year=False)}: {entry.outcome}", *said])


NOTE_WORDS = """
    January February March April June July August September October November December
    Spoke Told Rang Rings Will Would Has Had Says Said No Not Yes The This That They He She It Is Was
    Patient Message Left Called Asked Advised Agreed Pain Load Sling Exercise Exercises Programme
    Morning Night Review Plan Surgeon Carer Band Still Back Better Worse Feels Felt Happy Cut
    And But Due Stop Stopped Keep Wants Ring Call Phone For From With Awaiting Waiting Sent
"""
PLAIN = {*DAYS, *LONG_DAYS, *MONTHS, *NOTE_WORDS.split()}
"""Capitalised words that are no name: days, months, and how notes begin."""


def identifying(text: str) -> str:
    """A warning when a note looks as if it names or numbers a person, else an empty string.

    Capitalised words and runs of six or more digits are looked for (practice note 6.3). Never a refusal.
    """
    names = [w for w in re.findall(r"\b[A-Z][a-z]+\b", text) if w not in PLAIN]
    if names:
        return f'"{names[0]}" may be a name: notes carry no names.'
    if re.search(r"\d(?:[\s().-]?\d){5,}", text):
        return "this looks like a phone number: notes carry none."
    return ""
