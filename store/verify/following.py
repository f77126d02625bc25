"""One walk along a store: each row is read by its record type, and each link compared with what it covers."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain as joined
from operator import attrgetter
from typing import Any

from armrise.store.database.builder import add_items, entry_builder
from armrise.store.database.chain import ACTION, FILE, Hasher, Link, links
from armrise.store.database.columns import table_name
from armrise.store.database.driver import Connection
from armrise.store.database.written import (
    FIRST,
    LAST,
    Stretch,
    case_lines,
    cases_of,
    entry_lines,
    settings_lines,
    stretches,
)
from armrise.store.entries.held import unfit_fields
from armrise.store.record.kinds.head import Entry

Tell = Callable[[int, int], None]
"""Told (entries looked at, entries there are). Whatever it raises stops the walk."""
Row = tuple[Any, ...]


@dataclass
class Walk:
    """What a walk found so far. Faults of rows and of the chain apart, as each is told for itself."""

    rows: list[str] = field(default_factory=list[str])
    chain: list[str] = field(default_factory=list[str])
    links: list[Link] = field(default_factory=list[Link])
    broken: list[tuple[Link, frozenset[int], frozenset[str]]] = field(
        default_factory=list[tuple[Link, frozenset[int], frozenset[str]]]
    )
    """Links that do not follow, each with the cases and kinds of the entries it covers now."""
    cases: int = 0
    entries: int = 0
    whole: bool = False
    """The walk came to its end."""
    fixed: bool = False
    """The store's clinic date is fixed, and no clock's."""

    def by_the_clock(self, entry: int) -> bool:
        """Whether an entry carries the date of the clock it was written by: one that came in no file.

        Of a file the date may be another clinic's, and of what stood there before the chain nobody knows
        whether it came in one.
        """
        at = bisect_left(self.links, entry, key=attrgetter("entries"))
        return not self.fixed and at < len(self.links) and self.links[at].about == ACTION


def walk(connection: Connection, found: Walk, *, lasting: bool, tell: Tell | None = None) -> None:
    """Go along the store from its first row to the last; what is wrong is added to ``found``.

    ``lasting`` False: nothing but the making of the store has a link. Raises what the database raises.
    """
    found.links += links(connection)
    cases = cases_of(connection, FIRST, LAST)
    found.cases = len(cases)
    entries = _entries(connection, found, tell)
    waiting = next(entries, None)
    before, previous = FIRST, ""
    for place, link in enumerate(found.links, 1):
        hasher = Hasher(previous, link)
        hasher.add(settings_lines(connection) if place == 1 else ())
        hasher.add(case_lines(row for row in cases if before < row[0] <= link.cases))
        covered: list[Row] = []
        while waiting is not None and waiting[0][0] <= link.entries:
            covered.append(waiting[0])
            hasher.add(waiting[1])
            waiting = next(entries, None)
        if (
            hasher.result() != link.hash
            or link.number != place
            or (link.about in (ACTION, FILE)) != (place > 1)
        ):
            of = frozenset(row[1] for row in covered), frozenset(str(row[2]) for row in covered)
            found.broken.append((link, *of))
        before, previous = max(before, link.cases), link.hash
    rest = list(joined([waiting] if waiting else [], entries))
    _beyond(found, len(rest), sum(row[0] > before for row in cases), lasting)
    found.whole = True


def _beyond(found: Walk, entries: int, cases: int, lasting: bool) -> None:
    """What stands after the last link, or where there is no link at all."""
    if not found.links:
        found.chain.append("the chain is gone")
    elif lasting and (entries or cases):
        found.chain.append(
            f"beyond the last link stand entries: {entries}, cases: {cases}; armrise did not write them"
        )


def _entries(connection: Connection, found: Walk, tell: Tell | None) -> Iterator[tuple[Row, list[str]]]:
    """Each entry with its lines, looked at on the way."""
    number = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
    for stretch in stretches(connection, FIRST, LAST, every_kind=True):
        _look_at(stretch, found)
        found.entries += len(stretch.entries)
        if tell:
            tell(found.entries, number)
        yield from entry_lines(stretch)


def _look_at(stretch: Stretch, found: Walk) -> None:
    """Every line has its row, every row its line, and each row makes an entry that holds what it may hold."""
    lines = {row[0]: row for row in stretch.entries}
    for number, line in lines.items():
        kind = line[2]
        row = stretch.kinds[kind].get(number) if kind in stretch.kinds else None
        if row is None:
            found.rows.append(f"entry {number} has no row of its kind")
        elif (row[1], row[3]) != (line[1], line[4]):
            found.rows.append(f"{table_name(kind)} {number} has another case or instant than its line")
    items = _items(stretch, found)
    for kind, rows in stretch.kinds.items():
        for number, row in rows.items():
            if number not in lines or lines[number][2] != kind:
                found.rows.append(f"{table_name(kind)} {number} stands there without its line")
            else:
                _one(kind, row, items, found)


def _items(stretch: Stretch, found: Walk) -> dict[int, list[Any]]:
    made: dict[int, list[Any]] = defaultdict(list)
    for number, rows in stretch.items.items():
        try:
            add_items(rows, made)
        except Exception:  # whatever a damaged row leads to
            found.rows.append(f"session {number} has an exercise whose values make none")
    return made


def _one(kind: str, row: Row, items: dict[int, list[Any]], found: Walk) -> None:
    made: dict[int, list[Entry]] = defaultdict(list)
    try:
        entry_builder(kind)([row], made, items)
        unfit: Sequence[str] = unfit_fields(made[row[1]][0])
    except Exception:  # whatever a damaged row leads to
        found.rows.append(f"{table_name(kind)} {row[0]}: its values make no entry of that kind")
        return
    entry = next(iter(made.values()))[0]
    # By the offset it carries: what a zone's clocks showed then is not asked of the zone rules of today.
    if found.by_the_clock(entry.id) and entry.recorded_at.date() != entry.recorded_on:
        found.rows.append(f"{table_name(kind)} {row[0]}: recorded_on is not the date of its instant")
    if unfit:
        named = ", ".join(unfit)
        found.rows.append(f"{table_name(kind)} {row[0]}: {named} does not hold what it may hold")
