"""A caseload as its file: what :mod:`armrise.store.exchange.into.caseload_file` reads back as it was.

One entry a line, fields in the order in which they are declared, nothing that is empty or says what is said
without it. The same caseload always gives the same text.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import fields
from datetime import date, tzinfo
from decimal import Decimal
from functools import cache
from typing import Any, cast

from armrise.store.entries.build import HEAD
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.into.caseload_parser import FORMAT_OF_A_STORE
from armrise.store.record.clock import clinic_zone, on_the_clock
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.programme import DoneItem

NOTE = (
    "Written by armrise export: every case below with all its entries, those withdrawn too. Not in it, as "
    "they are no record: forms not written yet, marks, when a case was last opened, the clinic's views of "
    "the list, the initials remembered. Not in it, to be kept apart: the rules and who signed them, and what "
    "shows that the store was not changed behind armrise's back, which a copy of the store keeps."
)
"""What stands at the head of an export: JSON knows no remarks."""

MARK = f'{{\n "format": "{FORMAT_OF_A_STORE}",\n "note": {json.dumps(NOTE[:25])[:-1]}'
"""How every export begins: a file that begins otherwise is never written over."""

_APART = ("id", "on", "recorded_at", "recorded_on")


def as_text(caseload: CaseloadFile) -> str:
    """The whole file, in plain ASCII: it reads the same in every encoding."""
    top = {
        "format": FORMAT_OF_A_STORE,
        "note": NOTE,
        "clinic_date": caseload.clinic_date,
        "zone": caseload.zone,
        "fictional": caseload.fictional,
    }
    if caseload.clinic:
        top["clinic"] = caseload.clinic
    zone = clinic_zone(caseload.zone)
    head = "".join(f' "{name}": {_value(value)},\n' for name, value in top.items())
    return f'{{\n{head} "cases": {_lines(" ", (_case(case, zone) for case in caseload.cases))}\n}}\n'


def _case(case: FileCase, zone: tzinfo) -> str:
    told = {name: getattr(case.head, "registered_on" if name == "registered" else name) for name in HEAD}
    head = {"code": case.head.code} | {name: value for name, value in told.items() if value}
    entries = (_object(dict(fields)) for fields in _entries(case, zone))
    return f'{_object(head)[:-1]}, "entries": {_lines("  ", entries)}}}'


def _lines(indent: str, parts: Iterable[str]) -> str:
    """A list with one part a line, each further in than the list itself."""
    lines = ",\n".join(f"{indent} {part}" for part in parts)
    return f"[\n{lines}\n{indent}]" if lines else "[]"


def _entries(case: FileCase, zone: tzinfo) -> Iterator[Iterator[tuple[str, Any]]]:
    pointed_at = {
        position
        for entry in case.entries
        if isinstance(entry, Correction)
        for position in (entry.corrects, entry.replaced_by)
    }
    for position, entry in enumerate(case.entries, 1):
        number = case.numbers[position - 1] if case.numbers else 0
        action = case.actions[position - 1] if case.actions else 0
        label = _label(position) if position in pointed_at else None
        yield _fields(entry, number, action, label, zone)


def _fields(
    entry: Entry, number: int, action: int, label: str | None, zone: tzinfo
) -> Iterator[tuple[str, Any]]:
    """The fields of one entry, in order."""
    yield "kind", entry.KIND
    yield from (pair for pair in (("number", number), ("written_with", action), ("label", label)) if pair[1])
    yield "on", entry.on
    yield "recorded", entry.recorded_at.isoformat()
    if on_the_clock(entry.recorded_at, zone).date() != entry.recorded_on:
        yield "recorded_on", entry.recorded_on
    for name, value in _stated(entry):
        by_label = isinstance(entry, Correction) and name in ("corrects", "replaced_by")
        yield name, _label(value) if by_label else value


def _stated(record: Entry | DoneItem) -> Iterator[tuple[str, Any]]:
    """Every field that says something else than it does when it is left out."""
    for name, default in _defaults(type(record)):
        value = getattr(record, name)
        # 0 is no False and 12.50 no 12.5: what is left out has to come back as it was.
        if name not in _APART and repr(value) != repr(default):
            yield name, value


@cache
def _defaults(of: type[Any]) -> tuple[tuple[str, Any], ...]:
    return tuple((one.name, one.default) for one in fields(of))


def _label(position: int) -> str:
    return f"entry {position}"


def _object(values: dict[str, Any]) -> str:
    return f"{{{', '.join(f'{json.dumps(name)}: {_value(value)}' for name, value in values.items())}}}"


def _value(value: Any) -> str:
    """A value as JSON: a decimal with the digits and places it has, which a floating number has not."""
    match value:
        case Absence():
            return json.dumps(value.value)
        case Decimal():
            return f"{value:f}"
        case date():
            return json.dumps(value.isoformat())
        case tuple():
            return f"[{', '.join(map(_value, cast('tuple[Any, ...]', value)))}]"
        case None | bool() | int() | str():
            return json.dumps(value)
        case _:
            return _object(dict(_stated(cast("DoneItem", value))))
