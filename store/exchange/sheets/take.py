"""A plan written: all of what was confirmed, in one transaction, and what its headings mean remembered."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from armrise.store.caseload.taking.rows import ManyCases, OfCase
from armrise.store.exchange.sheets.mapping import REMEMBERED, to_remember

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.exchange.sheets.plan import Plan
    from armrise.store.rules.pathway import Rules


def write(
    store: Store,
    plan: Plan,
    rules: Rules,
    author: str,
    now: Callable[[], datetime],
    *,
    confirmed: bool = False,
    tell: Callable[[int, int], None] = lambda done, of: None,
) -> int:
    """Write what the plan says; how many entries. Raises
    :class:`~armrise.store.caseload.refusal.Refused`, and then nothing is written.
    """
    cases = [
        OfCase(one.head, one.is_new, [new.entry for new in one.new])
        for one in plan.cases
        if one.head is not None
    ]
    columns = [column for sheet in plan.understood.sheets for column in sheet.columns]
    remembered = {REMEMBERED: to_remember(columns, plan.understood.kept)}
    ledger = ManyCases(store, author, now, rules)
    return ledger.take(cases, plan.newest, remembered=remembered, confirmed=confirmed, tell=tell)
