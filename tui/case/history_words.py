"""The history of a case in words: one entry as lines, what stands beside it, and all of its fields."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from textwrap import wrap
from typing import TYPE_CHECKING

from armrise.store.entries.build import field_rules
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.labels import label_of
from armrise.store.record.light import NamedTuple
from armrise.store.record.phrase import dated, phrase
from armrise.store.record.words import time_words
from armrise.tui.forms.kit.entry_text import shown_value
from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words.entries import ago, day

if TYPE_CHECKING:
    from armrise.store.caseload.timeline import Elsewhere, Timeline, Told
    from armrise.store.rules.pathway import Rules

PAIN_MEASURES = ("worst_pain", "rest_pain", "night_pain", "night_waking")
EVERYTHING = "everything"
GROUPS: tuple[str, ...] = (EVERYTHING, "pain", "measures", "decisions", "paperwork")
"""What the filter key goes through; each kind says itself in which of them it stands."""


def in_group(told: Told, group: str) -> bool:
    """Whether an entry belongs to a group; a correction goes with what it corrects."""
    entry = told.corrects or told.entry
    if group == EVERYTHING or group in entry.GROUPS:
        return True
    return group == "pain" and isinstance(entry, Measure) and entry.name in PAIN_MEASURES


class TextLine(NamedTuple):
    """One line of an entry and the name of its style."""

    text: str
    style: str


def head_line(on: date, today: date) -> str:
    """The heading of a day."""
    return f"{day(on)}, {ago(on, today)}"


def notes(told: Told, rules: Rules | None) -> list[str]:
    """What is to be said beside an entry, each in a sentence."""
    said: list[str] = []
    if told.withdrawn_by is not None:
        said.append(_withdrawn(told, rules))
    if told.replaces is not None and told.why_replaced is not None:
        said.append(f"stands instead of: {dated(told.replaces, rules)} ({told.why_replaced.reason})")
    if told.moved_from is not None:
        said.append(f"moved here from {_reason(told.moved_from)}")
    if isinstance(told.entry, Correction):
        said += _correction(told, rules)
    if told.days_late and not (isinstance(told.entry, (Session, Morning)) and told.entry.written):
        # a written diary says in its own sentence how much later it was typed
        said.append(f"recorded {told.days_late} day{'s' if told.days_late > 1 else ''} later")
    if told.entry.history:
        said.append("from before this episode")
    return said + _questions(told, rules)


def _reason(where: Elsewhere) -> str:
    return f"{where.code}: {where.reason}"


def _withdrawn(told: Told, rules: Rules | None) -> str:
    by = told.withdrawn_by
    assert by is not None
    said = f"WITHDRAWN {day(by.on)} by {by.author or 'an unnamed author'}: {by.reason}"
    if told.replaced_by is not None:
        said += f"; instead: {dated(told.replaced_by, rules)}"
    elif told.moved_to is not None:
        said += f"; stands in {told.moved_to.code} now"
    return said


def _correction(told: Told, rules: Rules | None) -> list[str]:
    said = [f"withdrew: {dated(told.corrects, rules)}"] if told.corrects is not None else []
    if told.moved_to is not None:
        said.append(f"the entry stands in {told.moved_to.code} now")
    return said


def _questions(told: Told, rules: Rules | None) -> list[str]:
    said: list[str] = []
    if told.duplicate:
        said.append("duplicate? the same check-in was recorded within minutes")
    if told.contradiction is not None:
        against = phrase(told.contradiction.against, rules)
        said.append(
            f"contradicts {against}: {told.contradiction.words}; "
            "unknown for verdicts until confirmed (y) or corrected (C)"
        )
    if told.resting_on:
        these = "; ".join(dated(entry, rules) for entry in told.resting_on[:2])
        more = f" and {len(told.resting_on) - 2} more" if len(told.resting_on) > 2 else ""
        said.append(f"verdict based on a value later corrected: {these}{more}")
    return said


def entry_lines(told: Told, rules: Rules | None, width: int) -> list[TextLine]:
    """An entry as lines of at most ``width`` cells: what it says, then what is to be said beside it."""
    gone = told.withdrawn_by is not None
    by = f" ({told.entry.author})" if told.entry.author else ""
    lines = [
        TextLine(line, "gone" if gone else "") for line in wrapped(phrase(told.entry, rules) + by, width)
    ]
    for note in notes(told, rules):
        lines += [
            TextLine("  " + line, "muted" if _quiet(note) else "strong") for line in wrapped(note, width - 2)
        ]
    return lines


def _quiet(note: str) -> bool:
    return note.startswith(
        ("recorded ", "from before", "stands instead", "withdrew", "moved here", "the entry")
    )


def wrapped(text: str, width: int) -> list[str]:
    """``text`` in lines of at most ``width``, the whole of it."""
    return wrap(text, max(20, width), break_on_hyphens=False) or [""]


# one entry whole


def whole_entry(told: Told, rules: Rules, local: datetime) -> list[Piece]:
    """Every field of an entry, who wrote it and when, and what became of it.

    ``local`` is the recorded instant on the clinic's clock.
    """
    entry = told.entry
    word = "withdrawn " if told.withdrawn_by else ""
    pieces = [Piece(f"{word}{entry.KIND}, {day(entry.on)}", "strong"), Piece(phrase(entry, rules)), BLANK]
    pieces += [Piece(note, "strong", indent=0) for note in notes(told, rules)]
    pieces += [BLANK] if notes(told, rules) else []
    pieces += [_row(label, words) for label, words in fields_of(entry)]
    pieces += [
        BLANK,
        _row("happened", day(entry.on)),
        _row("recorded", _clock(local)),
        _row("by", entry.author or "not stated"),
    ]
    pieces.append(_row("source", entry.source))
    if entry.history:
        pieces.append(_row("history", "from before this episode"))
    came = "came in a file" if not told.batch else f"written with action {told.batch}"
    pieces.append(_row("entry", f"number {entry.id}, {came}"))
    return pieces


def _clock(at: datetime) -> str:
    return f"{day(at.date())} {time_words(at)}"


def _row(label: str, words: str) -> Piece:
    return Piece(words, lead=label, indent=24)


def fields_of(entry: Entry) -> list[tuple[str, str]]:
    """Label and value in words of every field that the kind has, those left empty too."""
    if isinstance(entry, Correction):
        return [("reason", entry.reason)]
    rows: list[tuple[str, str]] = []
    for spec in field_rules(type(entry)):
        if isinstance(entry, Session) and spec.name == "items":
            rows += [(f"exercise {number}", item.words()) for number, item in enumerate(entry.items, 1)]
            continue
        value = getattr(entry, spec.name)
        empty = EMPTY.get((entry.KIND, spec.name), "") if value is None else ""
        rows.append((label_of(spec.name), empty or shown_value(spec.rule, value)))
    return rows


EMPTY = {
    ("measure", "side"): "the affected side",
    ("measure", "unit"): "that of the measure",
    ("visit", "interval"): "that of the stage",
    ("screen", "severity"): "that of the item",
    ("score", "total"): "incomplete: no total",
}
"""What an empty field means, where it means more than that it was left empty."""


def together(timeline: Timeline, told: Told) -> Sequence[Entry]:
    """The other entries of the same action."""
    if not told.batch:
        return ()
    return [one.entry for one in timeline.told if one.batch == told.batch and one.entry.id != told.entry.id]
