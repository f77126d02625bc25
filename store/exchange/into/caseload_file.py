"""Reading a caseload file: entries in JSON, checked whole, taken whole or not at all.

The format is that of ``demo_caseload.json``. It holds what happened and nothing that follows from it; dates
are ISO dates or days from the file's clinic date. :func:`describe` writes the table of kinds and fields.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from armrise.store.entries.build import COMMON, HEAD, HEAD_REQUIRED, field_rules
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.entries.words import Fault, allowed
from armrise.store.exchange.into.caseload_parser import FORMAT, CaseloadRefused, Parser
from armrise.store.exchange.into.strict_json import NotJsonError, read_json
from armrise.store.record.fields import Children, Rule
from armrise.store.record.kinds.every import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.rules.pathway import Rules

__all__ = [
    "FORMAT",
    "CaseloadFile",
    "CaseloadRefused",
    "FileCase",
    "demo_path",
    "describe",
    "parse",
    "read",
    "shift",
]


def demo_path() -> Path:
    """The fictional caseload: beside the installed packages, or at the top of the working copy."""
    return Path(__file__).resolve().parents[3] / "demo_caseload.json"


def read(path: Path, rules: Rules | None = None) -> CaseloadFile:
    """The caseload in the file at ``path``. Raises :class:`CaseloadRefused` with every fault at once.

    ``rules`` gives the ranges and pathways checked against, by default those shipped.
    """
    try:
        data = read_json(path)
    except NotJsonError as refusal:
        raise CaseloadRefused(path.name, [Fault("", "", "", str(refusal))]) from None
    return parse(data, path.name, rules)


def parse(data: Any, name: str, rules: Rules | None = None) -> CaseloadFile:
    """The caseload that decoded JSON states; ``name`` is how a refusal calls it."""
    if rules is None:
        from armrise.store.rules.read import load

        rules = load()
    return Parser(name, rules).file(data)


def shift(file: CaseloadFile, to: date) -> CaseloadFile:
    """The same caseload with every date and instant moved by whole days, so that its clinic date is ``to``.

    An instant keeps its wall-clock time in the clinic's zone: a daylight-saving change moves no entry to
    another date.
    """
    by = to - file.clinic_date
    zone = ZoneInfo(file.zone)
    cases = tuple(
        FileCase(
            replace(case.head, registered_on=case.head.registered_on + by),
            tuple(_moved(entry, by, zone) for entry in case.entries),
        )
        for case in file.cases
    )
    return replace(file, clinic_date=to, cases=cases)


def _moved(entry: Entry, by: timedelta, zone: ZoneInfo) -> Entry:
    dates = {name: getattr(entry, name) for name in _date_fields(type(entry))}
    moved: dict[str, Any] = {name: day + by for name, day in dates.items() if day is not None}
    # Adding days to an instant in a named zone keeps the wall clock, which is what people wrote down.
    moved["recorded_at"] = entry.recorded_at.astimezone(zone) + by
    return replace(entry, **moved)


@cache
def _date_fields(kind: type[Entry]) -> tuple[str, ...]:
    return tuple(f.name for f in fields(kind) if f.type in ("date", "date | None"))


def describe() -> str:
    """The kinds and fields of a caseload file as Markdown tables, written from the record types."""
    return "\n".join(_tables())


def _tables() -> Iterator[str]:
    yield "#### A case\n"
    head = [(name, "yes" if name in HEAD_REQUIRED else "no", _say(rule)) for name, rule in HEAD.items()]
    yield from _table([("code", "yes", "letters, digits, hyphens, dots: 1 to 24 of them"), *head])
    yield "\n#### Every entry\n"
    common = [(name, "yes" if name == "on" else "no", _say(rule)) for name, rule in COMMON.items()]
    recorded = "a date (18:00 clinic time) or an instant with its offset; without it the date of `on`"
    label = "text of 1 to 40 characters, unique in the case, for a correction to point at"
    kinds = ", ".join(f'"{kind}"' for kind in KINDS)
    rows = [("kind", "yes", f"one of {kinds}"), *common, ("recorded", "no", recorded), ("label", "no", label)]
    yield from _table(rows)
    for kind, of in KINDS.items():
        yield f"\n#### {kind}\n\n{_meaning(of)}\n"
        yield from _table(_rows(of))
    yield f"\n#### Items of a session\n\n{_meaning(DoneItem)}\n"
    yield from _table(_rows(DoneItem))


def _table(rows: list[tuple[str, str, str]]) -> Iterator[str]:
    yield "| field | needed | allowed |"
    yield "|---|---|---|"
    for name, needed, may_hold in rows:
        yield f"| {name} | {needed} | {may_hold} |"


def _rows(of: type) -> list[tuple[str, str, str]]:
    rows: list[tuple[str, str, str]] = []
    for spec in field_rules(of):
        say = _say(spec.rule)
        if isinstance(spec.rule, Children):
            say = "a list of objects, see the items of a session"
        if spec.name in ("corrects", "replaced_by"):
            say = "the label of an entry of the same case"
        if not spec.required and spec.default not in (None, ()):
            word = isinstance(spec.default, str)
            default = f'"{spec.default}"' if word else str(spec.default).lower()
            say = f"{say}; without it {default}"
        rows.append((spec.name, "yes" if spec.required else "no", say))
    return rows


def _say(rule: Rule) -> str:
    return allowed(rule).replace("|", "\\|")


def _meaning(of: type) -> str:
    return " ".join((of.__doc__ or "").split()).replace("``", "`")
