"""The weekly sweep in plain text: the queue, the minutes and their file. Codes only, no names."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from armrise.store.clinic.actions.minutes import Decided, Minutes, counted
from armrise.store.clinic.actions.sweep import SweepCase
from armrise.store.clinic.standing.rows import do_row, plain, reason_row
from armrise.store.clinic.standing.words import days_in_stage, overdue_words, reason_line, stage
from armrise.store.database.place import Store
from armrise.store.exchange.out.plain_text import Heading, headline, to_do, wrapped
from armrise.store.exchange.out.private_file import write_private
from armrise.store.record.light import NamedTuple
from armrise.store.record.phrase import dated
from armrise.store.record.visible import visible_lines
from armrise.store.record.words import full_date, near_date

MARK = "Minutes of the weekly sweep, written by armrise\n"
"""The first line of the file: one that begins otherwise is never replaced by minutes."""
NOBODY = "Nobody is discharged by itself: every line above is a clinician's decision."


def as_text(made: Minutes, heading: Heading) -> str:
    """The minutes of a week: how many, what was decided, what remains."""
    return "\n".join([*headline(heading), "", *_lines(made)]) + "\n"


def due_text(made: Minutes, heading: Heading) -> str:
    """The queue of the sweep, in its order, with everything its screen says."""
    return "\n".join([*headline(heading), "", *_queue(made)]) + "\n"


def as_json(made: Minutes) -> dict[str, Any]:
    """The minutes as plain data: what was decided, what remains, how many of each decision."""
    return {
        "first": made.first.isoformat(),
        "last": made.last.isoformat(),
        "as_of": made.as_of.isoformat(),
        "closed": made.closed,
        "total": made.total,
        "counts": made.counts,
        "decided": [_decided_row(line) for line in made.decided],
        "remaining": due_json(made),
        "store_head": made.store_head or None,
    }


def due_json(made: Minutes) -> list[dict[str, Any]]:
    """The queue of the sweep as plain data, in its order."""
    return [_case_row(case) for case in made.remaining]


def _decided_row(line: Decided) -> dict[str, Any]:
    return {
        "code": line.code,
        "side": line.side,
        "decision": line.entry.decision,
        "on": line.entry.on.isoformat(),
        "by": line.entry.author or None,
        "words": dated(line.entry),
        "remains": line.remains,
    }


def _case_row(case: SweepCase) -> dict[str, Any]:
    s = case.standing
    return {
        "code": s.code,
        "side": s.side,
        "stage": s.stage,
        "days_in_stage": s.days_in_stage,
        "overdue_days": s.review.overdue_days,
        "reasons": plain([reason_row(reason) for reason in case.reasons]),
        "do": do_row(s),
        "last_contact": case.contact,
        "attempts": case.tried,
        "booked": case.booked,
        "guards": list(case.guards),
    }


class Row(NamedTuple):
    """A line of the minutes before it is wrapped."""

    text: str
    indent: int = 0
    head: bool = False


def minute_rows(made: Minutes) -> Iterator[Row]:
    """The minutes without the lines above every listing."""
    yield Row(f"WEEKLY SWEEP, {near_date(made.first, made.last)} to {full_date(made.last)}", head=True)
    yield Row(f"{counted(made)}.")
    yield Row("")
    yield Row(f"DECIDED ({len(made.decided)})", head=True)
    for line in made.decided:
        yield from _decided(line)
    if not made.decided:
        yield Row("nothing decided this week", 2)
    yield Row("")
    yield Row(f"REMAINING ({len(made.remaining)})", head=True)
    for case in made.remaining:
        yield Row(f"{_who(case)}: {', '.join(r.name for r in case.reasons)}", 2)
    if not made.remaining:
        yield Row("no case is undecided", 2)
    yield Row("")
    yield Row(NOBODY)
    if made.store_head:
        yield Row(f"Head of the store's chain: {made.store_head}.")


def _decided(line: Decided) -> Iterator[Row]:
    by = f" ({line.entry.author})" if line.entry.author else ""
    yield Row(f"{line.code} {line.side}: {dated(line.entry)}{by}", 2)
    yield Row(f"remains: {line.remains}", 5)


def _lines(made: Minutes) -> Iterator[str]:
    for row in minute_rows(made):
        yield from wrapped(row.text, " " * row.indent) if row.text else [""]


def queue_rows(made: Minutes) -> Iterator[Row]:
    """The queue without the lines above every listing: how many, then case by case."""
    number = len(made.remaining)
    yield Row(f"WEEKLY SWEEP, {'1 case' if number == 1 else f'{number} cases'} to decide", head=True)
    yield Row(f"This week: {counted(made)}.")
    for place, case in enumerate(made.remaining, 1):
        yield Row("")
        yield Row(f"{place}. {_who(case)}", head=True)
        for reason in case.reasons:
            yield Row(reason_line(reason, made.as_of), 5)
        told = (f"last contact: {case.contact}", f"attempts: {case.tried}", case.booked, *case.guards)
        for words in filter(None, (to_do(case.standing), *told)):
            yield Row(words, 5)


def _queue(made: Minutes) -> Iterator[str]:
    for row in queue_rows(made):
        further = "     " if row.head or row.indent else None
        yield from wrapped(row.text, " " * row.indent, further) if row.text else [""]


def _who(case: SweepCase) -> str:
    s = case.standing
    late = overdue_words(s.review)
    return f"{s.code} {s.side}, {stage(s)}, {days_in_stage(s)}" + (f", {late}" if late else "")


# --- the file -------------------------------------------------------------------------------------------


def minutes_path(store: Store, made: Minutes) -> Path:
    """The file of a week's minutes: beside the store, named after its Monday."""
    return store.folder / f"sweep-minutes-{made.first.isoformat()}.txt"


def write_minutes(path: Path, text: str) -> None:
    """Write the file whole or not at all, readable by its owner alone, over no other kind of file.

    Raises :class:`armrise.store.database.place.StoreError`.
    """
    write_private(path, MARK + visible_lines(text), "minutes", MARK)
