"""A few plain lines of one case for the record kept elsewhere: found, decided, advised, and what comes next.

By code alone, in the words of the entries. What was not recorded or not asked is said, and not left to be
guessed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from armrise.store.clinic.advice.today import say_to_patient
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.words import (
    booked,
    days_in_stage,
    overdue_words,
    reason_line,
    spoken_scores,
    stage,
)
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.care import Appointment, Contact, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Morning, PeriodSummary, Session
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.safety import Screen
from armrise.store.record.phrase import dated, phrase
from armrise.store.record.words import days_ago, full_date, listed, near_date

FOUND = {"pain", "measures"}
"""The groups of the history that hold what was told and measured."""
OCCASIONS: tuple[tuple[type[Entry], str], ...] = (
    (Visit, "visit"),
    (Contact, "phone or message"),
    (Session, "check-in"),
    (Morning, "check-in"),
    (PeriodSummary, "check-in"),
    (Step, "step"),
)
"""What a day was, by what was recorded on it."""
TOLD = (Session, Morning, PeriodSummary)
ASKING = (Visit, Contact)
NOTHING = "nothing recorded today"
NOT_ASKED = "red-flag question not asked"
ADVICE = "Advice by the plan, strike what was not given: "
ENDS = (".", "?", "!")


def for_record(view: View, standing: Standing) -> tuple[str, ...]:
    """Four to six lines about the view's date: case and occasion, found, reason, decided, advice, next.

    Of the day is what was recorded on it and stands, also of a day before. Advice is what the plan in force
    has to say to a patient who was spoken with; nobody records what was said, so the line asks to strike what
    was not. Of a day on which nothing was recorded there is neither a decision nor advice.
    """
    today = recorded_today(view)
    lines = [_head(standing, today), f"Found: {_found(view, today)}" if today else _last_pain(standing)]
    placing = standing.placing
    lines.append(f"Reason: {reason_line(placing, standing.as_of) if placing else 'nothing asked'}")
    if today:
        lines.append(f"Decided: {_decided(view, today) or 'nothing recorded'}")
    if any(map(_spoken, today)) and (said := say_to_patient(view)):
        lines.append(ADVICE + " ".join(said))
    lines.append(f"Next: {_next(standing)}")
    return tuple(line if line.endswith(ENDS) else f"{line}." for line in lines)


def recorded_today(view: View) -> list[Entry]:
    """What was recorded on the view's date and stands, in the order in which it was."""
    kept = (entry for name in FIELD_OF_KIND.values() for entry in view.upto(name))
    return sorted((e for e in kept if e.recorded_on == view.today), key=lambda e: e.id)


def _head(s: Standing, today: Sequence[Entry]) -> str:
    named = dict.fromkeys(word for entry in today for kind, word in OCCASIONS if isinstance(entry, kind))
    authors = dict.fromkeys(entry.author for entry in today if entry.author)
    what = ", ".join(named) or ("entries of today" if today else NOTHING)
    where = listed(f"{s.code} {s.side}", stage(s), days_in_stage(s), full_date(s.as_of))
    return listed(f"{where}: {what}", *authors)


def _found(view: View, today: Sequence[Entry]) -> str:
    """What was told and measured today, and whether the red-flag question was left out."""
    found = [entry for entry in today if _is_found(entry)]
    said = [*_screened(view, [entry for entry in found if isinstance(entry, Screen)])]
    said += [_said(view, entry) for entry in found if not isinstance(entry, Screen)]
    spoken = [entry for entry in today if isinstance(entry, ASKING) and _spoken(entry)]
    asked = any(entry.anything_new != "not asked" for entry in spoken)
    if spoken and not asked and not any(isinstance(entry, Screen) for entry in found):
        said.append(NOT_ASKED)
    return "; ".join(said) or "nothing recorded"


def _last_pain(s: Standing) -> str:
    age = f", {days_ago(s.pain.days_ago)}" if s.pain.days_ago is not None else ""
    return f"Last pain: {spoken_scores(s.pain)}{age}"


def _screened(view: View, answers: Sequence[Screen]) -> Iterator[str]:
    """Every "yes" of the red-flag list in full, the other answers counted."""
    yield from (_said(view, entry) for entry in answers if entry.answer == "yes" or entry.item == "all")
    rest = Counter(entry.answer for entry in answers if entry.answer != "yes" and entry.item != "all")
    if rest:
        yield "red-flag list: " + ", ".join(f"{count} {answer}" for answer, count in rest.items())


def _decided(view: View, today: Sequence[Entry]) -> str:
    """What was done and decided; a slot stands in what comes next."""
    kept = [entry for entry in today if not _is_found(entry) and not isinstance(entry, Appointment)]
    return "; ".join(_said(view, entry) for entry in kept)


def _is_found(entry: Entry) -> bool:
    """True for what was told or measured, and for what the patient wrote."""
    if isinstance(entry, Contact):
        return entry.outcome == "message received"
    return bool(FOUND & set(entry.GROUPS)) and "decisions" not in entry.GROUPS


def _spoken(entry: Entry) -> bool:
    """True for what was said between the patient and somebody here, not for what the patient sent alone."""
    if isinstance(entry, Contact):
        return entry.spoken
    return isinstance(entry, Visit) or (isinstance(entry, TOLD) and bool(entry.author))


def _said(view: View, entry: Entry) -> str:
    """The entry in its words, with its day where that is not today's."""
    if entry.on == view.today:
        return phrase(entry, view.rules)
    return dated(entry, view.rules, year=view.today.year)


def _next(s: Standing) -> str:
    """The slot booked and the day on which the review is due; of a closed case how it was closed."""
    if s.status == "closed":
        return f"none, {s.verdict.line}"
    if s.status == "on hold":
        return f"{s.verdict.line}; {_slot(s)}"
    due = s.review.due
    late = overdue_words(s.review)
    review = f"review due {near_date(due, s.as_of)}{f', {late}' if late else ''}" if due else "no review due"
    return f"{_slot(s)}; {review}"


def _slot(s: Standing) -> str:
    return booked(s) if s.review.booked in (None, s.as_of) else f"booked {booked(s)}"
