"""A standing in the columns of the screens: what room forces to be said shorter, and how it is cut.

The words themselves are those of every room; they are passed on here, so that a screen has one place to ask.
Vocabulary: the clinic's practice notes, 7.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size

from armrise.store.clinic.standing.do_words import NO_KEYS, do_words
from armrise.store.clinic.standing.words import (
    NONE_BOOKED,
    TIER_WORDS,
    asked_and_seen,
    booked,
    counts,
    days_in_stage,
    named,
    on_and_ago,
    overdue_words,
    reason_line,
    review_words,
    scores,
    spoken_scores,
    stage,
    statuses,
    verdict_told,
    verdict_words,
    why,
    with_attempt,
)
from armrise.store.record.visible import visible
from armrise.store.record.words import clock_words, days_ago, full_date, month_day, near_date, time_words
from armrise.store.record.words import rules_words as stamped

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Pain, Standing

TIER_HEADS = {tier: word.upper() for tier, word in TIER_WORDS.items()}
"""The headings of the list, by tier."""
ACTED_ON = ("today", "harm if left")
"""The tiers in which somebody has to be acted on."""
ABSENT_MARKS = {
    "not measured": "-",
    "not recorded": "-",
    "not asked": "?",
    "declined": "d",
    "prohibited": "p",
}
"""A score that is not there, in one character of the list; the pane says the word."""

__all__ = [
    "NONE_BOOKED",
    "asked_and_seen",
    "booked",
    "counts",
    "days_in_stage",
    "named",
    "on_and_ago",
    "overdue_words",
    "reason_line",
    "review_words",
    "scores",
    "spoken_scores",
    "stage",
    "statuses",
    "verdict_told",
    "why",
    "with_attempt",
]

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
        "✓": "+",
        "•": ".",
        "│": "|",
        "─": "-",
    }
)


def comes_in_today(standing: Standing) -> bool:
    """True when the patient is booked today and it is not told yet what became of it."""
    return standing.review.booked == standing.as_of


def hour_today(standing: Standing) -> str:
    """When the patient comes in today: "09:20"; nothing for another day, and where no hour was told."""
    return standing.review.booked_at or "" if comes_in_today(standing) else ""


def booked_shortly(standing: Standing) -> str:
    """The next booked visit in the list, with the hour of today's slot alone: "today 09:20".

    Of somebody to be acted on who is coming in anyway "here 09:20".
    """
    at = standing.review.booked_at
    if comes_in_today(standing) and standing.tier in ACTED_ON:
        return f"here {at or 'today'}"
    return (
        f"today {at}" if comes_in_today(standing) and at else booked(standing).removesuffix(clock_words(at))
    )


def do_line(standing: Standing, keys: Mapping[str, str] = NO_KEYS) -> str:
    """What to do about the case, each action with its key: "phone today (p), then lower the load (d)".

    ``keys`` are those in force by action (:attr:`armrise.tui.shell.frame.Frame.act_keys`). Nothing to do: "".
    """
    return do_words(standing, keys)


def plain(text: str) -> str:
    """``text`` in ASCII alone, for a terminal that can show nothing else."""
    return visible(text).translate(PLAIN).encode("ascii", "replace").decode("ascii")


def cleaner(*, ascii_only: bool) -> Callable[[str], str]:
    """What makes text fit to be laid out: every sign in it visible, in ASCII where there is nothing else."""
    return plain if ascii_only else visible


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
    return full_date(when) if today is None else near_date(when, today)


def ago(days: int | None, *, short: bool = False) -> str:
    """How old something is: "today", "yesterday", "17 days ago" (short "17 d ago")."""
    if days is None:
        return ""
    return f"{days} d ago" if short and days > 0 else days_ago(max(0, days))


def age(duration: timedelta) -> str:
    """A duration in whole words: "2 days", "3 hours", "under an hour"."""
    if duration >= timedelta(days=1):
        return plural(duration.days, "day")
    hours = int(duration.total_seconds() // 3600)
    return plural(hours, "hour") if hours else "under an hour"


def late_backup(age_of_it: timedelta) -> str:
    """ "backup 3 days old"."""
    return f"backup {age(age_of_it)} old"


def days_in_full(standing: Standing) -> str:
    """The days in the stage, in all of its stays, after the onset, and until when the case is on hold."""
    s, parts = standing, [days_in_stage(standing)]
    if s.total_days_in_stage not in (None, s.days_in_stage):
        parts.append(f"{s.total_days_in_stage} in this stage in all")
    if s.onset_word and s.days_since_onset is not None:
        parts.append(f"day {s.days_since_onset} after {s.onset_word}")
    if s.status == "on hold" and s.hold_until is not None:
        parts.append(f"on hold until {day(s.hold_until, s.as_of)}")
    return ", ".join(parts)


def days_shortly(standing: Standing) -> str:
    """The days in the stage in a narrow column: "22 of 35"."""
    days, usual = standing.days_in_stage, standing.usual_days
    return f"{days} of {usual}" if days is not None and usual is not None else days_in_stage(standing)


def days_alone(standing: Standing) -> str:
    """The days in the stage without the usual ones, in the narrowest window: "22"."""
    return days_in_stage(standing) if standing.days_in_stage is None else str(standing.days_in_stage)


def age_shortly(days: int | None) -> str:
    """How old something is beside its number: "today", "17 d"."""
    return "" if days is None else f"{days} d" if days > 0 else "today"


def why_shortly(standing: Standing, *, named: bool = True) -> str:
    """As :func:`why`, the evidence alone: what the sentence goes on to advise is left to the do line.

    A reason in hand has been answered: until when and by what is said, and which it is; its evidence is with
    the row under the cursor. Unless ``named``, the other reasons are counted.
    """
    first = standing.placing
    if first is None:
        return why(standing)
    answered = first.in_hand and first.in_hand_action
    others = tuple(r for r in standing.reasons if r is not first)
    said = (first._replace(sentence="") if answered else first, *(others if named else ()))
    more = "" if named or not others else f"; {plural(len(others), 'more reason')}"
    return _ADVICE.sub("", why(standing._replace(reasons=said))) + more


_ADVICE = re.compile(r": consider [^;]*(?:; (?!also )[^;]*)*")
"""What a sentence advises, up to the names of the other reasons."""


def review_shortly(standing: Standing) -> str:
    """The review in a narrow column: "hold to 16 Mar", "3 d over of 14", "due in 17 d"."""
    owed, words = standing.review, review_column(standing)
    if owed.overdue_days > 0 and words == overdue_words(owed):
        return f"{owed.overdue_days} d over" + (f" of {owed.interval}" if owed.interval else "")
    return re.sub(r"^due in (\d+) days?$", r"due in \1 d", words)


def review_column(standing: Standing) -> str:
    """The review in its column: only a hold is said shorter."""
    if standing.status == "on hold" and standing.hold_until is not None:
        return f"hold to {month_day(standing.hold_until)}"
    return review_words(standing)


def verdict_short(standing: Standing) -> str:
    """The verdict in at most nine letters: "READY", "NOT YET", "STEP BACK", "REFER" ..."""
    return verdict_words(standing).removesuffix(" ADVISED")


def triple(pain: Pain) -> str:
    """During, later and next morning, one character each: "3/3/?"; without any session "none"."""
    if pain.date is None:
        return "none"
    return "/".join(ABSENT_MARKS.get(score, score) for score in scores(pain))


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


def rules_words(version: str, signed: str) -> str:
    """ "rules v1 NOT SIGNED OFF", or by whom they are signed off."""
    return stamped(f"{version} {signed}".strip())


def data_until(when: datetime | None, today: date) -> str:
    """ "data to 08:05", with the day when it is not today's; "no data" for an empty store."""
    if when is None:
        return "no data"
    clock = time_words(when)
    return f"data to {clock}" if when.date() == today else f"data to {day(when.date(), today)} {clock}"
