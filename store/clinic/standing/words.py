"""The words of a standing, the same on the screens and in plain text.

A screen says them shorter only where a column forces it, plain text longer only where reading aloud does.
Pure functions of plain values; nothing else of the clinic is imported, because a screen starts with them.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from armrise.store.record.words import clock_words, count_days, days_ago, near_date, value_words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import CriterionResult, Pain, Reason, Review, Standing, Verdict

TIER_WORDS = {
    "today": "today",
    "harm if left": "harm if left",
    "contact owed": "contact owed",
    "move on": "move on",
    "none": "nothing now",
}
"""The tiers of the list in words."""
NONE_BOOKED = "none booked"


def stage(standing: Standing) -> str:
    """Stage code and name; a case without a stage names its pathway."""
    if not standing.stage:
        return standing.pathway_name or standing.pathway
    return f"{standing.stage} {standing.stage_name}".strip()


def days_in_stage(standing: Standing) -> str:
    """ "day 22 of usual 35"; without a stage, what the case is instead."""
    days, usual = standing.days_in_stage, standing.usual_days
    if days is None:
        return standing.status if standing.status in ("closed", "waiting") else "not placed"
    return f"day {days} of usual {usual}" if usual is not None else f"day {days}"


def scores(pain: Pain) -> tuple[str, str, str]:
    """During, later and next morning: each a number, or in words why there is none."""
    return value_words(pain.during), value_words(pain.later), value_words(pain.morning)


def spoken_scores(pain: Pain) -> str:
    """The three scores, each led by its time: "during 3, later 2, next morning not asked"."""
    if pain.date is None:
        return "no session recorded"
    during, later, morning = scores(pain)
    return f"during {during}, later {later}, next morning {morning}"


def on_and_ago(when: date, today: date) -> str:
    """ "Thu 26 Feb, 4 days ago"."""
    return f"{near_date(when, today)}, {days_ago((today - when).days)}"


def review_words(standing: Standing) -> str:
    """The review state of a case on its clinic date."""
    owed = standing.review
    if standing.status == "closed":
        return "closed"
    if standing.status == "on hold" and standing.hold_until is not None:
        return f"on hold until {near_date(standing.hold_until, standing.as_of)}"
    if owed.due is None:
        return owed.note or "none due"
    if owed.overdue_days > 0:
        return overdue_words(owed)
    left = (owed.due - standing.as_of).days
    return f"due in {count_days(left)}" if left > 0 else "due today"


def overdue_words(owed: Review) -> str:
    """How late a review is, of its interval: "3 days overdue, of 14"; nothing when it is not late."""
    of = f", of {owed.interval}" if owed.interval else ""
    return f"{count_days(owed.overdue_days)} overdue{of}" if owed.overdue_days > 0 else ""


def booked(standing: Standing) -> str:
    """The next booked visit: "Thu 5 Mar 09:20", "booked today", or the useful words, "none booked"."""
    when = standing.review.booked
    if when is None:
        return "" if standing.status == "closed" else NONE_BOOKED
    told = "booked today" if when == standing.as_of else near_date(when, standing.as_of)
    return told + clock_words(standing.review.booked_at)


def verdict_words(standing: Standing) -> str:
    """The whole verdict word; a closed case has none and says that it is closed."""
    word = str(standing.verdict.word)
    return word if word != "NONE" else "CLOSED" if standing.status == "closed" else ""


def verdict_told(verdict: Verdict) -> str:
    """The verdict in one line: "REFER: same day: ...", "READY to step forward"."""
    word, line = str(verdict.word), verdict.line
    if not line:
        return word
    said = line.casefold().startswith(f"{word.casefold()} ")
    return f"{word}{line[len(word) :]}" if said else f"{word}: {line}"


def named(reason: Reason) -> str:
    """The reason's sentence, led by its name when the sentence does not already say it."""
    head = reason.name.casefold()
    text = (reason.sentence or reason.name).rstrip(".")
    return text if head in text.casefold() else f"{reason.name}: {text}"


def reason_line(reason: Reason, today: date) -> str:
    """The reason as the list prints it; one in hand says until when, and what was done."""
    if reason.in_hand_until is None:
        return named(reason)
    done = f" ({reason.in_hand_action})" if reason.in_hand_action else ""
    return f"in hand until {near_date(reason.in_hand_until, today)}: {named(reason)}{done}"


def why(standing: Standing) -> str:
    """The sentence of the placing reason, who was tried today, and the names of the other reasons."""
    first = standing.placing or next((r for r in standing.reasons if r.in_hand), None)
    if first is None:
        return _without_reason(standing)
    others = [r.name + (" (in hand)" if r.in_hand else "") for r in standing.reasons if r is not first]
    also = f"; also {', '.join(others)}" if others else ""
    return with_attempt(first, standing) + also


def with_attempt(reason: Reason, standing: Standing) -> str:
    """The reason as the list prints it, and who was tried in vain today."""
    line = reason_line(reason, standing.as_of)
    return f"{line}; {standing.tried}" if standing.tried else line


def _without_reason(standing: Standing) -> str:
    if standing.status == "waiting":
        return "waiting for the first visit"
    return standing.verdict.line or TIER_WORDS["none"]


def asked_and_seen(result: CriterionResult, today: date) -> list[str]:
    """What was observed of a criterion beside what it needs, and when it was observed."""
    now, more, rest = (result.observed or "nothing recorded").partition("; ")
    needs = f", needs {result.needed}" if result.needed else ""
    when = [on_and_ago(result.observed_on, today)] if result.observed_on else []
    return [f"{now}{needs}{more}{rest}", *when]


def counts(standings: Iterable[Standing]) -> dict[str, int]:
    """How many cases per status and per tier; closed cases on the list still owe something."""
    found: dict[str, int] = {}
    for standing in standings:
        for key in (standing.status, standing.tier):
            found[key] = found.get(key, 0) + 1
    return found


def statuses(found: dict[str, int]) -> str:
    """ "34 active, 1 on hold, 1 closed but owing"."""
    parts = [f"{found.get('active', 0)} active"]
    if found.get("waiting"):
        parts.append(f"{found['waiting']} waiting")
    parts.append(f"{found.get('on hold', 0)} on hold")
    parts.append(f"{found.get('closed', 0)} closed but owing")
    return ", ".join(parts)
