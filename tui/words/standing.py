"""A standing put into the words of the screens: dates, days, pain, review, reasons, verdicts.

Pure functions of plain values; nothing of the store is imported when the application starts. Each has a long
form, for where there is room, and a short one that loses no fact. Vocabulary: the clinic's practice notes, 7.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import CriterionResult, Pain, Reason, Review, Standing

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

TIER_HEADS = {
    "today": "TODAY",
    "harm if left": "HARM IF LEFT",
    "contact owed": "CONTACT OWED",
    "move on": "MOVE ON",
    "none": "NOTHING ASKED",
}
"""The headings of the list, by tier."""

VERDICT_SHORT = {"STEP BACK ADVISED": "STEP BACK", "NONE": ""}
ABSENT_MARKS = {"not measured": "-", "not asked": "?", "declined": "d", "prohibited": "p"}
"""A score that is not there, in one character of the list; the pane says the word."""

BARS = "▁▁▂▃▄▅▆▇▇██"
"""Heights for 0 to 10. Each step from 1 to 7 shows: that is where a rise of one point counts."""
GAP = "·"
FICTIONAL = "FICTIONAL CASELOAD"
CAUTION = "Supports and never replaces clinical judgement."

PLAIN = str.maketrans(
    {
        "…": "~",
        "·": ".",
        "–": "-",
        "—": "-",
        "−": "-",
        "°": " deg",
        "→": "->",
        "←": "left",
        "↑": "up",
        "↓": "down",
        "⏎": "enter",
        "⌫": "backspace",
        "≥": ">=",
        "≤": "<=",
        "×": "x",
        "±": "+/-",
        "’": "'",
        "‘": "'",
        "“": '"',
        "”": '"',
        "▌": ">",
        "│": "|",
        "─": "-",
    }
)


def plain(text: str) -> str:
    """``text`` in ASCII alone, for a terminal that can show nothing else."""
    return text.translate(PLAIN).encode("ascii", "replace").decode("ascii")


def fit(text: str, width: int, *, right: bool = False) -> str:
    """``text`` in exactly ``width`` cells: cut with an ellipsis, or padded left or right."""
    if width <= 0:
        return ""
    over = cell_len(text) > width
    if over:
        text = set_cell_size(text, width - 1).rstrip() + "…"
    space = " " * (width - cell_len(text))
    return space + text if right and not over else text + space


def plural(count: int, one: str, many: str | None = None) -> str:
    """``count`` with its noun: "1 day", "3 days"."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def day(when: date, today: date | None = None) -> str:
    """ "Thu 5 Mar", with the year when it is not the year of ``today``."""
    words = f"{DAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]}"
    return f"{words} {when.year}" if today is None or when.year != today.year else words


def ago(days: int | None, *, short: bool = False) -> str:
    """How old something is: "today", "yesterday", "17 days ago" (short "17 d ago")."""
    if days is None:
        return ""
    if days <= 0:
        return "today"
    if short:
        return f"{days} d ago"
    return "yesterday" if days == 1 else f"{days} days ago"


def on_and_ago(when: date, today: date) -> str:
    """ "Thu 26 Feb, 4 days ago"."""
    return f"{day(when, today)}, {ago((today - when).days)}"


def age(duration: timedelta) -> str:
    """A duration in whole words: "2 days", "3 hours", "under an hour"."""
    if duration >= timedelta(days=1):
        return plural(duration.days, "day")
    hours = int(duration.total_seconds() // 3600)
    return plural(hours, "hour") if hours else "under an hour"


def days_in_stage(standing: Standing, *, short: bool = False) -> str:
    """ "day 22 of usual 35" (short "22 of 35"); without a stage, what the case is instead."""
    days, usual = standing.days_in_stage, standing.usual_days
    if days is None:
        return "closed" if standing.status == "closed" else "waiting" if standing.status == "waiting" else "-"
    if short:
        return f"{days} of {usual}" if usual is not None else f"day {days}"
    return f"day {days} of usual {usual}" if usual is not None else f"day {days}"


def stage(standing: Standing) -> str:
    """Stage code and name; a case without a stage names its pathway."""
    if not standing.stage:
        return standing.pathway_name or standing.pathway
    return f"{standing.stage} {standing.stage_name}".strip()


def mark(score: object) -> str:
    """One score of the list: a digit, or one character for why it is not there."""
    if score is None:
        return "-"
    return ABSENT_MARKS.get(str(score), str(score))


def said(score: object) -> str:
    """One score in the pane: the number, or in words why it is not there."""
    return "not recorded" if score is None else str(score)


def triple(pain: Pain, *, wide: bool = False) -> str:
    """During, later and next morning: "3/3/2"; without any session "none"."""
    if pain.date is None:
        return "none"
    return (" / " if wide else "/").join(mark(score) for score in (pain.during, pain.later, pain.morning))


def trend(scores: Sequence[int | None], width: int, *, ascii_only: bool = False) -> str:
    """The last ``width`` next-morning scores, oldest first; a gap is a morning without a score.

    Bars of eight heights for 0 to 10; in ASCII the digit itself, X for ten.
    """
    return "".join(_bar(score, ascii_only) for score in scores[-width:]) if width > 0 else ""


def _bar(score: int | None, ascii_only: bool) -> str:
    if score is None:
        return "." if ascii_only else GAP
    if ascii_only:
        return "X" if score >= 10 else str(score)
    return BARS[max(0, min(10, score))]


def review_words(standing: Standing, *, short: bool = False) -> str:
    """The review state of a case on its clinic date, in words."""
    owed = standing.review
    if standing.status == "closed":
        return "closed"
    if standing.status == "on hold" and standing.hold_until is not None:
        return f"hold to {standing.hold_until.day} {MONTHS[standing.hold_until.month - 1]}"
    if owed.due is None:
        return owed.note or "none due"
    if owed.overdue_days > 0:
        return _overdue(owed, short)
    left = (owed.due - standing.as_of).days
    if left <= 0:
        return "due today"
    return f"due in {left} d" if short else f"due in {plural(left, 'day')}"


def _overdue(owed: Review, short: bool) -> str:
    of = f" of {owed.interval}" if owed.interval else ""
    if short:
        return f"{owed.overdue_days} d over{of}"
    return f"{plural(owed.overdue_days, 'day')} overdue" + (f",{of}" if of else "")


def booked(standing: Standing) -> str:
    """The next booked visit: "Thu 5 Mar", "booked today", or the two most useful words, "none booked"."""
    when = standing.review.booked
    if when is None:
        return "" if standing.status == "closed" else "none booked"
    return "booked today" if when == standing.as_of else day(when, standing.as_of)


def named(reason: Reason) -> str:
    """The reason's sentence, led by its name when the sentence does not already say it."""
    head = reason.name.casefold()
    text = reason.sentence or reason.name
    return text if head in text.casefold() else f"{reason.name}: {text}"


def reason_line(reason: Reason, today: date) -> str:
    """The reason as the list prints it; one in hand says until when, and what was done."""
    if reason.in_hand_until is None:
        return named(reason)
    done = f" ({reason.in_hand_action})" if reason.in_hand_action else ""
    return f"in hand until {day(reason.in_hand_until, today)}: {named(reason)}{done}"


def second_line(standing: Standing) -> str:
    """The second line of a row: the placing reason and the names of the others, or why there is none."""
    placing = standing.placing
    if placing is None:
        return _without_reason(standing)
    others = [r.name for r in standing.reasons if r is not placing]
    also = f"; also {', '.join(others)}" if others else ""
    return reason_line(placing, standing.as_of) + also


def _without_reason(standing: Standing) -> str:
    in_hand = next((r for r in standing.reasons if r.in_hand), None)
    if in_hand is not None:
        return reason_line(in_hand, standing.as_of)
    if standing.status == "on hold" and standing.hold_until is not None:
        return f"on hold until {day(standing.hold_until, standing.as_of)}"
    if standing.status == "waiting":
        return "waiting for the first visit"
    return standing.verdict.line or "nothing asked"


def verdict_short(standing: Standing) -> str:
    """The verdict in at most nine letters: "READY", "NOT YET", "STEP BACK", "REFER" ..."""
    word = str(standing.verdict.word)
    return VERDICT_SHORT.get(word, word)


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


def rules_words(version: str, signed: str) -> str:
    """ "rules v1 NOT SIGNED OFF", or by whom they are signed off."""
    return f"rules {version if version.startswith('v') else 'v' + version} {signed}".strip()


def data_until(when: datetime | None, today: date) -> str:
    """ "data to 08:05", with the day when it is not today's; "no data" for an empty store."""
    if when is None:
        return "no data"
    clock = f"{when.hour:02}:{when.minute:02}"
    return f"data to {clock}" if when.date() == today else f"data to {day(when.date(), today)} {clock}"


def observed(result: CriterionResult, today: date) -> str:
    """What was observed for a criterion, and when."""
    when = f" ({on_and_ago(result.observed_on, today)})" if result.observed_on else ""
    return f"{result.observed or 'nothing recorded'}{when}"
