"""The audit from the command line: its period, and its ways out."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import tell
from armrise.tui.command.reading import CLINIC_DATE, FILE, AsOf, seen, sources
from armrise.tui.command.typed.paper import OnPaper, on_paper
from armrise.tui.command.typed.progress import progress_bar
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import FORCE_HELP, XLSX_HELP, refuse_several, write_workbook
from armrise.tui.shell.intake import Source

if TYPE_CHECKING:
    from armrise.store.clinic.audit.period import Audit, Period
    from armrise.store.database.place import Store
    from armrise.store.exchange.out.plain_text import Heading
    from armrise.store.rules.pathway import Rules


@click.command(cls=Command)
@click.option("--from", "first", type=CLINIC_DATE, metavar="DATE", help="The first day counted.")
@click.option("--to", "last", type=CLINIC_DATE, metavar="DATE", help="The last day counted.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@click.option("--html", type=FILE, metavar="FILE", help="As --paper with a name that ends in .html.")
@click.option("--xlsx", type=FILE, metavar="FILE", help=XLSX_HELP)
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def audit(
    source: Source,
    first: date | None,
    last: date | None,
    as_json: bool,
    html: Path | None,
    xlsx: Path | None,
    paper: OnPaper,
    force: bool,
    as_of: AsOf,
) -> None:
    """Count a period, the last whole month unless dates are given: counts first, always with denominators."""
    refuse_several(json=as_json, html=html, xlsx=xlsx, paper=paper.file)
    from armrise.tui.shell import opening

    with seen(source, as_of) as of:
        period = period_of(first, last, of.today)
        made = counted(of.store, of.rules, period, of.known_at, opening.author(source.demo))
        if html or paper.file:
            from armrise.store.exchange.paper.audit import audit_page

            page = audit_page(made, of.heading())
            (paper if html is None else OnPaper(html, as_html=True)).put(page, force=force)
        elif xlsx is not None:
            from armrise.store.exchange.tables.audit import audit_tables

            tables = audit_tables(made, of.heading())
            write_workbook(xlsx, tables, "audit", of.today, "audit", force=force)
        else:
            tell(as_json, "audit", lambda: rows(made), lambda: text(made, of.heading()))


def period_of(first: date | None, last: date | None, today: date) -> Period:
    """The period asked for; the last whole month without dates. Raises a usage fault in one sentence.

    One date alone: from it to today, or from the beginning of its month.
    """
    from armrise.store.clinic.audit.period import Period, last_full_month

    if first is None and last is None:
        first, last = last_full_month(today)
    end = last or today
    try:
        return Period(first or end.replace(day=1), end, today)
    except ValueError as fault:
        raise click.UsageError(f"{fault}: give --from and --to in order, up to {today}") from None


def counted(store: Store, rules: Rules, period: Period, known_at: datetime | None, author: str) -> Audit:
    """The audit of a store as known at an instant."""
    from armrise.store.caseload.audit import audit_store

    with progress_bar("Cases counted") as tell:
        return audit_store(store, rules, period, known_at=known_at, author=author, tell=tell)


def rows(made: Audit) -> dict[str, Any]:
    """As plain data."""
    from armrise.store.clinic.audit.rows import audit_rows

    return audit_rows(made)


def text(made: Audit, heading: Heading) -> str:
    """As plain text."""
    from armrise.store.exchange.out.audit_text import as_audit_text

    return as_audit_text(made, heading)
