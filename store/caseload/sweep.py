"""Reading the weekly sweep from a store: its queue in order, and the minutes of the week."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from armrise.store.caseload import read as caseload
from armrise.store.caseload.judging import judging
from armrise.store.caseload.paper import head_on_paper
from armrise.store.clinic.actions.minutes import Decided, Minutes, decided_in, minutes, week_of
from armrise.store.clinic.actions.sweep import SweepCase, look, order
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.stand import NeedsFullHistory, stand_view
from armrise.store.record.words import full_date

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.record.case import CaseRecord
    from armrise.store.rules.pathway import Rules


def sweep(store: Store, rules: Rules, today: date, known_at: datetime | None = None) -> Minutes:
    """The sweep of the week of a clinic date: what was decided, and the queue that remains, in order.

    Raises :class:`~armrise.store.database.place.StoreError`.
    """
    first, last = week_of(today)
    decided: list[Decided] = []
    remaining: list[SweepCase] = []
    for record in caseload.board(store, today=today, known_at=known_at, rules=rules):
        try:
            found, told = _one(record, rules, today, first, last)
        except NeedsFullHistory:
            whole = caseload.case(store, record.code, known_at=known_at)
            found, told = _one(whole, rules, today, first, last)
        decided += told
        remaining += [found] if found else []
    return replace(minutes(today, decided, order(remaining)), store_head=head_on_paper(store))


def closed_cases(store: Store) -> list[tuple[str, str]]:
    """Every closed case of the store by its code, with the day and the outcome, however long ago."""
    sql = """
    SELECT c.code, d.happened_on, d.outcome FROM cases c JOIN discharge d ON d.case_id = c.id
    WHERE NOT EXISTS (SELECT 1 FROM correction k WHERE k.corrects = d.id)
    AND NOT EXISTS (SELECT 1 FROM reopening r WHERE r.case_id = c.id
        AND (r.happened_on > d.happened_on OR (r.happened_on = d.happened_on AND r.id > d.id))
        AND NOT EXISTS (SELECT 1 FROM correction k WHERE k.corrects = r.id))
    ORDER BY c.code"""
    with store.reading() as connection:
        rows = connection.execute(sql).fetchall()
    return [(code, f"closed {full_date(date.fromisoformat(on))}, {outcome}") for code, on, outcome in rows]


def _one(
    record: CaseRecord, rules: Rules, today: date, first: date, last: date
) -> tuple[SweepCase | None, list[Decided]]:
    with judging(record, rules, today):
        view = View.of(record, rules, today)
        standing = stand_view(view)
        return look(view, standing), decided_in(view, standing, first, last)
