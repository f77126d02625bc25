"""Messages nobody has answered: what came in, the warning words in it, and how urgent that is (ruling 84)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.naming import covers
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import PLACED, next_after, next_of
from armrise.store.clinic.case.view import DAY, NeedsFullHistory, View
from armrise.store.clinic.time.clocks import in_protected_stage
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.care import RECEIVED, Contact
from armrise.store.record.kinds.head import NEWS_NOTE, REPORTED, Entry
from armrise.store.record.words import DAYS, days_ago
from armrise.store.rules.pathway import Rules
from armrise.store.rules.red_flag import MessageWords

NEUTRAL = ("died", "moved")
"""Endings after which a message is nobody's to answer; a warning word after a move is told all the same."""


class Warned(NamedTuple):
    """A warning word as the message has it, and the item of the red-flag list it asks for, or an event."""

    word: str
    item: str


class Waiting(NamedTuple):
    """Messages that wait for an answer: severity, in words, since the first of them."""

    severity: int
    sentence: str
    since: date
    evidence: tuple[int, ...]


def warnings(rules: Rules, text: str) -> list[Warned]:
    """The warning words of a text, the most urgent item first, then in the order of the text.

    Quoted as they are written, and what the check-in itself notes is no word of the patient's.
    """
    said = NEWS_NOTE.sub(" ", text)
    found = [(match.start(), match[0], item) for match, item in _matches(rules.message_words, said)]
    found.sort(key=lambda hit: (-_urgency(rules, hit[2]), hit[0]))
    return [Warned(word, item) for _, word, item in found]


def _matches(words: MessageWords, text: str) -> Iterator[tuple[re.Match[str], str]]:
    before = re.compile(rf"\b(?:{'|'.join(map(re.escape, words.not_after))})\s+$", re.IGNORECASE)
    after = re.compile(rf"\s+(?:{'|'.join(map(re.escape, words.not_before))})\b", re.IGNORECASE)
    for word, item in words.items.items():
        for match in re.finditer(_pattern(word), text, re.IGNORECASE):
            denied = words.not_after and before.search(text[: match.start()])
            if not denied and not (words.not_before and after.match(text, match.end())):
                yield match, item


def _pattern(word: str) -> str:
    """A whole word, its blanks of any width, with or without its apostrophe, with any ending where it ends
    in a star."""
    parts = map(re.escape, word.removesuffix("*").split())
    ending = r"\w*" if word.endswith("*") else ""
    return r"\b" + re.sub("['’]", "['’]?", r"\s+".join(parts)) + ending + r"\b"


def _urgency(rules: Rules, item: str) -> int:
    """An event stands with the same-day items: what happened is asked before anything else."""
    known = rules.screen_items.get(item)
    return known.severity if known else 3


# --- what waits -------------------------------------------------------------------------------------------


@once_a_view
def unanswered(view: View) -> list[Entry]:
    """What came in from the patient and waits for an answer, oldest first.

    A message; of anything else a patient reports, what holds a warning word in its note. After a discharge
    a session or a morning is a message too (ruling 58).
    """
    closed = view.closed
    given = [*(c for c in view.upto("contacts") if c.spoken), *view.upto("visits")]
    _sure(view, given)
    told = [e for e in _incoming(view) if not any(_answered(view, answer, e) for answer in given)]
    if closed is None:
        return told
    after = [e for e in told if e.on > closed.on or view.told_after(e, closed.recorded_at, closed.id)]
    return [e for e in after if warned(view, e)] if closed.outcome in NEUTRAL else after


def _sure(view: View, given: Sequence[Entry]) -> None:
    """A window of sessions does where somebody answered within it."""
    known_from = view.record.known_from
    if known_from is not None and max((e.on for e in given), default=date.min) < known_from:
        raise NeedsFullHistory


def _answered(view: View, answer: Entry, told: Entry) -> bool:
    """Whether ``answer`` is dated on or after what was told, and recorded with it or later.

    What a visit writes down in one go is known to all of it; of a message and a call the order decides.
    """
    if isinstance(told, Contact):
        return view.answers(answer, told)
    return covers(view, answer, [told])


def _incoming(view: View) -> list[Entry]:
    found = [e for e in _all_messages(view) if e.on <= view.today]
    if view.closed:
        known = {e.id for e in found}
        found += [e for name in ("sessions", "mornings") for e in view.upto(name) if e.id not in known]
    return sorted(found, key=lambda e: (e.on, e.recorded_at, e.id))


def messages_until(view: View) -> date:
    """The first day after the view's date on which a message may wait, or wait otherwise."""
    if unanswered(view):
        return view.today + DAY
    if view.closed:
        return next_of(view, tuple(FIELD_OF_KIND.values()))
    told = view.history.once("days of messages", lambda: sorted({e.on for e in _all_messages(view)}))
    return min(next_of(view, PLACED), next_after(view.today, told))


def _all_messages(view: View) -> list[Entry]:
    return view.history.once("incoming messages", lambda: _messages(view))


def _messages(view: View) -> list[Entry]:
    """Messages and warning words of the whole history, whatever the day it is looked at."""
    told: list[Entry] = []
    for name in FIELD_OF_KIND.values():
        entries: list[Entry] = view.history.ordered(name)[0]
        if not entries or not (hasattr(entries[0], "note") or isinstance(entries[0], Contact)):
            continue
        for entry in entries:
            received = isinstance(entry, Contact) and entry.outcome == RECEIVED
            if received or (entry.source == REPORTED and warned(view, entry)):
                told.append(entry)
    return told


def warned(view: View, entry: Entry) -> list[Warned]:
    """The warning words of an entry's note."""
    note: str | None = getattr(entry, "note", None)
    return view.history.once(("warning words", note), lambda: warnings(view.rules, note)) if note else []


def asked_first(view: View) -> list[Warned]:
    """What the waiting messages ask for before anything else: each item once, the most urgent first."""
    found = [one for entry in unanswered(view) for one in warned(view, entry)]
    return _each_once(view.rules, found)


def _each_once(rules: Rules, found: Sequence[Warned]) -> list[Warned]:
    """Each item once, with the word for it that says more than its name."""
    items = dict.fromkeys(one.item for one in found)
    told = [Warned(_telling(rules, [o.word for o in found if o.item == item], item), item) for item in items]
    return sorted(told, key=lambda one: -_urgency(rules, one.item))


def _telling(rules: Rules, words: Sequence[str], item: str) -> str:
    name = short_name(rules, item).casefold()
    return next((word for word in words if word.casefold() not in name), words[0])


# --- how urgent -------------------------------------------------------------------------------------------


@once_a_view
def urgent_message(view: View) -> Waiting | None:
    """The reason "urgent message": a warning word (2), a protected stage or too long unanswered (1)."""
    waiting = unanswered(view)
    words = [entry for entry in waiting if warned(view, entry)]
    if words:
        said = _quoted(view.rules, warned(view, words[0]))
        return _waiting(view, 2, f"urgent message: {said}, {_ago(view, words[0])}", waiting)
    if not waiting or not _under_treatment(view):
        return None
    late = (view.today - waiting[0].on).days >= view.rules["message.urgent_days"]
    if late or in_protected_stage(view):
        return _waiting(view, 1, f"urgent message: {_ago(view, waiting[0])}", waiting)
    return None


def owed_message(view: View) -> Waiting | None:
    """The reason "message not answered": under treatment after a day, after a discharge at once."""
    waiting = unanswered(view)
    if not waiting or urgent_message(view) or not (view.closed or _under_treatment(view)):
        return None
    days = (view.today - min(_came(view, entry) for entry in waiting)).days
    if not view.closed and days < view.rules["message.after_days"]:
        return None
    return _waiting(view, days, f"message {_days_ago(view, days)}, not answered", waiting)


def _under_treatment(view: View) -> bool:
    return view.closed is None and view.span is not None


def _waiting(view: View, severity: int, sentence: str, waiting: Sequence[Entry]) -> Waiting:
    """Every message that waits is the evidence, and the first of them says since when."""
    since = min(_came(view, entry) for entry in waiting)
    return Waiting(severity, sentence, since, tuple(entry.id for entry in waiting))


def _came(view: View, entry: Entry) -> date:
    """The day a message is of; of one about a day before a discharge, the day it was told."""
    late = view.closed is not None and entry.on <= view.closed.on
    return min(view.today, entry.recorded_on if late else entry.on)


def _ago(view: View, entry: Entry) -> str:
    return f"{_days_ago(view, (view.today - _came(view, entry)).days)}, not answered"


def _days_ago(view: View, days: int) -> str:
    """How long ago, and within the week on which day: what came on a Friday reads otherwise on a Monday."""
    day = f" ({DAYS[(view.today - timedelta(days=days)).weekday()]})" if 1 < days < len(DAYS) else ""
    return f"{days_ago(days)}{day}"


def _quoted(rules: Rules, found: Sequence[Warned]) -> str:
    """ "'leaking' (wound)", of the most urgent item."""
    first = _each_once(rules, found)[0]
    return f"'{first.word}' ({short_name(rules, first.item)})"


def short_name(rules: Rules, item: str) -> str:
    """An item of the list in a word or two, as a line of the list has room for."""
    known = rules.screen_items.get(item)
    return (known.short if known else None) or item
