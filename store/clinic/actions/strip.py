"""What a diary strip writes into one case, or why it may not be written: no screen, no store (ruling 74)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.pain.runs import completeness
from armrise.store.entries.strip import Cell, Exercised, NotTold, Rest, Strip, place, read
from armrise.store.entries.values import RefusalError
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.pain import DOSE_WORDS, Morning, Session
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days, listed, near_date, value_words, words_date

SKIPPED = "on record already, skipped"
SAME = {field.name for field in fields(DoneItem)} & {field.name for field in fields(ProgrammeItem)}
"""What an exercise done shares with the exercise prescribed."""


@dataclass(frozen=True, slots=True)
class Typed:
    """One day of a strip, and the entry it writes: its kind and values, None where it writes nothing."""

    cell: Cell
    entry: tuple[str, dict[str, Any]] | None = None
    skipped: bool = False
    """The same is on record already."""


def understood(line: str, view: View) -> tuple[Strip, list[Typed]]:
    """A line as it is read today, and what each of its days writes. Raises :class:`RefusalError`."""
    strip = read(line, view.today, view.rules["strip.most_days"])
    return strip, typed_days(strip, view)


def typed_days(strip: Strip, view: View) -> list[Typed]:
    """What each day writes, by the programme in force on it. Nothing of a line is written without the rest.

    Raises :class:`RefusalError`: a day before the episode, or one that holds other values already.
    """
    first = _first_day(view)
    days: list[Typed] = []
    for number, cell in enumerate(strip.cells):
        where = place(number, cell.on, view.today)
        if cell.on < first:
            raise RefusalError(
                f"{where}: lies before the first day of this episode, {near_date(first, view.today)}"
            )
        dose = "part" if isinstance(cell, Exercised) and cell.part else strip.dose
        other, skipped = _on_record(view, cell, dose)
        if other:
            raise RefusalError(f'{where}: "{cell}" is typed, on record is {other}; correct one of them')
        days.append(Typed(cell, None if skipped else _entry(view, cell, dose), skipped))
    return days


def _first_day(view: View) -> date:
    """The first day of this episode: after a reopening that day, else the earliest thing known of it."""
    if view.episode_start is not None:
        return view.episode_start
    return min([view.history.began, *(onset.on for onset in view.upto("onsets") if not onset.history)])


# what is on record of a day


def _on_record(view: View, cell: Cell, dose: str | None) -> tuple[str, bool]:
    """(what is on record and is another thing, empty for nothing; whether all that is typed is there)."""
    if isinstance(cell, NotTold):
        return "", False
    sessions = [s for s in view.upto("sessions") if s.on == cell.on]
    told = [m.pain for m in view.upto("mornings") if m.on == cell.on + DAY]
    wakings = [pain for pain in told if pain is not Absence.NOT_ASKED]
    if isinstance(cell, Exercised) and any(_same(view, cell, dose, s, wakings) for s in sessions):
        return "", True
    if sessions:
        return f"a session of {_scores(sessions[-1])}", False
    if cell.morning is None or not wakings:
        return "", False
    if cell.morning not in wakings:
        return f"pain on waking {value_words(wakings[-1])} on {words_date(cell.on + DAY)}", False
    return "", isinstance(cell, Rest)


def _same(
    view: View, cell: Exercised, dose: str | None, session: Session, wakings: Sequence[int | Absence]
) -> bool:
    """Whether a session says everything that is typed; what is not told contradicts nothing."""
    pairs = (
        (cell.during, (session.during,)),
        (cell.later, (session.later,)),
        (cell.morning, (session.morning, *wakings)),
        (cell.times, (session.times,)),
        (dose, (_dose_of(view, session),)),
    )
    return all(typed is None or typed in held for typed, held in pairs)


def _dose_of(view: View, session: Session) -> str | None:
    """ "whole" or "part" of the dose, by the sets where they were counted, else as told; None: not told."""
    done = completeness(view, session)
    if done is None:
        return session.dose
    return "whole" if done >= view.rules["response.complete_percent"] else "part"


def _scores(session: Session) -> str:
    scores = " / ".join(value_words(value) for value in (session.during, session.later, session.morning))
    return listed(
        f"{scores} (during / later / next morning)",
        f"{session.times} times" if session.times else "",
        DOSE_WORDS.get(session.dose or ""),
    )


# what is written


def _entry(view: View, cell: Cell, dose: str | None) -> tuple[str, dict[str, Any]] | None:
    common: dict[str, Any] = {"source": REPORTED, "written": True}
    match cell:
        case Exercised():
            items = tuple(done_of(item, whole=dose == "whole") for item in in_force(view.at(cell.on)))
            return Session.KIND, {
                **common,
                "on": cell.on,
                "during": _told(cell.during),
                "later": _told(cell.later),
                "morning": _told(cell.morning),
                "times": cell.times,
                "dose": None if dose == "whole" and items else dose,
                "items": items,
            }
        case Rest(morning=int()):
            return Morning.KIND, {**common, "on": cell.on + DAY, "pain": cell.morning}
        case _:
            return None


def done_of(item: ProgrammeItem, *, whole: bool) -> DoneItem:
    """An exercise as it is prescribed; sets and repetitions done are those asked, or not recorded."""
    values: dict[str, Any] = {name: getattr(item, name) for name in SAME}
    values |= {"sets_asked": item.sets, "reps_asked": item.reps}
    if not whole:
        values |= {"sets": None, "reps": None}
    return DoneItem(**values)


def _told(value: int | None) -> int | Absence:
    return Absence.NOT_ASKED if value is None else value


# in words

HEAD = f"{'':<12}{'during':<10}{'later':<10}{'waking, day after':<19}"
"""Stands above the days."""


def day_lines(days: Iterable[Typed], dose: str | None, today: date) -> list[str]:
    """The days as they were understood, one line each: weekday, date, values, what becomes of them."""
    return [HEAD.rstrip(), *(_day_line(day, dose, today).rstrip() for day in days)]


def _day_line(day: Typed, dose: str | None, today: date) -> str:
    cell, when = day.cell, f"{near_date(day.cell.on, today):<12}"
    skipped = SKIPPED if day.skipped else ""
    match cell:
        case Exercised():
            words = "part" if cell.part else dose
            done = listed(
                f"{cell.times} times" if cell.times and cell.times > 1 else "", DOSE_WORDS.get(words or "")
            )
            told = f"{_pain(cell.during):<10}{_pain(cell.later):<10}{_pain(cell.morning):<19}"
            return f"{when}{told}{listed(done, skipped)}"
        case Rest():
            return f"{when}{'rest day':<20}{_pain(cell.morning):<19}{skipped}"
        case NotTold():
            return f"{when}not told: nothing is written"


def _pain(value: int | None) -> str:
    return "not told" if value is None else str(value)


def to_write(days: Sequence[Typed], strip: Strip, today: date) -> list[str]:
    """What would be written in all: how many entries, how late, with which exercises, what is skipped."""
    written = [day for day in days if day.entry]
    kinds = [day.entry[0] for day in written if day.entry]
    counts = listed(*(_count(kinds, kind) for kind in (Session.KIND, Morning.KIND)))
    skipped = sum(day.skipped for day in days)
    lines = [f"{counts}, {_how_late(written, today)}"] if written else []
    if Session.KIND in kinds:
        lines.append(_exercises(written, strip.dose))
    return [*lines, *([f"{count_days(skipped)} {SKIPPED}"] if skipped else [])]


def _count(kinds: Sequence[str], kind: str) -> str:
    number = kinds.count(kind)
    return f"{number} {kind}{'s' if number > 1 else ''}" if number else ""


def _how_late(written: Sequence[Typed], today: date) -> str:
    late = [(today - values["on"]).days for _, values in _entries(written)]
    least, most = min(late), max(late)
    if most == 0:
        return "typed the same day"
    return f"typed {count_days(most) if least == most else f'{least} to {count_days(most)}'} later"


def _exercises(written: Sequence[Typed], dose: str | None) -> str:
    """The exercises that sessions are written with: those of the programme of each day."""
    items: list[DoneItem] = [item for _, values in _entries(written) for item in values.get("items", ())]
    names = list(dict.fromkeys(item.exercise for item in items))
    if not names:
        return "without exercises: none were on the programme"
    return f"{'sets as asked' if dose == 'whole' else 'sets not recorded'}: {', '.join(names)}"


def _entries(written: Sequence[Typed]) -> Iterator[tuple[str, dict[str, Any]]]:
    return (day.entry for day in written if day.entry)
