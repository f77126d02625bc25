"""The letter to a referrer or surgeon on paper: its lines, the measures behind them, room for a signature.

By code alone: the reader is named by kind, and clinic, name and signature are filled in by hand. DRAFT stands
large above it until the letter is recorded as sent.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.changes import (
    DEGREES,
    OF_TEN,
    Change,
    error_words,
    in_words,
    pain_changes,
    range_changes,
    signed,
    strength_changes,
)
from armrise.store.clinic.letter.draft import Drafted, drafted, latest, recorded_since, suppressed
from armrise.store.clinic.letter.lines import score_error
from armrise.store.clinic.letter.missed import ABOUT as TO_THE_PATIENT
from armrise.store.clinic.letter.missed import SECTION
from armrise.store.clinic.letter.reader import copy_to, reader
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.change import latest_change
from armrise.store.clinic.series.scores import instruments
from armrise.store.exchange.out.plain_text import FICTIONAL, wrapped
from armrise.store.exchange.paper.page import Block, Lines, Page, Part, Table, Text
from armrise.store.record.kinds.paperwork import Letter
from armrise.store.record.words import day_year, plain

KIND = "letter"
NONE = "not recorded"
BY_HAND = "............................................"
HEAD = ("measure", "first", "last", "other side", "change", "error")
WIDTHS = (23, 18, 18, 9, 9, 33)
CAUTIONS = (
    "Code only: the name of the patient, the clinic and the reader are added by hand.",
    "Drafted by a program from the record: it supports clinical judgement and never replaces it.",
)


@dataclass(frozen=True, slots=True)
class PrintedLetter:
    """A letter about to be printed: its lines, whether it has gone, and what it rests on.

    ``view`` is the case on the day of the letter; ``note`` says what a reader of the draft has to know.
    """

    view: View
    about: str
    to: str
    copy: str
    lines: tuple[str, ...]
    sent: bool
    on: date
    fictional: bool
    note: str = ""


def now(view: View, made: Drafted, lines: Sequence[str], *, fictional: bool) -> PrintedLetter:
    """A draft as it stands on the screen, or as the record has it on the view's date."""
    return PrintedLetter(view, made.about, made.to, made.copy, tuple(lines), False, view.today, fictional)


def newest(view: View, about: str, *, fictional: bool) -> PrintedLetter | str:
    """The newest letter of that kind whose text is kept, else a draft made now; or why there is none."""
    if why := suppressed(view):
        return why
    last = latest(view, about)
    if last is not None and last.lines:
        return _kept(view, last, fictional=fictional)
    made = drafted(view, about)
    assert made is not None  # nothing else keeps a draft from being made
    note = f"Made now from the record of {day_year(view.today)}; it is not kept."
    if last is not None:
        note += f" The letter of {day_year(last.on)} ({last.state}) was recorded without its text."
    return PrintedLetter(view, about, made.to, made.copy, made.lines, False, view.today, fictional, note)


def _kept(view: View, letter: Letter, *, fictional: bool) -> PrintedLetter:
    then = view.at(letter.on)
    since = "" if letter.state == "sent" else f"Recorded since: {recorded_since(view, letter)}."
    readers = reader(then, letter.about), copy_to(then, letter.about)
    return PrintedLetter(
        then, letter.about, *readers, letter.lines, letter.state == "sent", letter.on, fictional, since
    )


def letter_page(letter: PrintedLetter) -> Page:
    """The page: to whom, the lines, the measures in a table, room for the signature.

    What a patient is sent is in the patient's words, and of a draft only the mark of it in the clinic's.
    """
    return _to_patient(letter) if letter.about == TO_THE_PATIENT else _to_colleague(letter)


def _to_patient(letter: PrintedLetter) -> Page:
    view, words = letter.view, letter.view.rules.words
    code, said_on = view.record.code, words.date(letter.on)
    by_hand = (words.say(f"{SECTION}.{who}", dots=BY_HAND) for who in ("to", "from"))
    top = (*_draft_mark(letter), Text(words.listed(code, said_on), "strong"), *map(Text, by_hand))
    signed = Text(words.say(f"{SECTION}.signed", dots=BY_HAND))
    return Page(
        kind=KIND,
        title=words.sided(f"{SECTION}.title", view.record.side),
        parts=(Part("", (Lines(letter.lines, numbered=True),)), Part("", (signed,), whole=True)),
        top=top,
        foot=(words.listed(code, said_on), _draft_foot(letter)),
        cautions=(words.say(f"{SECTION}.caution"),),
        fictional=words.say("sheet.fictional") if letter.fictional else "",
        language=words.language,
        clear=True,
    )


def _to_colleague(letter: PrintedLetter) -> Page:
    code, rules = f"{letter.view.record.code} {letter.view.record.side}", letter.view.rules
    named = f"Letter about {letter.about}"
    signed = Text(f"Name of the patient {BY_HAND}   Signature {BY_HAND}")
    parts = (
        Part("", (Lines(letter.lines, numbered=True),)),
        Part("", (signed,), whole=True),
        Part("", (_table(letter),)),
    )
    return Page(
        kind=KIND,
        title=named if letter.sent else f"DRAFT: {named[0].lower()}{named[1:]}",
        parts=parts,
        top=tuple(_top(letter, code)),
        foot=(f"{code}, letter about {letter.about}, {day_year(letter.on)}", _draft_foot(letter)),
        cautions=(f"Rules version {rules.version}, {rules.sign_off}.", *CAUTIONS),
        fictional=FICTIONAL if letter.fictional else "",
    )


def _draft_mark(letter: PrintedLetter) -> Iterator[Block]:
    """Of a letter that has not gone: what whoever sends it has to know."""
    if not letter.sent:
        note = f" {letter.note}" if letter.note else ""
        yield Text(f"DRAFT, not sent.{note}", "boxed")


def _draft_foot(letter: PrintedLetter) -> str:
    return "" if letter.sent else "DRAFT"


def _top(letter: PrintedLetter, code: str) -> Iterator[Block]:
    yield from _draft_mark(letter)
    yield Text(f"{code}, {day_year(letter.on)}", "strong")
    yield Text(f"To {letter.to} {BY_HAND}")
    if letter.copy:
        yield Text(f"Copy to {letter.copy} {BY_HAND}")
    yield Text(f"From (clinic) {BY_HAND}")


def _table(letter: PrintedLetter) -> Table:
    """What was measured twice, and under it what was measured once or not."""
    view = letter.view
    every = [*pain_changes(view), *range_changes(view), *strength_changes(view)]
    rows = [_row(change) for change in every if change.last is not None]
    single = [change for change in every if change.last is None]
    title = f"Measures up to {day_year(letter.on)}, range in degrees"
    return Table(HEAD, (*rows, *_scores(view)), title, tuple(in_words(single)), WIDTHS)


def _scores(view: View) -> Iterator[tuple[str, ...]]:
    for name in instruments(view):
        moved, changed = outcome.change(view, name), latest_change(view, name)
        if moved and changed:
            first, last = _value(moved.first, moved.first_on), _value(moved.latest, moved.latest_on)
            yield name, first, last, "", signed(moved.latest - moved.first), score_error(changed)
        else:
            totals = outcome.with_total(view, name)
            only = totals[-1].total if totals else None
            yield name, _value(only, totals[-1].on) if isinstance(only, Decimal) else NONE, "", "", "", ""


def _row(change: Change) -> tuple[str, ...]:
    label = change.label if change.unit in (DEGREES, OF_TEN) else f"{change.label}, {change.unit}"
    first, last = _value(change.first, change.first_on), _value(change.last, change.last_on)
    other = plain(change.other) if change.other is not None else ""
    moved, aside = change.moved, f"; {change.aside}" if change.aside else ""
    change_said = signed(moved) if moved is not None else ""
    return label, first, last + aside, other, change_said, error_words(change)


def _value(value: Decimal | None, on: date | None) -> str:
    return f"{plain(value)}, {day_year(on)}" if value is not None and on else NONE


def as_text(letter: PrintedLetter) -> str:
    """The letter in lines of at most 80 columns."""
    view, rules = letter.view, letter.view.rules
    code = f"{view.record.code} {view.record.side}"
    lines = [FICTIONAL] if letter.fictional else []
    state = "SENT" if letter.sent else "DRAFT, not sent"
    lines += wrapped(f"{state}: letter about {letter.about}, {code}, {day_year(letter.on)}", "")
    lines += wrapped(f"To {letter.to}{f', copy to {letter.copy}' if letter.copy else ''}", "")
    lines += wrapped(letter.note, "") if letter.note else []
    lines.append("")
    for number, line in enumerate(letter.lines, 1):
        lines += wrapped(f"{number} {line}", "", "  ")
    lines.append("")
    for said in (f"Rules version {rules.version}, {rules.sign_off}.", *CAUTIONS):
        lines += wrapped(said, "")
    return "\n".join(lines) + "\n"


def letter_path(folder: Path, letter: PrintedLetter, ending: str = ".html") -> Path:
    """The file beside the store, named after case, matter and date."""
    about = letter.about.replace(" ", "-")
    return folder / f"letter-{letter.view.record.code}-{about}-{letter.on.isoformat()}{ending}"
