"""The list as it was last judged, and the list now: judged anew are only the cases with news.

What is held is held in the memory of one process, for the store as it is now. On any doubt whether it is an
earlier state of the same, everything is judged anew.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from armrise.store.caseload.mark import Mark, mark_of, news_since
from armrise.store.database.driver import Connection
from armrise.store.database.place import Store
from armrise.store.record.light import dataclass

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.record.case import CaseRecord
    from armrise.store.rules.pathway import Rules


MOST = 5000
"""Of so many cases the news are looked at one by one; after more, as a large file, all are judged anew."""


@dataclass(frozen=True, slots=True)
class Judged:
    """Every case of the board judged, in the order of the list, and what that rests on."""

    mark: Mark | None
    """None where nothing may be kept of it."""
    standings: tuple[Standing, ...]


def judged(store: Store, rules: Rules, today: date, before: Judged | None = None) -> Judged:
    """The list as things are now, with what may be kept of the list ``before``.

    Raises :class:`~armrise.store.database.place.StoreError`.
    """
    with store.reading() as connection:
        mark = mark_of(connection, rules.identity, today)
        kept = _kept(connection, mark, before)
        if kept is not None and not kept[1]:
            return Judged(mark, kept[0])
        from armrise.store.caseload.read import some_of_board

        records = some_of_board(connection, kept[1] if kept else None, today, rules)
    return _with(store, records, rules, today, mark, kept[0] if kept else ())


Kept = tuple[tuple["Standing", ...], frozenset[int]]
"""Standings that hold still, and the ids of the cases that have news."""


def _kept(connection: Connection, mark: Mark | None, before: Judged | None) -> Kept | None:
    if mark is None or before is None or before.mark is None:
        return None
    news = news_since(connection, before.mark, mark)
    if news is None or len(news) > MOST:
        return None
    if not news:
        return before.standings, news
    ids = ", ".join(map(str, news))
    gone = {code for (code,) in connection.execute(f"SELECT code FROM cases WHERE id IN ({ids})")}
    return tuple(standing for standing in before.standings if standing.code not in gone), news


def _with(
    store: Store,
    records: list[CaseRecord],
    rules: Rules,
    today: date,
    mark: Mark | None,
    kept: tuple[Standing, ...],
) -> Judged:
    from armrise.store.caseload.read import stood
    from armrise.store.clinic.standing.triage import placed

    return Judged(mark, tuple(placed(kept, stood(store, records, rules, today))))
