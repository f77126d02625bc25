"""The list as it was last judged, and the list now: judged anew are only the cases with news.

What is held is held in the memory of one process, for the store as it is now. On any doubt whether it is an
earlier state of the same, everything is judged anew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import field
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
    whole: bool = field(default=False, compare=False)
    """True where every one of them was judged for this mark, and none taken from a list before."""


def at_once() -> None:
    """Whoever waits for the list lets nobody go first."""


Tell = Callable[[int, int], None]
"""Told how many cases are judged, and of how many."""


def _unasked(_judged: int, _of: int) -> None:
    """Nobody asks how far it is."""


def judged(
    store: Store,
    rules: Rules,
    today: date,
    before: Judged | None = None,
    pause: Callable[[], None] = at_once,
    tell: Tell = _unasked,
) -> Judged:
    """The list as things are now, with what may be kept of the list ``before``.

    ``pause`` is called before each case that is judged: it may wait, since somebody may be typing beside it,
    and stops everything by raising. ``tell`` is told how far it is.
    Raises :class:`~armrise.store.database.place.StoreError`.
    """
    with store.several_readings():
        with store.reading() as connection:
            mark = mark_of(connection, rules.identity, today)
            held = _kept(connection, mark, before)
            kept, news = held or ((), _everybody(connection))
        if held and before and before.mark == mark:
            return before
        if not news:
            return Judged(mark, kept, whole=held is None)
        from armrise.store.clinic.standing.triage import placed

        found = placed(kept, _stood(store, sorted(news), rules, today, pause, tell))
        made = Judged(mark, tuple(found), whole=held is None)
        with store.reading() as connection:
            still = mark_of(connection, rules.identity, today) == mark
        return made if still else judged(store, rules, today, made, pause, tell)


def _stood(
    store: Store, ids: list[int], rules: Rules, today: date, pause: Callable[[], None], tell: Tell
) -> Iterator[Standing]:
    """What follows from the records of these cases: no more of them are held at a time than are judged.

    Each time is a transaction of its own, so that none is open for as long as a large caseload takes. What
    somebody records meanwhile is news since the mark.
    """
    from armrise.store.caseload.read import AT_A_TIME, some_of_board, stood

    def records() -> Iterator[CaseRecord]:
        for first in range(0, len(ids), AT_A_TIME):
            pause()
            tell(first, len(ids))
            with store.reading() as connection:
                found = some_of_board(connection, ids[first : first + AT_A_TIME], today, rules)
            yield from found

    for standing in stood(store, records(), rules, today):
        yield standing
        pause()


def _everybody(connection: Connection) -> frozenset[int]:
    return frozenset(number for (number,) in connection.execute("SELECT id FROM cases"))


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
    gone = codes_of(connection, news)
    return tuple(standing for standing in before.standings if standing.code not in gone), news


def codes_of(connection: Connection, ids: Collection[int]) -> set[str]:
    """The codes of the cases with these ids."""
    numbers = ", ".join(map(str, ids))
    return {code for (code,) in connection.execute(f"SELECT code FROM cases WHERE id IN ({numbers})")}
