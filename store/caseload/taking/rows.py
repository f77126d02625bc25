"""Many cases written by one action: each with its entries, all of them or nothing, by whoever took them.

What is written stands as if it had been typed: recorded at the instant of taking, by its author, undone case
by case on the same day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from armrise.store.caseload.refusal import Refused
from armrise.store.caseload.write import Ledger
from armrise.store.database.bulk import insert_cases, insert_drafts
from armrise.store.database.place import remember
from armrise.store.database.reading import no_collecting
from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.head import Entry
from armrise.store.record.light import NamedTuple

CHANGED_SINCE = "somebody recorded something since the rows were looked at: look at them again"


class OfCase(NamedTuple):
    """What is new of one case, checked already: its head where the store lacks it, and its entries."""

    head: CaseHead
    is_new: bool
    entries: Sequence[Entry]


class ManyCases(Ledger):
    """Writes what is new of many cases in one transaction."""

    def take(
        self,
        cases: Sequence[OfCase],
        seen: tuple[int, int],
        *,
        remembered: Mapping[str, str] | None = None,
        confirmed: bool = False,
        tell: Callable[[int, int], None] = lambda done, of: None,
    ) -> int:
        """Write all of it; how many entries. ``seen``: the highest id of case and entry it was judged beside.

        ``remembered`` is remembered beside the record. Raises
        :class:`~armrise.store.caseload.refusal.Refused`: for a clock behind the newest entry unless it is
        ``confirmed``, and where anything was written since; then nothing is.
        """
        with no_collecting(), self._action() as connection:
            sql = "SELECT (SELECT max(id) FROM cases), (SELECT max(id) FROM entry)"
            if tuple(number or 0 for number in connection.execute(sql).fetchone()) != seen:
                raise Refused(f"{CHANGED_SINCE}. Nothing was written")
            new = [case.head for case in cases if case.is_new]
            insert_cases(connection, seen[0] + 1, new)
            ids: dict[str, int] = dict(connection.execute("SELECT code, id FROM cases").fetchall())
            written = 0
            if any(case.entries for case in cases):
                stamp = self._stamp(connection, confirmed=confirmed)
                told = ((ids[case.head.code], case.entries) for case in _telling(cases, tell))
                written = insert_drafts(connection, told, seen[1] + 1, stamp)
            if remembered:
                remember(connection, remembered)
        return written


def _telling(cases: Sequence[OfCase], tell: Callable[[int, int], None]) -> Iterator[OfCase]:
    for number, case in enumerate(cases):
        if number % 20 == 0:
            tell(number, len(cases))
        yield case
