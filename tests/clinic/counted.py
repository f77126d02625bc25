"""The audit of records that lie in no store."""

from __future__ import annotations

from collections.abc import Iterable

from armrise.store.clinic.audit import case, period
from armrise.store.clinic.audit.period import Audit, Period
from armrise.store.record.case import CaseRecord
from armrise.store.rules.pathway import Rules


def audit(records: Iterable[CaseRecord], rules: Rules, of: Period, author: str = "") -> Audit:
    """The audit of a period over these records."""
    return period.audit((case.case_facts(record, rules, of) for record in records), rules, of, author)
