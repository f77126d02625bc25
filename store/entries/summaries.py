"""What a period summary may not say: how long it is, of its days, of days summed up already (ruling 73)."""

from __future__ import annotations

from datetime import date

from armrise.store.entries.sheet import Placed, Sheet
from armrise.store.record.kinds.pain import PeriodSummary


def summaries(sheet: Sheet) -> None:
    """A period is long enough and not too long, counts no day beyond its own, and covers no other's."""
    before: date | None = None
    for placed, told in sheet.of(PeriodSummary):
        if _length(sheet, placed, told):
            _counts(sheet, placed, told)
            if before and told.since < before:
                say = f"{told.since} is before {before}, up to which a period is summed up already"
                sheet.fault(placed, "since", say)
            before = told.on


def _length(sheet: Sheet, placed: Placed, told: PeriodSummary) -> bool:
    least, most = sheet.rules["summary.least_days"], sheet.rules["summary.most_days"]
    if least <= told.days <= most:
        return True
    say = f"{told.since} makes a period of {told.days} days to {told.on}, allowed is {least} to {most} days"
    sheet.fault(placed, "since", say)
    return False


def _counts(sheet: Sheet, placed: Placed, told: PeriodSummary) -> None:
    """No more days done than asked, and of neither, nor of mornings, more than the period has."""
    if told.days_done is not None and told.days_asked is not None and told.days_done > told.days_asked:
        say = f"{told.days_done} is more than days_asked {told.days_asked}"
        sheet.fault(placed, "days_done", say)
    for name in ("days_done", "days_asked", "mornings_worse"):
        counted: int | None = getattr(told, name)
        if counted is not None and counted > told.days:
            say = f"{counted} is more than the {told.days} days from {told.since} to {told.on}"
            sheet.fault(placed, name, say)
