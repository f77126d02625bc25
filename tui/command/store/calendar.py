"""``armrise calendar``: slots booked and reviews due, for a calendar program."""

from __future__ import annotations

from pathlib import Path

import click

from armrise.tui.command.options import Command
from armrise.tui.command.reading import FILE, AsOf, seen, sources
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import FORCE_HELP, put
from armrise.tui.shell.intake import Source

MINUTES_HELP = "How long a slot takes, 5 to 240; without it no end is stated, since no entry says it."


@click.command(cls=Command)
@click.argument("file", type=FILE, metavar="FILE")
@click.option("--minutes", type=click.IntRange(5, 240), metavar="N", help=MINUTES_HELP)
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def calendar(source: Source, file: Path, minutes: int | None, force: bool, as_of: AsOf) -> None:
    """Write slots booked and reviews due as a calendar file (iCalendar): codes, no names; - prints it.

    A later file moves what a calendar took from an earlier one.
    """
    from armrise.store.exchange.calendar.events import events
    from armrise.store.exchange.calendar.file import MARK, as_calendar

    with seen(source, as_of) as of:
        from armrise.store.caseload import read as caseload

        standings = caseload.standings(of.store, of.rules, of.today, of.known_at)
        codes = [standing.code for standing in standings]
        records = caseload.in_full(of.store, codes, known_at=of.known_at)
        found = events(records, standings, of.rules, of.today)
        text = as_calendar(found, of.store.zone, fictional=of.store.fictional, minutes=minutes)
    put(file, text, "calendar", MARK, force=force)
