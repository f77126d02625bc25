"""Rows put together by case, beside the store: what is new, there already, contradicted, or may not stand.

Of two rows that contradict each other none is taken: which of them is right is not for a program to say.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.whole import stored
from armrise.store.entries.check import check_case
from armrise.store.entries.sheet import Place
from armrise.store.entries.words import Fault
from armrise.store.exchange.sheets.asked import New, Programme, asked
from armrise.store.exchange.sheets.row import CHANGED, KNOWN, TAKEN, Given, Row
from armrise.store.exchange.sheets.same import OF_KIND, place_of, says, says_no_more
from armrise.store.exchange.sheets.whose import (
    DETAILS,
    PUT_RIGHT,
    CaseRows,
    agree_on_the_head,
    by_code,
    details_of,
    new_head,
    refuse_two_of_a_shoulder,
    refuse_unknown,
    standing_of,
)
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import PatientDetails
from armrise.store.record.phrase import phrase

if TYPE_CHECKING:
    from armrise.store.database.driver import Connection

ROUNDS = 25
"""How often a case is judged anew without the rows refused so far, before all of it is refused."""


def put_together(
    rows: Iterable[Row],
    given: Given,
    connection: Connection,
    tell: Callable[[int, int], None] = lambda done, of: None,
) -> list[CaseRows]:
    """The cases that rows are about, each judged; every row knows afterwards what becomes of it."""
    cases = by_code(rows, connection)
    there = {case.head.code: case for case in stored(connection, {one.code for one in cases})}
    for number, one in enumerate(cases):
        if number % 20 == 0:
            tell(number, len(cases))
        one.there = there.pop(one.code, None)
        _judge(one, given, connection)
    refuse_two_of_a_shoulder(cases, given, connection)
    for one in cases:
        _conclude(one)
    return [one for one in cases if one.new or (one.is_new and one.head)]


def _judge(one: CaseRows, given: Given, connection: Connection) -> None:
    """Refuse what contradicts, then what may not stand; what is left is new or there already."""
    agree_on_the_head(one)
    one.head = one.there.head if one.there else new_head(one)
    if one.head is None:
        refuse_unknown([one], ())
        return
    programme = Programme(one.there, given, connection)
    made = {id(row): list(asked(row, one.head, given, programme)) for row in one.standing}
    _beside_the_store(one, made, given)
    for _ in range(ROUNDS):
        _contradictions(one, made)
        one.head = one.there.head if one.there else new_head(one)
        if one.head is None:
            break
        one.new = _news(one, made, given)
        if not _refused_by_the_record(one, given):
            return
    for row in one.standing:
        row.refuse("", "", "stands in a case of which too much is refused: correct the other rows first")
    one.new, one.head = [], None


def _beside_the_store(one: CaseRows, made: dict[int, list[New]], given: Given) -> None:
    """Leave out what the store has, withdrawn or not; refuse what contradicts what stands there."""
    if one.there is None:
        return
    gone = {entry.id for entry in one.there.entries} - {entry.id for entry in standing_of(one.there)}
    held: defaultdict[Hashable, list[Entry]] = defaultdict(list)
    for entry in one.there.entries:
        if type(entry) in OF_KIND:
            held[place_of(entry)].append(entry)
    for row in one.standing if held else ():
        kept: list[New] = []
        for new in made[id(row)]:
            there = held.get(new.place, ())
            if any(says_no_more(new.entry, old) for old in there):
                continue
            standing = [old for old in there if old.id not in gone]
            if standing:
                has = phrase(standing[-1], given.rules)
                row.refuse(new.column, "", f"is not what the store has of it ({has}): {PUT_RIGHT}")
            kept.append(new)
        made[id(row)] = kept


def _contradictions(one: CaseRows, made: dict[int, list[New]]) -> None:
    """Refuse every row that contradicts another in the same place."""
    counted = Counter(new.place for row in one.standing for new in made[id(row)])
    twice = {place for place, times in counted.items() if times > 1}
    said: defaultdict[Hashable, dict[Any, New]] = defaultdict(dict)
    for row in one.standing if twice else ():
        for new in made[id(row)]:
            if new.place in twice:
                said[new.place].setdefault(says(new.entry), new)
    crossed = {place: list(values.values()) for place, values in said.items() if len(values) > 1}
    if not crossed:
        return
    for row in one.standing:
        for new in made[id(row)]:
            if values := crossed.get(new.place):
                other = next(v for v in values if says(v.entry) != says(new.entry))
                if other.row is row:
                    say = f"and {other.column} of the same row say two things"
                else:
                    say = f"says something else than row {other.row.number} of the same day"
                row.refuse(new.column, "", say)


def _news(one: CaseRows, made: dict[int, list[New]], given: Given) -> list[New]:
    """What is new, each once, in the order in which it happened."""
    found: dict[Hashable, New] = {}
    for row in one.standing:
        for new in made[id(row)]:
            found.setdefault(new.place, new)
    return [*_added_details(one, given), *sorted(found.values(), key=lambda new: new.entry.on)]


def _added_details(one: CaseRows, given: Given) -> list[New]:
    """What rows add to the head of a case that the store has: each field once."""
    if one.there is None:
        return []
    has, found = details_of(one.there), list[New]()
    for row in one.standing:
        for name in DETAILS:
            if name in row.head and not has.get(name) and not getattr(one.there.head, name):
                value, column, _ = row.head[name]
                has[name] = value
                told: dict[str, Any] = {name: value}
                entry = PatientDetails(
                    on=given.today,
                    recorded_at=given.now,
                    recorded_on=given.today,
                    author=given.author,
                    **told,
                )
                found.append(New(entry, row, column, place_of(entry)))
    return found


def _refused_by_the_record(one: CaseRows, given: Given) -> bool:
    """Refuse the rows whose entries the record may not hold together; True when there was any."""
    assert one.head is not None
    old: list[Entry] = list(one.there.entries) if one.there else []
    names = {f"row {number}": new for number, new in enumerate(one.new)}
    highest = max((entry.id for entry in old), default=0)
    places = [Place(entry.id, f"entry {entry.id}") for entry in old]
    places += [Place(highest + number, name) for number, name in enumerate(names, 1)]

    def faults(entries: list[Entry]) -> list[Fault]:
        assert one.head is not None
        return check_case(
            one.head, entries, today=given.today, rules=given.rules, places=places[: len(entries)]
        )

    found = faults([*old, *(new.entry for new in one.new)])
    if not found:
        return False
    before = set(faults(old)) if old else set[Fault]()
    found = [fault for fault in found if fault not in before]
    for fault in found:
        new = names.get(fault.entry)
        if new is not None:
            new.row.refuse(new.column, "", fault.message)
            continue
        for row in one.standing:
            row.refuse("", one.code, f"is refused as a whole: {fault.message}")
    return bool(found)


def _conclude(one: CaseRows) -> None:
    """What becomes of each row, and what is written because of it."""
    for new in one.new:
        new.row.written.append(new.entry)
    opens = one.is_new and one.head is not None
    for row in one.standing:
        if opens and row.head:
            row.opens, opens = one.head, False
        if not row.written and row.opens is None:
            row.status = KNOWN
        else:
            row.status = CHANGED if row.changed else TAKEN


__all__ = ["CaseRows", "put_together"]
