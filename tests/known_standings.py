"""What follows from the demonstration as shipped, worked out once a process.

A standing is a function of the record, the rules and the clinic date. Where all three are equal to those of
the untouched demonstration it is kept; a case that a test has written to is another record and stands anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import patch

from armrise.store.caseload.mark import mark_of
from armrise.store.caseload.read import board, codes, in_full, some_of_board
from armrise.store.clinic.audit.case import case_facts
from armrise.store.clinic.audit.facts import Facts
from armrise.store.clinic.audit.period import Period
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.stand import stand, stand_view
from armrise.store.database.driver import Connection
from armrise.store.database.place import Store
from armrise.store.record.case import CaseRecord
from armrise.store.rules.pathway import Rules
from armrise.tui.widgets.search import about
from tests.demo_store import NOW


class KnownStandings:
    """The records of an untouched store, in full and as the list reads them, each with its standing."""

    def __init__(self, untouched: Path, rules: Rules) -> None:
        store = Store.open(untouched, read_only=True)
        self.rules, self.today = rules, store.today(NOW)
        self.records: dict[str, list[CaseRecord]] = {}
        self.standings: dict[tuple[str, int], Standing] = {}
        self._words: dict[int, str | None] = {}
        """The words by which each of them is found, by where the standing lies."""
        self._read: dict[tuple[int, ...], list[CaseRecord]] = {}
        with store.reading() as connection:
            self._mark = mark_of(connection, rules.identity, self.today)
        for record in (*in_full(store, codes(store)), *board(store, today=self.today, rules=rules)):
            self.records.setdefault(record.code, []).append(record)

    def stand(self, record: CaseRecord, rules: Rules, today: date) -> Standing:
        """As :func:`armrise.store.clinic.standing.stand.stand`, with which tests put this in its place."""
        return self._known(record, rules, today) or stand(record, rules, today)

    def stand_view(self, view: View) -> Standing:
        """The same in place of :func:`armrise.store.clinic.standing.stand.stand_view`."""
        return self._known(view.record, view.rules, view.today) or stand_view(view)

    def some_of_board(
        self, connection: Connection, ids: Iterable[int], today: date, rules: Rules
    ) -> list[CaseRecord]:
        """In place of :func:`armrise.store.caseload.read.some_of_board`, by the mark of what is read."""
        asked = tuple(ids)
        if rules is not self.rules or mark_of(connection, rules.identity, today) != self._mark:
            return some_of_board(connection, asked, today, rules)
        if asked not in self._read:
            self._read[asked] = some_of_board(connection, asked, today, rules)
        return list(self._read[asked])

    def about(self, standing: Standing) -> str:
        """In place of :func:`armrise.tui.widgets.search.about`."""
        known = self._words.get(id(standing)) or about(standing)
        if id(standing) in self._words:
            self._words[id(standing)] = known
        return known

    def _known(self, record: CaseRecord, rules: Rules, today: date) -> Standing | None:
        if rules is not self.rules or today != self.today:
            return None
        same = (
            n
            for n, untouched in enumerate(self.records.get(record.code, ()))
            if untouched is record or untouched == record
        )
        key = (record.code, next(same, -1))
        if key[1] >= 0 and key not in self.standings:
            self.standings[key] = made = stand(record, rules, today)
            self._words[id(made)] = None
        return self.standings.get(key)


class Remembered:
    """What is asked of one record more than once, worked out once: its standing, and what an audit counts.

    Both are functions of the record, the rules and the date or period asked for. Records are compared by
    what is in them, rules by being the same object.
    """

    def __init__(self) -> None:
        self.answers: dict[Any, list[tuple[CaseRecord, Rules, Any]]] = {}

    def stand_view(self, view: View) -> Standing:
        """As :func:`armrise.store.clinic.standing.stand.stand_view`."""
        return self._known("standing", view.today, view.record, view.rules, partial(stand_view, view))

    def case_facts(self, record: CaseRecord, rules: Rules, period: Period) -> Facts:
        """As :func:`armrise.store.clinic.audit.case.case_facts`."""
        return self._known("facts", period, record, rules, partial(case_facts, record, rules, period))

    def _known(
        self, what: str, when: object, record: CaseRecord, rules: Rules, ask: Callable[[], Any]
    ) -> Any:
        known = self.answers.setdefault((what, when, record.code), [])
        for earlier, under, answer in known:
            if under is rules and earlier == record:
                return answer
        known.append((record, rules, ask()))
        return known[-1][2]


@contextmanager
def remembered() -> Iterator[None]:
    """Nothing is worked out twice meanwhile."""
    once = Remembered()
    with (
        patch("armrise.store.clinic.standing.stand.stand_view", once.stand_view),
        patch("armrise.store.clinic.standing.explain.stand_view", once.stand_view),
        patch("armrise.store.caseload.sweep.stand_view", once.stand_view),
        patch("armrise.store.clinic.audit.case.case_facts", once.case_facts),
    ):
        yield
