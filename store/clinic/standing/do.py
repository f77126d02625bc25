"""What to do about the reasons of a case: of the rows of the rule files the first that fits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from armrise.store.clinic.case.standing import Reason, Verdict
from armrise.store.clinic.case.view import View
from armrise.store.clinic.programme.load_back import load_back
from armrise.store.clinic.time import clocks
from armrise.store.clinic.verdict.screening import orders_missing
from armrise.store.rules.do import LOADS, Do, Step


def with_do(view: View, reasons: Iterable[Reason], decided: Verdict) -> tuple[Reason, ...]:
    """The reasons, each with what to do about it (practice notes 1.1)."""
    return tuple(reason._replace(do=_fitting(view, reason, decided)) for reason in reasons)


def _fitting(view: View, reason: Reason, decided: Verdict) -> Do | None:
    offered = view.rules.do.get(reason.code, ())
    row = next((row for row in offered if _fits(view, reason, decided, row)), None)
    return _named(view, row) if row else None


def _named(view: View, row: Do) -> Do:
    """The row with the exercises to lower by name, where a lower dose is proposed for any."""
    if LOADS not in row.words:
        return row
    asked = load_back(view)
    loads = " and ".join(asked.names) if asked and asked.names else "the load"

    def named(step: Step) -> Step:
        return replace(step, say=step.say.replace(LOADS, loads))

    visit = named(row.at_visit) if row.at_visit else None
    return replace(row, steps=tuple(map(named, row.steps)), at_visit=visit)


def _fits(view: View, reason: Reason, decided: Verdict, row: Do) -> bool:
    """Whether everything that the row asks for is true of the case."""
    return (
        (row.from_severity is None or reason.severity >= row.from_severity)
        and (row.verdict is None or row.verdict == decided.word.value)
        and (not row.after_surgery or (view.pathway is not None and view.pathway.clock == "surgery"))
        and (not row.without_orders or orders_missing(view))
        and (not row.booked or clocks.next_slot(view) is not None)
    )
