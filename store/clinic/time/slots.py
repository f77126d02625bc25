"""Booked slots: which still wait for an answer, what a missed one calls for, and who was not brought."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.time import clocks
from armrise.store.record.kinds.care import MISSED, RECEIVED, Appointment, Contact
from armrise.store.record.words import count_days, full_date, time_words

MINOR_BANDS = ("under 16", "16-17")
CANCELLED = ("cancelled by patient", "cancelled by clinic")
ATTEMPTS = ("spoke", "message answered", "no answer", "message left")
"""Outcomes by which somebody tried to reach the patient. A wrong number reaches nobody's patient."""

SAFEGUARDING = (
    "Safeguarding: think about why, and talk it over with the lead. It is a thought, not a discharge."
)


def brought_by_others(view: View) -> bool:
    """True for a minor or a dependent adult, who does not miss a visit but is not brought.

    No field says "dependent adult"; a recorded guardian's consent, or an earlier "was not brought", does.
    """
    if view.record.age_band in MINOR_BANDS:
        return True
    asked = view.yes_or_no("guardian consent") is not None
    return asked or any(a.outcome == "was not brought" for a in view.upto("attendances"))


def outcomes_for(view: View) -> tuple[str, ...]:
    """What can become of a slot, the usual wording for this person before the unusual one."""
    usual, other = reversed(MISSED) if brought_by_others(view) else MISSED
    return ("attended", usual, *CANCELLED, other)


def _open(view: View) -> list[date]:
    """Dates of slots about which nothing has been recorded, each once, the earliest first."""
    seen = {v.on for v in view.upto("visits")}
    slots: list[Appointment] = view.since("appointments", view.episode_start)
    waiting = [s for s in slots if clocks.settled_by(view, s) is None]
    return sorted({s.booked_for for s in waiting if s.booked_for not in seen})


def unanswered(view: View) -> list[date]:
    """Slots of today and before of which nobody has recorded what became of them, the earliest first."""
    return [day for day in _open(view) if day <= view.today]


def ahead(view: View) -> list[date]:
    """Slots that still lie ahead, the earliest first."""
    return [day for day in _open(view) if day > view.today]


def hour_of(view: View, day: date) -> str | None:
    """The hour of the slot of ``day`` as it was told last, "09:20"; None where it was not told."""
    slots: list[Appointment] = [s for s in view.upto("appointments") if s.booked_for == day]
    return max(slots, key=lambda s: (s.recorded_at, s.id)).at if slots else None


def attempts(view: View) -> list[Contact]:
    """Attempts since the last visit or contact: calls and messages that nobody answered."""
    last = clocks.last_contact(view)
    return [c for c in view.since("contacts", last) if not c.spoken and c.outcome in ATTEMPTS]


def tried_today(view: View) -> str:
    """ "tried 08:41, no answer": the attempts of today since somebody was last spoken to; empty without one.

    A wrong number is one here: whoever reads the list is to see that somebody rang.
    """
    rung: list[Contact] = [c for c in view.upto("contacts") if c.on == view.today and c.outcome != RECEIVED]
    rung.sort(key=lambda c: (c.recorded_at, c.id))
    spoken = max((at for at, c in enumerate(rung, 1) if c.spoken), default=0)
    tried = rung[spoken:]
    if not tried:
        return ""
    last = tried[-1]
    often = "tried" if len(tried) == 1 else f"tried {len(tried)} times, last"
    return f"{often} {time_words(last.recorded_at)}, {last.outcome}"


def missed_with(view: View, day: date) -> int:
    """Missed visits in a row if the slot of ``day`` is recorded as missed."""
    days = {a.booked_for for a in clocks.missed(view)} | {day}
    last = clocks.last_contact(view)
    return len([d for d in days if last is None or d > last or d == day])


def follows(view: View, day: date, outcome: str) -> str:
    """What is owed once the slot of ``day`` is recorded with ``outcome``: one sentence, or none.

    Practice note 1.5: the same day in a protected stage, within a week elsewhere, and after two in a row a
    letter, then a clinician's decision. Nothing is ever discharged by itself.
    """
    if outcome in CANCELLED:
        return "A cancellation is no missed visit; the review stays due. Book another slot."
    if outcome == "attended":
        seen = any(v.on == day for v in view.upto("visits"))
        return "" if seen else "Attended: the review counts as done only when the visit itself is recorded."
    if any(c.spoken and c.on >= day for c in view.upto("contacts")):
        return "Somebody has spoken with them since: nothing more follows from this one."
    rules, in_row = view.rules, missed_with(view, day)
    if clocks.in_protected_stage(view):
        stage = view.stage.code if view.stage else "this stage"
        return f"Protected stage {stage}: phone today, and book within the week."
    if in_row >= rules["missed.in_row"]:
        days = rules["missed.letter_days"]
        return (
            f"{in_row} visits missed in a row: write to the patient with {count_days(days)} to reply; "
            "after that a clinician decides. Nothing is discharged by itself."
        )
    by = day + timedelta(days=rules["missed.contact_days"])
    return f"Contact within {count_days(rules['missed.contact_days'])}: by {full_date(by)}."


def letter_to_patient(view: View) -> date | None:
    """The day a letter about the present missed visits was sent, None when none was."""
    misses = clocks.missed(view)
    if not misses:
        return None
    sent = [x for x in view.upto("letters") if x.about == "missed visits" and x.state == "sent"]
    return newest([x.on for x in sent if view.answers(x, misses[0])])
