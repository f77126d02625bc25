"""An audit as tables: in the words of its page, all groups in one table each, and every count as a number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, cast

from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.rows import audit_rows
from armrise.store.clinic.audit.sheet import period_words, rule_notes, tables
from armrise.store.exchange.out.audit_text import NOT_FOR_RANKING
from armrise.store.exchange.out.plain_text import CAUTIONS, Heading, headline
from armrise.store.exchange.tables.cells import ANY
from armrise.store.exchange.tables.table import Column, Row, Table

ABOUT, NUMBERS = "about", "numbers"
NAMES = ("stage", "name", "case", "week_end")
"""What names a line of a list among the counts."""


def audit_tables(audit: Audit, heading: Heading) -> list[Table]:
    """What has to be known before any number is read, the tables in words, then the bare numbers."""
    found: dict[str, Table] = {}
    for group in audit.groups:
        for one in tables(audit, group):
            rows = [(group.name, *map(_count, row)) for row in one.rows]
            before = found.get(one.key)
            kept = [*before.rows, *rows] if before else rows
            found[one.key] = Table(one.title, _columns("group", *one.head), kept)
    numbers = Table(NUMBERS, _columns("group", "figure", "value", "of", "percent"), [*_numbers(audit)])
    return [_about(audit, heading), *found.values(), numbers]


def _columns(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, ANY) for name in names)


def _count(cell: str) -> int | str:
    """A bare count as a number; whatever else stands in a cell as it is."""
    return int(cell) if cell.isascii() and cell.isdigit() else cell


def _about(audit: Audit, heading: Heading) -> Table:
    notes = dict.fromkeys(
        note for group in audit.groups for one in tables(audit, group) for note in one.notes
    )
    said = [period_words(audit), *headline(heading), *rule_notes(audit), NOT_FOR_RANKING, *CAUTIONS, *notes]
    return Table(ABOUT, _columns("Shoulder caseload audit"), [(line,) for line in dict.fromkeys(said)])


def _numbers(audit: Audit) -> Iterator[Row]:
    for group in cast("list[dict[str, Any]]", audit_rows(audit)["groups"]):
        for path, *cells in _of(group, ()):
            yield (group["name"], path, *cells)


def _of(value: Any, above: tuple[str, ...]) -> Iterator[Row]:
    """Every number by the words that lead to it; a share with what it is a share of."""
    if isinstance(value, Mapping):
        held = cast("Mapping[str, Any]", value)
        if {"count", "of", "percent"} <= held.keys():
            yield (" ".join(above), held["count"], held["of"], held["percent"])
            return
        for name, part in held.items():
            yield from _of(part, (*above, name.replace("_", " ")))
    elif isinstance(value, list):
        for nth, part in enumerate(cast("list[Any]", value), 1):
            yield from _of(part, (*above, _named(part, nth)))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield (" ".join(above), value, None, None)


def _named(part: Any, nth: int) -> str:
    if not isinstance(part, Mapping):
        return str(nth)
    held = cast("Mapping[str, Any]", part)
    return next((str(held[name]) for name in NAMES if held.get(name)), str(nth))
