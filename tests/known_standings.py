"""What follows from the demonstration as shipped, worked out once a process.

A standing is a function of the record, the rules and the clinic date. Where all three are equal to those of
the untouched demonstration it is kept; a case that a test has written to is another record and stands anew.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from armrise.store.caseload.read import board, codes, in_full
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.stand import stand, stand_view
from armrise.store.database.place import Store
from armrise.store.record.case import CaseRecord
from armrise.store.rules.pathway import Rules
from tests.demo_store import NOW


class KnownStandings:
    """The records of an untouched store, in full and as the list reads them, each with its standing."""

    def __init__(self, untouched: Path, rules: Rules) -> None:
        store = Store.open(untouched, read_only=True)
        self.rules, self.today = rules, store.today(NOW)
        self.records: dict[str, list[CaseRecord]] = {}
        self.standings: dict[tuple[str, int], Standing] = {}
        for record in (*in_full(store, codes(store)), *board(store, today=self.today, rules=rules)):
            self.records.setdefault(record.code, []).append(record)

    def stand(self, record: CaseRecord, rules: Rules, today: date) -> Standing:
        """As :func:`armrise.store.clinic.standing.stand.stand`, with which tests put this in its place."""
        return self._known(record, rules, today) or stand(record, rules, today)

    def stand_view(self, view: View) -> Standing:
        """The same in place of :func:`armrise.store.clinic.standing.stand.stand_view`."""
        return self._known(view.record, view.rules, view.today) or stand_view(view)

    def _known(self, record: CaseRecord, rules: Rules, today: date) -> Standing | None:
        if rules is not self.rules or today != self.today:
            return None
        same = (n for n, untouched in enumerate(self.records.get(record.code, ())) if untouched == record)
        key = (record.code, next(same, -1))
        if key[1] >= 0 and key not in self.standings:
            self.standings[key] = stand(record, rules, today)
        return self.standings.get(key)
