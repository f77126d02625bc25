"""The audit from the command line: its period, and its three ways out."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from store.clinic.audit import Audit, Period
    from store.clinic.pathway import Rules
    from store.exchange.plain_text import Heading
    from store.place import Store


def period_of(first: date | None, last: date | None, today: date) -> Period:
    """The period asked for; the last whole month without dates. Raises a usage fault in one sentence.

    One date alone: from it to today, or from the beginning of its month.
    """
    from store.clinic.audit import Period, last_full_month

    if first is None and last is None:
        first, last = last_full_month(today)
    end = last or today
    try:
        return Period(first or end.replace(day=1), end, today)
    except ValueError as fault:
        raise click.UsageError(f"{fault}: give --from and --to in order, up to {today}") from None


def counted(store: Store, rules: Rules, period: Period, known_at: datetime | None, author: str) -> Audit:
    """The audit of a store as known at an instant."""
    from store.auditing import audit_store

    return audit_store(store, rules, period, known_at=known_at, author=author)


def rows(made: Audit) -> dict[str, Any]:
    """As plain data."""
    from store.clinic.audit_rows import audit_rows

    return audit_rows(made)


def text(made: Audit, heading: Heading) -> str:
    """As plain text."""
    from store.exchange.audit_text import as_audit_text

    return as_audit_text(made, heading)


def page(path: Path, made: Audit, heading: Heading) -> str:
    """Write the page, and say where it lies."""
    from store.entries.words import printable
    from store.exchange.audit_html import as_audit_html, write_audit

    write_audit(path, as_audit_html(made, heading))
    return f"Audit of {made.period.first} to {made.period.last} written to {printable(str(path))}."
