"""Reading a caseload file: entries in JSON, checked whole, taken whole or not at all.

The format is that of ``demo_caseload.json``. It holds what happened and nothing that follows from it; dates
are ISO dates or days from the file's clinic date.
"""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date, timedelta, tzinfo
from functools import cache
from pathlib import Path
from typing import Any

from armrise.store.entries.filed import Beside, CaseloadFile, FileCase
from armrise.store.entries.words import Fault
from armrise.store.exchange.into.caseload_parser import FORMAT, CaseloadRefused, Parser
from armrise.store.exchange.into.demo import demo_path
from armrise.store.exchange.into.strict_json import NotJsonError, decoded, read_json
from armrise.store.record.clock import clinic_zone, on_the_clock
from armrise.store.record.kinds.head import Entry
from armrise.store.rules.pathway import Rules

__all__ = [
    "FORMAT",
    "CaseloadFile",
    "CaseloadRefused",
    "FileCase",
    "demo_path",
    "parse",
    "read",
    "shift",
]

NOTHING = Beside()


def read(
    path: Path, rules: Rules | None = None, beside: Beside = NOTHING, piped: bytes | None = None
) -> CaseloadFile:
    """The caseload in the file at ``path``. Raises :class:`CaseloadRefused` with every fault at once.

    ``rules`` gives the ranges and pathways checked against, by default those shipped. ``beside`` is what the
    store has that it is read for: the entries of a case there may be a part of its history. ``piped`` is its
    content where it lies nowhere.
    """
    return parse(data_of(path, piped), path.name, rules, beside)


def data_of(path: Path, piped: bytes | None = None) -> Any:
    """The JSON in the file at ``path``, or of its content ``piped``. Raises :class:`CaseloadRefused`."""
    try:
        return read_json(path) if piped is None else decoded(piped)
    except NotJsonError as refusal:
        raise CaseloadRefused(path.name, [Fault("", "", "", str(refusal))]) from None


def parse(data: Any, name: str, rules: Rules | None = None, beside: Beside = NOTHING) -> CaseloadFile:
    """The caseload that decoded JSON states, as :func:`read`; ``name`` is how a refusal calls it."""
    if rules is None:
        from armrise.store.rules.read import load

        rules = load()
    return Parser(name, rules, beside).file(data)


def shift(file: CaseloadFile, to: date) -> CaseloadFile:
    """The same caseload with every date and instant moved by whole days, so that its clinic date is ``to``.

    An instant keeps its wall-clock time in the clinic's zone: a daylight-saving change moves no entry to
    another date.
    """
    by = to - file.clinic_date
    zone = clinic_zone(file.zone)
    cases = tuple(
        replace(
            case,
            head=replace(case.head, registered_on=case.head.registered_on + by),
            entries=tuple(_moved(entry, by, zone) for entry in case.entries),
        )
        for case in file.cases
    )
    return replace(file, clinic_date=to, cases=cases)


def _moved(entry: Entry, by: timedelta, zone: tzinfo) -> Entry:
    dates = {name: getattr(entry, name) for name in _date_fields(type(entry))}
    moved: dict[str, Any] = {name: day + by for name, day in dates.items() if day is not None}
    # Adding days to an instant in a named zone keeps the wall clock, which is what people wrote down.
    moved["recorded_at"] = on_the_clock(entry.recorded_at, zone) + by
    return replace(entry, **moved)


@cache
def _date_fields(kind: type[Entry]) -> tuple[str, ...]:
    return tuple(f.name for f in fields(kind) if f.type in ("date", "date | None"))
