"""The diary strip: many days of a written diary typed in one line (ruling 74). No record, no screen.

``-7: 221/231*2/-2/?/322; whole`` begins seven days ago: 2 during, 2 later and 1 on waking the day after; the
next day 2, 3 and 1, done twice; a rest day with 2 on waking the day after; a day not told; and so on.
"""

from __future__ import annotations

import re
from datetime import date, timedelta

from armrise.store.entries.values import RefusalError
from armrise.store.entries.words import shown
from armrise.store.record.light import dataclass
from armrise.store.record.words import DAYS, near_date, words_date

TEN = "t"
"""Ten, where the three values of a day are run together."""
UNTOLD = "."
"""One value that was not told."""
DOSES = ("whole", "part")
PARTS = ("during", "later", "on waking the day after")
DAY = timedelta(days=1)
_BACK = re.compile(r"-\s*(\d{1,4})", re.ASCII)
_ISO = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_SESSION = re.compile(r"(?P<triple>[^*!]*)(?:\*\s*(?P<times>[^*!]*?)\s*)?(?P<part>!)?")
_SCORE = re.compile(r"\d|10", re.ASCII)
_TIMES = re.compile(r"[1-6]", re.ASCII)
_STARTS = "allowed is a date such as 2026-02-23, -7 for seven days ago, or Mon for the latest Monday"


@dataclass(frozen=True, slots=True)
class Exercised:
    """A day with a session. Pain is 0 to 10, None where it was not told; ``times`` 1 to 6, None: not told."""

    on: date
    during: int | None
    later: int | None
    morning: int | None
    """Pain on waking the day after."""
    times: int | None = None
    part: bool = False
    """Part of the dose only."""

    def __str__(self) -> str:
        triple = "".join(_sign(value) for value in (self.during, self.later, self.morning))
        return triple + (f"*{self.times}" if self.times else "") + ("!" if self.part else "")


@dataclass(frozen=True, slots=True)
class Rest:
    """A day without a session; ``morning`` is pain on waking the day after, None where it was not told."""

    on: date
    morning: int | None = None

    def __str__(self) -> str:
        return "-" if self.morning is None else f"-{self.morning}"


@dataclass(frozen=True, slots=True)
class NotTold:
    """A day of which nothing was told."""

    on: date

    def __str__(self) -> str:
        return "?"


Cell = Exercised | Rest | NotTold


@dataclass(frozen=True, slots=True)
class Strip:
    """Consecutive days, the earliest first; ``dose`` is what the line says of every session."""

    cells: tuple[Cell, ...]
    dose: str | None = None

    def __str__(self) -> str:
        """The same line whatever day it is read on: from a date, without blanks that say nothing."""
        days = "/".join(str(cell) for cell in self.cells)
        return f"{self.cells[0].on}: {days}" + (f"; {self.dose}" if self.dose else "")


def read(line: str, today: date, most_days: int) -> Strip:
    """The days of a line typed on ``today``, at most ``most_days`` of them.

    Raises :class:`RefusalError` with one sentence that names the cell and its day, or the part of the line.
    """
    start, colon, rest = line.partition(":")
    if not colon:
        raise RefusalError(f"{shown(line.strip())} has no colon after its first day, {_STARTS}")
    first = _first_day(start.strip(), today)
    days, semicolon, last = rest.partition(";")
    texts = [text.strip() for text in days.split("/")]
    cells: list[Cell] = []
    for number, text in enumerate(texts):
        on = first + number * DAY
        _fits(number, on, len(texts), today, most_days)
        cells.append(_cell(text, on, today, place(number, on, today)))
    return Strip(tuple(cells), _dose(last.strip()) if semicolon else None)


def from_date(line: str, today: date) -> str:
    """The same line beginning with its date, so that it says the same days on any other day.

    A line whose first day cannot be read stays as it is.
    """
    start, colon, rest = line.partition(":")
    try:
        return f"{_first_day(start.strip(), today)}:{rest}" if colon else line
    except RefusalError:
        return line


def place(number: int, on: date, today: date) -> str:
    """Which cell is meant, counted from 0, and its day: "cell 3, Wed 25 Feb"."""
    return f"cell {number + 1}, {near_date(on, today)}"


def _first_day(text: str, today: date) -> date:
    if text[:3].title() in DAYS and len(text) == 3:
        return today - timedelta(days=(today.weekday() - DAYS.index(text.title())) % 7)
    if back := _BACK.fullmatch(text):
        return today - timedelta(days=int(back[1]))
    try:
        if _ISO.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        raise RefusalError(f"first day: {shown(text)} is no day of the calendar, {_STARTS}") from None
    raise RefusalError(f"first day: {shown(text)} is no day, {_STARTS}")


def _fits(number: int, on: date, count: int, today: date, most_days: int) -> None:
    """Refuses a day that has not come, and one more than a line may have."""
    where = place(number, on, today)
    if on > today:
        raise RefusalError(f"{where}: lies after today, {words_date(today)}")
    if number >= most_days:
        raise RefusalError(f"{where}: {count} days are too many, a line has at most {most_days}")


def _cell(text: str, on: date, today: date, where: str) -> Cell:
    if text == "?":
        return NotTold(on)
    cell = _rest(text, on, where) if text.startswith("-") else _session(text, on, where)
    if cell.morning is not None and on == today:
        say = f"its waking value is that of tomorrow, {words_date(on + DAY)}; leave it out"
        raise RefusalError(f"{where}: {say} ({UNTOLD} in a session)")
    return cell


def _rest(text: str, on: date, where: str) -> Rest:
    told = text[1:].strip()
    return Rest(on, _score(told, where, "pain on waking the day after a rest day") if told else None)


def _session(text: str, on: date, where: str) -> Exercised:
    match = _SESSION.fullmatch(text)
    if match is None:
        say = "allowed after the three values is *2 for twice that day, then ! for part of the dose"
        raise RefusalError(f"{where}: {shown(text)} is no session, {say}")
    during, later, morning = _triple(match["triple"], where)
    times = match["times"]
    if times is not None and not _TIMES.fullmatch(times):
        raise RefusalError(f"{where}: {shown(times)} after * is not how often, allowed is 1 to 6")
    return Exercised(on, during, later, morning, int(times) if times else None, bool(match["part"]))


def _triple(text: str, where: str) -> tuple[int | None, ...]:
    """Three values parted by blanks, or three signs run together."""
    parts = text.split()
    if len(parts) == 1:
        parts = ["10" if sign == TEN else sign for sign in parts[0]]
    if len(parts) != len(PARTS):
        found = f"{len(parts)} value{'s' if len(parts) != 1 else ''}"
        say = f"needed are three ({', '.join(PARTS)})"
        raise RefusalError(f"{where}: {shown(text.strip())} has {found}, {say}")
    named = zip(parts, PARTS, strict=True)
    return tuple(None if part == UNTOLD else _score(part, where, name) for part, name in named)


def _score(text: str, where: str, name: str) -> int:
    if not _SCORE.fullmatch(text):
        ten = f", {TEN} for 10 in values run together" if len(text) == 1 else ""
        raise RefusalError(f"{where}: {name} {shown(text)} is no pain, allowed is 0 to 10{ten}")
    return int(text)


def _dose(text: str) -> str:
    if text.lower() not in DOSES:
        raise RefusalError(f'last word: {shown(text)} is not known, allowed after ";" is whole or part')
    return text.lower()


def _sign(value: int | None) -> str:
    return UNTOLD if value is None else TEN if value == 10 else str(value)
