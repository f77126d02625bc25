"""Reading the caseload: the whole list in a few statements, one case in full, either as known at an instant.

The list reads every open case, and those closed ones that may still owe something. Of what comes daily
(sessions, mornings) it reads a window, so that its cost does not grow with the length of a history; where
an old entry can still break a healing limit it reads everything up to the day from which none can.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any, NamedTuple

from armrise.store.caseload import ahead as ahead_of
from armrise.store.caseload.judging import judging
from armrise.store.caseload.recorded import known_up_to
from armrise.store.database.driver import Connection
from armrise.store.database.instants import FOREVER, came_after, known_by
from armrise.store.database.place import Store, StoreError
from armrise.store.database.reading import (
    WINDOWED,
    Found,
    Span,
    always,
    as_dates,
    chunks,
    entries_of,
    entries_within,
    files,
    no_collecting,
    windows,
    withdrawn,
    without,
)
from armrise.store.database.unreadable import Values, read_rows
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord, detailed
from armrise.store.record.kinds.plan import pathway_code
from armrise.store.record.visible import on_one_line

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.rules.pathway import Rules

AT_A_TIME = 12
"""Cases whose records are read together: for fifty the list takes 4 % less time, and 12 MB more."""
CLOSED_DAYS = 400
"""A case closed for longer is off the list, unless a letter is owed or something came in since."""

Dates = tuple[list[tuple[str, str]], date | None]
"""Spans of dates to read, and the date from which nothing is missing (None: nothing is)."""

SHARED = ("screen", "flag outcome")
"""Kinds that belong to the person and show on both of that person's cases."""


class UnknownCase(StoreError):
    """No case has that code."""


class _Head(NamedTuple):
    id: int
    code: str
    person: str
    side: str
    pathway: str
    dominance: str | None
    age_band: str | None
    clinician: str
    referrer: str
    registered_on: date


_HEADS = f"SELECT {', '.join(f'c.{name}' for name in _Head._fields)} FROM cases c"

_ON_THE_LIST = """
WHERE c.registered_on <= :registered{of_these} AND NOT {came_later} AND NOT EXISTS (
    SELECT 1 FROM discharge d
    WHERE d.case_id = c.id AND d.happened_on < :cutoff AND {discharged}
    AND NOT EXISTS (SELECT 1 FROM correction k WHERE k.corrects = d.id)
    AND NOT EXISTS (SELECT 1 FROM reopening r WHERE r.case_id = c.id AND r.happened_on >= d.happened_on)
    AND NOT EXISTS (SELECT 1 FROM event v WHERE v.case_id = c.id AND v.happened_on >= d.happened_on)
    AND NOT EXISTS (SELECT 1 FROM contact m WHERE m.case_id = c.id AND m.happened_on >= d.happened_on
        AND (m.outcome = 'message received' OR m.anything_new = 'yes'))
    AND NOT EXISTS (SELECT 1 FROM screen s WHERE s.case_id = c.id AND s.happened_on >= d.happened_on
        AND s.answer = 'yes')
    AND (d.letter = 0 OR EXISTS (SELECT 1 FROM letter l WHERE l.case_id = c.id
        AND l.happened_on >= d.happened_on AND l.state = 'sent' AND {sent}))
)
ORDER BY c.code"""


def board(
    store: Store,
    *,
    today: date,
    known_at: datetime | None = None,
    pathway: str | None = None,
    rules: Rules | None = None,
) -> list[CaseRecord]:
    """The records of every case that may be on the list on the clinic date ``today``, by case code.

    ``known_at`` leaves out what was recorded after that instant; ``pathway`` keeps one pathway. ``rules`` say
    where tissue heals, and from when on it can break no limit any more: without them every case is read in
    full. Raises :class:`StoreError`.
    """
    known = known_up_to(store, known_at)
    with store.reading() as connection, no_collecting():
        heads = _on_the_list(connection, today, known)
        return _records(connection, heads, known, today=today, pathway=pathway, rules=rules)


def some_of_board(connection: Connection, ids: Iterable[int], today: date, rules: Rules) -> list[CaseRecord]:
    """As :func:`board`, as things are now, of those of the cases ``ids`` that are on it."""
    with no_collecting():
        heads = _on_the_list(connection, today, FOREVER, ids)
        return _records(connection, heads, FOREVER, today=today, rules=rules)


def _on_the_list(
    connection: Connection, today: date, known: int, ids: Iterable[int] | None = None
) -> list[_Head]:
    wanted = {
        "cutoff": (today - timedelta(days=CLOSED_DAYS)).isoformat(),
        "known": known,
        "registered": "9999-12-31" if known == FOREVER else today.isoformat(),
    }
    sql = _HEADS + _ON_THE_LIST.format(
        of_these="" if ids is None else f" AND c.id IN ({', '.join(map(str, ids))})",
        came_later=came_after("c.id", "cases", ":known"),
        discharged=known_by("d", known, ":known"),
        sent=known_by("l", known, ":known"),
    )
    return _heads(connection, sql, wanted)


def case(store: Store, code: str, *, known_at: datetime | None = None) -> CaseRecord:
    """One case with its full history. Raises :class:`UnknownCase`, :class:`StoreError`."""
    with store.reading() as connection:
        return read_case(connection, code, known_up_to(store, known_at))


def read_case(
    connection: Connection, code: str, known: int = FOREVER, *, withdrawn_too: bool = False
) -> CaseRecord:
    """As :func:`case`, on a connection that may be writing; ``known`` in microseconds UTC.

    ``withdrawn_too`` leaves the entries in that somebody has withdrawn: no rule may read such a record.
    """
    found = read_cases(connection, [code], known, withdrawn_too=withdrawn_too)
    if not found:
        raise unknown_case(code, connection)
    return found[0]


def read_cases(
    connection: Connection, codes: Sequence[str], known: int = FOREVER, *, withdrawn_too: bool = False
) -> list[CaseRecord]:
    """The same of several cases by their codes, in a few statements for all of them together; a code that no
    case has is left out."""
    found = _heads_of(connection, codes)
    return _records(connection, found, known, today=None, withdrawn_too=withdrawn_too)


def _heads_of(connection: Connection, codes: Sequence[str]) -> list[_Head]:
    marks = ", ".join("?" * len(codes))
    return _heads(connection, f"{_HEADS} WHERE c.code IN ({marks}) ORDER BY c.code", tuple(codes))


def in_full(store: Store, codes: Sequence[str], *, known_at: datetime | None = None) -> list[CaseRecord]:
    """These cases with their full histories, in a few statements for all of them together."""
    with store.reading() as connection, no_collecting():
        return read_cases(connection, codes, known_up_to(store, known_at))


def since(
    store: Store, codes: Sequence[str], day: date, rules: Rules, *, known_at: datetime | None = None
) -> list[CaseRecord]:
    """The same, of what is told daily only what the days from ``day`` on rest on, as :func:`board` does."""
    with store.reading() as connection, no_collecting():
        found = _heads_of(connection, codes)
        return _records(connection, found, known_up_to(store, known_at), today=day, rules=rules)


def codes(store: Store) -> list[str]:
    """The codes of every case of the store, closed ones too."""
    with store.reading() as connection:
        return [code for (code,) in connection.execute("SELECT code FROM cases ORDER BY code")]


def heads(store: Store) -> list[tuple[str, str, str]]:
    """Code, person and side of every case of the store, closed ones too."""
    with store.reading() as connection:
        found = _heads(connection, f"{_HEADS} ORDER BY c.code", ())
    return [(head.code, head.person, head.side) for head in found]


def newest_entry(store: Store, code: str) -> int:
    """The id of the newest entry of a case, 0 when it has none. Ask before reading the case: a writer who
    names it (``seen``) is refused when somebody recorded something since."""
    sql = "SELECT max(e.id) FROM entry e JOIN cases c ON c.id = e.case_id WHERE c.code = ?"
    with store.reading() as connection:
        return connection.execute(sql, (code,)).fetchone()[0] or 0


def standings(store: Store, rules: Rules, today: date, known_at: datetime | None = None) -> list[Standing]:
    """What follows from the caseload on a clinic date, in the order of the list.

    Raises :class:`StoreError`.
    """
    from armrise.store.clinic.standing.triage import order

    records = board(store, today=today, known_at=known_at, rules=rules)
    return order(stood(store, records, rules, today, known_at))


def stood(
    store: Store, records: Iterable[CaseRecord], rules: Rules, today: date, known_at: datetime | None = None
) -> Iterator[Standing]:
    """What follows from records of the board, last of those whose window does not hold the answer.

    These are read in full, some at a time, once the others are judged.
    """
    from armrise.store.clinic.standing.stand import NeedsFullHistory, stand

    others: list[str] = []
    for record in records:
        try:
            with judging(record, rules, today):
                found = stand(record, rules, today)
        except NeedsFullHistory:
            others.append(record.code)
        else:
            yield found
    for first in range(0, len(others), AT_A_TIME):
        for whole in in_full(store, others[first : first + AT_A_TIME], known_at=known_at):
            with judging(whole, rules, today):
                found = stand(whole, rules, today)
            yield found


def unknown_case(code: str, connection: Connection) -> UnknownCase:
    """What to raise for a code that no case has: with those it comes near."""
    known = [str(row[0]) for row in connection.execute("SELECT code FROM cases ORDER BY code")]
    close = get_close_matches(code.upper(), known, n=3)
    hint = f"did you mean {' or '.join(close)}?" if close else "look the code up in the list"
    return UnknownCase(f'there is no case "{code}": {hint}')


def _head(number: int, *told: Any) -> _Head:
    """The head of a case from its row; a damaged value, no text or no date, raises what Python raises."""
    texts: list[Any] = [None if text is None else on_one_line(text + "") for text in told[:-1]]
    return _Head(number, *texts, registered_on=date.fromisoformat(told[-1] or ""))


def _heads(connection: Connection, sql: str, values: Values) -> list[_Head]:
    def taken(rows: Iterable[Any]) -> list[_Head]:
        return [_head(*row) for row in rows]

    return read_rows(connection, "cases", sql, values, taken)


def _records(
    connection: Connection,
    heads: Sequence[_Head],
    known: int,
    *,
    today: date | None,
    pathway: str | None = None,
    rules: Rules | None = None,
    withdrawn_too: bool = False,
) -> list[CaseRecord]:
    """The records of these cases; ``today`` windows what comes daily, None reads it all."""
    gone = {} if withdrawn_too else withdrawn(connection, [head.id for head in heads], known)
    steps = without(entries_of(connection, "step", [head.id for head in heads], known), gone)
    present = {head.id: _present_pathway(head, steps.get(head.id, [])) for head in heads}
    heads = [head for head in heads if pathway in (None, present[head.id])]
    others = _others(connection, heads)
    found = _found(connection, heads, others, known, None if withdrawn_too else gone) | {"step": steps}
    dates: dict[int, Dates] = {}
    for head in heads:
        so_far = _record(head, present[head.id], ([], None), found, others)
        dates[head.id] = _dates(head, so_far, today, rules)
    spans: list[Span] = [(head.id, *span) for head in heads for span in dates[head.id][0]]
    for kind in WINDOWED:
        found[kind] = without(entries_within(connection, kind, spans, known), gone)
    ahead_of.put_right(found.values(), ahead_of.noted(connection))
    records = [_record(head, present[head.id], dates[head.id], found, others) for head in heads]
    came = files(connection, known)
    return [replace(record, came=came) for record in records] if came else records


def _found(
    connection: Connection,
    heads: Sequence[_Head],
    others: dict[int, dict[int, str]],
    known: int,
    gone: dict[int, set[int]] | None,
) -> dict[str, Found]:
    """Everything that is not daily, by kind and case; what belongs to the person also of the other cases.

    ``gone`` None leaves in what was withdrawn.
    """
    ids = [head.id for head in heads]
    family = sorted({*ids, *(other for mine in others.values() for other in mine)})
    gone_too = gone or {}
    if gone is not None:
        gone_too = gone | withdrawn(connection, [other for other in family if other not in set(ids)], known)
    found: dict[str, Found] = {}
    for kind in FIELD_OF_KIND:
        if kind in SHARED:
            found[kind] = without(entries_of(connection, kind, family, known), gone_too)
        elif kind not in WINDOWED and kind != "step":
            found[kind] = without(entries_of(connection, kind, ids, known), gone or {})
    return found


def _others(connection: Connection, heads: Sequence[_Head]) -> dict[int, dict[int, str]]:
    """For each case the ids and codes of the same person's other cases."""
    found: dict[int, dict[int, str]] = {head.id: {} for head in heads}
    for some in chunks(found):
        pairs = connection.execute(
            "SELECT c.id, o.id, o.code FROM cases c JOIN cases o ON o.person = c.person AND o.id <> c.id "
            f"WHERE c.id IN ({', '.join('?' * len(some))}) ORDER BY o.code",
            some,
        )
        for case_id, other_id, code in pairs:
            found[case_id][other_id] = code
    return found


def _present_pathway(head: _Head, steps: Sequence[Any]) -> str:
    """The pathway of the newest step's stage, else that of registration."""
    return pathway_code(steps[-1].stage) if steps else head.pathway


def _dates(head: _Head, record: CaseRecord, today: date | None, rules: Rules | None) -> Dates:
    """What to read of the daily kinds, given the record without them."""
    whole = [always(head.id)[1:]], None
    if today is None or rules is None:
        return whole
    from armrise.store.clinic.healing.harmless import ever_guarded, harmless_from

    if not ever_guarded(record, head.pathway, rules):
        return windows(list(_starts(record, today)), today)
    harmless = harmless_from(record, rules)
    return whole if harmless is None else windows(list(_starts(record, today)), today, harmless)


def _starts(record: CaseRecord, today: date) -> Iterable[date]:
    """The first days of the episode, of one reopened, and of the stage of a day; the last of a closed one.

    Days around a discharge may be told of only after it.
    """
    seen = [entry.on for entry in (*record.visits, *record.steps) if not entry.history]
    steps = [step for step in record.steps if step.on <= today]
    yield min([record.registered_on, *seen])
    yield from (entry.on for entry in record.reopenings if entry.new_mechanism)
    yield from (entry.on for entry in record.discharges[-1:])
    present: date | None = None
    for step in reversed(steps):
        if step.stage != steps[-1].stage:
            break
        present = step.on
    if present is not None:
        yield present


def _record(
    head: _Head,
    pathway: str,
    dates: Dates,
    found: dict[str, Found],
    others: dict[int, dict[int, str]],
) -> CaseRecord:
    spans, known_from = dates
    entries = {FIELD_OF_KIND[kind]: tuple(by_case.get(head.id, ())) for kind, by_case in found.items()}
    for kind in SHARED if others[head.id] else ():
        family = (head.id, *others[head.id])
        both = [entry for member in family for entry in found[kind].get(member, ())]
        entries[FIELD_OF_KIND[kind]] = tuple(sorted(both, key=lambda entry: (entry.on, entry.id)))
    record = CaseRecord(
        code=head.code,
        person=head.person,
        side=head.side,
        pathway=pathway,
        dominance=head.dominance,
        age_band=head.age_band,
        clinician=head.clinician,
        referrer=head.referrer,
        registered_on=head.registered_on,
        known_from=known_from,
        known_spans=tuple(as_dates(span) for span in spans) if known_from else (),
        linked=tuple(others[head.id].values()),
        **entries,
    )
    return detailed(record)
