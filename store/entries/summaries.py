"""What a period summary may not say: how long it is, of its days, of days summed up already (ruling 73)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from armrise.store.entries.sheet import Sheet
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.store.rules.pathway import Rules


def summaries(sheet: Sheet) -> None:
    """A period is long enough and not too long, counts no day beyond its own, and covers no other's."""
    before: date | None = None
    for placed, told in sheet.of(PeriodSummary):
        faults = list(wrong(told, sheet.rules))
        for name, say in faults:
            sheet.fault(placed, name, say)
        if any(name == "since" for name, _ in faults):
            continue
        if before and told.since < before:
            say = f"{told.since} is before {before}, up to which a period is summed up already"
            sheet.fault(placed, "since", say)
        before = told.on


def wrong(told: PeriodSummary, rules: Rules) -> Iterator[tuple[str, str]]:
    """What is wrong with one summary by itself: the field, and what was said and is allowed.

    No more days done than asked, and of neither, nor of mornings, more than the period has.
    """
    least, most = rules["summary.least_days"], rules["summary.most_days"]
    if not least <= told.days <= most:
        say = (
            f"{told.since} makes a period of {told.days} days to {told.on}, allowed is {least} to {most} days"
        )
        yield "since", say
        return
    if told.days_done is not None and told.days_asked is not None and told.days_done > told.days_asked:
        yield "days_done", f"{told.days_done} is more than days_asked {told.days_asked}"
    for name in ("days_done", "days_asked", "mornings_worse"):
        counted: int | None = getattr(told, name)
        if counted is not None and counted > told.days:
            yield name, f"{counted} is more than the {told.days} days from {told.since} to {told.on}"
