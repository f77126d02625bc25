"""The whole list judged anew, in slices since somebody may be typing beside it; and what then differs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from datetime import date
from typing import TYPE_CHECKING

from armrise.store.caseload.judged import Judged
from armrise.store.caseload.mark import mark_of, news_since
from armrise.store.caseload.read import some_of_board, stood
from armrise.store.clinic.standing.triage import order

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules

SLICE = 50
"""Cases read together; each is judged by itself."""


def judged_anew(store: Store, rules: Rules, today: date, pause: Callable[[], None]) -> Judged:
    """Every case judged as the store is now, nothing kept of it; ``pause`` is called before each.

    It may wait, and stops everything by raising. Raises a store error.
    """
    found: list[Standing] = []
    with store.reading() as connection:
        mark = mark_of(connection, rules.identity, today)
        ids = [one for (one,) in connection.execute("SELECT id FROM cases ORDER BY code")]
        for start in range(0, len(ids), SLICE):
            pause()
            records = some_of_board(connection, ids[start : start + SLICE], today, rules)
            for standing in stood(store, records, rules, today):
                found.append(standing)
                pause()
    return Judged(mark, tuple(order(found)))


def differing(store: Store, kept: Judged, anew: Judged) -> dict[str, tuple[str, ...]]:
    """The cases of which a kept list says something else than the list judged anew, and in which fields.

    Where something came between the two, what it is about does not count. By codes; a case that only one of
    them has differs in its code.
    """
    with store.reading() as connection:
        news = news_since(connection, kept.mark, anew.mark) if kept.mark and anew.mark else None
        if news is None:
            return {}
        ids = ", ".join(map(str, news))
        told = {code for (code,) in connection.execute(f"SELECT code FROM cases WHERE id IN ({ids})")}
    before = {standing.code: standing for standing in kept.standings}
    after = {standing.code: standing for standing in anew.standings}
    return {
        code: _fields(before.get(code), after.get(code))
        for code in sorted({*before, *after} - told)
        if before.get(code) != after.get(code)
    }


def _fields(before: Standing | None, after: Standing | None) -> tuple[str, ...]:
    if before is None or after is None:
        return ("code",)
    names = (field.name for field in fields(after))
    return tuple(name for name in names if getattr(before, name) != getattr(after, name))
