"""The patient's sheet as a page: limits, exercises, pain, when to ring and whom, and a diary to fill in.

By code alone, in the words of the rules in force: what is written here is in no language.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from armrise.store.clinic.advice.dose_words import Told
from armrise.store.clinic.advice.sheet import Sheet, sheet
from armrise.store.clinic.case.view import View
from armrise.store.exchange.paper.page import Block, CodeMark, Lines, Page, Part, Table, Text
from armrise.store.rules.words.patient import PatientWords

DIARY_DAYS = 14
KIND = "patient's sheet"


def patient_page(
    view: View, *, start: date | None = None, large: bool = False, fictional: bool = False
) -> Page | None:
    """The sheet of one case on the view's date; None where nothing is to be said, as after a death.

    The diary begins on ``start``, by default that day; there is none where nothing is to be done.
    """
    found, code = sheet(view), view.record.code
    if not found.say:
        return None
    words = found.words
    return Page(
        kind=KIND,
        title=f"{found.title}, {found.date}",
        parts=tuple(_parts(found, start or view.today, large=large)),
        top=tuple(_top(found)),
        mark=CodeMark(code),
        foot=(f"{code}, {found.date}",),
        fictional=words.say("sheet.fictional") if fictional else "",
        language=words.language,
        clear=True,
        large=large,
    )


def sheet_path(folder: Path, code: str, day: date) -> Path:
    """The file beside the store, named after case and date."""
    return folder / f"sheet-{code}-{day.isoformat()}.html"


def _top(found: Sheet) -> Iterator[Text]:
    """What is to be done at once stands before all else, a visit in some weeks too."""
    yield from (Text(line, "boxed") for line in found.at_once)
    yield Text(found.words.say("sheet.caution"))
    if found.next_visit:
        yield Text(found.words.say("sheet.next_visit_is", visit=found.next_visit), "strong")


def _parts(found: Sheet, start: date, *, large: bool) -> Iterator[Part]:
    words = found.words
    if found.limits:
        yield Part(_heading(words, "today"), (Lines(found.limits),), whole=True)
    yield from _exercises(found)
    if found.pain:
        yield Part(_heading(words, "pain"), (Lines(found.pain), Text(found.scale, "soft")), whole=True)
    ringing = (Text(found.emergency, "boxed"), Text(words.say("sheet.ring"), "strong"), Lines(found.ring_us))
    yield Part(_heading(words, "ring_us"), ringing)
    if found.awaits:
        yield diary(words, start, new_page=large)


def _exercises(found: Sheet) -> Iterator[Part]:
    """One block each, the heading with the first."""
    heading = _heading(found.words, "exercises")
    if not found.doing:
        if found.exercises:
            yield Part(heading, tuple(map(Text, found.exercises)))
        return
    for one in found.doing:
        yield Part(heading, tuple(_exercise(one, found.words)), whole=True)
        heading = ""


def _heading(words: PatientWords, name: str) -> str:
    """A heading as it stands on paper."""
    said = words.say(f"sheet.{name}")
    return said[:1].upper() + said[1:]


def _exercise(one: Told, words: PatientWords) -> Iterator[Block]:
    if one.left_out:
        yield Text(one.line(words), "strong")
        return
    yield Text(one.name, "strong")
    yield Lines(tuple(part for part in (one.way, words.joined(one.dose, one.how_far)) if part))


def diary(words: PatientWords, start: date, *, new_page: bool = False) -> Part:
    """A grid of a row a day, its boxes in the order in which the diary strip is typed (ruling 74)."""
    days = [start + timedelta(days=n) for n in range(DIARY_DAYS)]
    head = ("day", "during", "later", "next_morning", "times", "part")
    grid = Table(
        head=tuple(words.say(f"diary.{name}") for name in head),
        rows=tuple((words.date(day, start), *[""] * (len(head) - 1)) for day in days),
        notes=(words.say("diary.for_clinic", start=f"{start.isoformat()}:"),),
        widths=(7, 5, 6, 6, 4, 4),
        to_fill=True,
    )
    how = tuple(words.say(f"diary.{name}") for name in ("morning", "rest", "empty"))
    return Part(words.say("diary.title"), (Lines(how), grid), whole=True, new_page=new_page)
