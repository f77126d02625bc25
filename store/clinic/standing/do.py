"""What to do about the reasons of a case: of the rows of the rule files the first that fits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from armrise.store.clinic.case.standing import Reason, Verdict
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks
from armrise.store.clinic.verdict.screening import orders_missing
from armrise.store.rules.do import Do


def with_do(view: View, reasons: Iterable[Reason], decided: Verdict) -> tuple[Reason, ...]:
    """The reasons, each with what to do about it (practice notes 1.1)."""
    return tuple(replace(reason, do=_fitting(view, reason, decided)) for reason in reasons)


def _fitting(view: View, reason: Reason, decided: Verdict) -> Do | None:
    return next(
        (row for row in view.rules.do.get(reason.code, ()) if _fits(view, reason, decided, row)), None
    )


def _fits(view: View, reason: Reason, decided: Verdict, row: Do) -> bool:
    """Whether everything that the row asks for is true of the case."""
    return (
        (row.from_severity is None or reason.severity >= row.from_severity)
        and (row.verdict is None or row.verdict == decided.word.value)
        and (not row.after_surgery or (view.pathway is not None and view.pathway.clock == "surgery"))
        and (not row.without_orders or orders_missing(view))
        and (not row.booked or clocks.next_slot(view) is not None)
    )
