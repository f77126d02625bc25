"""The entries that a row asks for, as entries of its case: side, stage and exercises follow from it."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import fields, replace
from datetime import date
from functools import cache
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.read import read_case
from armrise.store.caseload.whole import Stored
from armrise.store.clinic.actions.strip import done_of
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.entries.words import CaseHead
from armrise.store.exchange.sheets.row import Given, Part, Row
from armrise.store.exchange.sheets.same import place_of
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date

if TYPE_CHECKING:
    from armrise.store.database.driver import Connection
    from armrise.store.rules.pathway import Rules


class New(NamedTuple):
    """An entry that would be written, the row that says it first, and its column."""

    entry: Entry
    row: Row
    column: str
    place: Hashable
    """Where it stands, see :func:`~armrise.store.exchange.sheets.same.place_of`."""


class Programme:
    """The exercises a session of a diary was done with: those of the programme on its day."""

    def __init__(self, there: Stored | None, given: Given, connection: Connection) -> None:
        self.view: View | None = None
        self.turns: list[date] = []
        self.kept: dict[int, tuple[Any, ...]] = {}
        if there is not None and any(entry.KIND == "programme item" for entry in there.entries):
            record = read_case(connection, there.head.code)
            self.view = View.of(record, given.rules, given.today)
            starts = (*record.programme, *record.onsets, *record.steps)
            self.turns = sorted({entry.on for entry in starts})

    def of(self, session: Session) -> Session:
        """The session with its exercises; a whole dose is the sets asked for."""
        if self.view is None:
            return session
        at = sum(turn <= session.on for turn in self.turns)
        if at not in self.kept:
            self.kept[at] = tuple(in_force(self.view.at(session.on)))
        whole = session.dose == "whole"
        items = tuple(done_of(item, whole=whole) for item in self.kept[at])
        return replace(session, items=items, dose=None if whole and items else session.dose)


def asked(row: Row, head: CaseHead, given: Given, programme: Programme) -> Iterator[New]:
    """What a row asks for, dated, as entries of this case."""
    for on, part in row.parts:
        assert part.entry is not None
        more: dict[str, Any] = {}
        if part.side:
            more["side"] = _side(part.side, head)
        if row.rater and part.entry.KIND == "measure":
            more["rater"] = row.rater
        if part.clock:
            more["what"] = _clock(row, part, head, given.rules)
        if part.stage:
            more["stage"] = _stage(row, part, head, given.rules)
        if "" in (more.get("what"), more.get("stage")):
            continue
        entry = replace(part.entry, on=on, **more) if more else _dated(part.entry, on)
        if isinstance(entry, Visit) and on < head.registered_on:
            day = full_date(head.registered_on)
            row.refuse(part.column, on, f"is a visit before the case was registered on {day}")
            continue
        if isinstance(entry, Session):
            entry = programme.of(entry)
        yield New(entry, row, part.column, place_of(entry))


def _dated(entry: Entry, on: date) -> Entry:
    """The entry on that day: ``dataclasses.replace`` costs four times what setting the slots does."""
    kind = type(entry)
    made = object.__new__(kind)
    for put, get in _slots(kind):
        put(made, get(entry))
    _SET_DAY(made, on)
    return made


_SET_DAY: Callable[[Entry, date], None] = Entry.__dict__["on"].__set__


@cache
def _slots(kind: type[Entry]) -> list[tuple[Callable[[Entry, Any], None], Callable[[Entry], Any]]]:
    """What sets and what gives each field but the day."""
    slots = [getattr(kind, field.name) for field in fields(kind) if field.name != "on"]
    return [(slot.__set__, attrgetter(slot.__name__)) for slot in slots]


def _side(side: str, head: CaseHead) -> str | None:
    """The side of a measured value; None is the side of the case."""
    other = "LEFT" if head.side == "RIGHT" else "RIGHT"
    named = other if side == "other" else side
    return None if named == head.side else named


def _clock(row: Row, part: Part, head: CaseHead, rules: Rules) -> str:
    pathway = rules.pathways.get(head.pathway)
    if pathway is None or pathway.clock is None:
        row.refuse(part.column, "", f"is told, and {head.pathway} counts no healing: name how it began")
        return ""
    return pathway.clock


def _stage(row: Row, part: Part, head: CaseHead, rules: Rules) -> str:
    pathway = rules.pathways.get(head.pathway)
    codes = [stage.code for stage in pathway.stages] if pathway else []
    code = part.stage if isinstance(part.stage, str) else f"{head.pathway}{part.stage}"
    if code not in codes:
        row.refuse(
            part.column, str(part.stage), f"is no stage of {head.pathway}, allowed is {', '.join(codes)}"
        )
        return ""
    return code
