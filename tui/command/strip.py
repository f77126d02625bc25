"""Typing many days of a written diary from the command line: what was understood, then one action."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import note, say
from armrise.tui.command.reading import (
    AUTHOR_HELP,
    FILE,
    RULES_HELP,
    STANDARD_STREAM,
    STORE,
    STORE_HELP,
    checked,
)
from armrise.tui.command.typed.codes import CODE, meant
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.shell.intake import Source, load_rules

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where
    from armrise.store.rules.pathway import Rules
    from armrise.tui.shell.door import Opened
    from armrise.tui.shell.store_door import StoreDoor

BEGINS_WITH_DAYS = re.compile(r"-\s*\d+\s*:")


class WithLine(Command):
    """A command with a line that may begin with "-7:", which is no option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """As any command, with a blank before such a line: blanks say nothing in it."""
        return super().parse_args(ctx, [f" {a}" if BEGINS_WITH_DAYS.match(a) else a for a in args])


@click.command(cls=WithLine)
@click.argument("code", type=CODE)
@click.argument("line")
@click.option("--dry-run", is_flag=True, help="Show what would be written, and write nothing.")
@click.option("--author", metavar="INITIALS", help=AUTHOR_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@quiet
def strip(
    code: str, line: str, dry_run: bool, author: str | None, store: Where | None, rules: Path | None
) -> None:
    """Write many days of a written diary of the case CODE from one LINE, whole or not at all; - reads it.

    "-7: 221/231*2/-2/?/322; whole" begins seven days ago; or at a date, or on the latest Mon. A day is pain
    during, later and on waking the day after: 221, t for 10, a dot where not told; or 10 2 1 with blanks.
    *2 says twice that day, ! part of the dose, - a rest day, -2 with 2 on waking the day after, ? not told.
    """
    under = load_rules(rules)
    source = Source(demo=False, caseload=None, store=store)
    if line == STANDARD_STREAM:
        line = sys.stdin.read().strip()
    told = typed(source, under, code, line, author=checked(author), dry_run=dry_run)
    (say if dry_run else note)(told.rstrip("\n"))


def typed(source: Source, rules: Rules, code: str, line: str, *, author: str, dry_run: bool) -> str:
    """Write the days of ``line`` into the case, or with ``dry_run`` nothing; says what was understood.

    Raises a store error of one sentence; nothing is written then.
    """
    from armrise.tui.shell import opening
    from armrise.tui.shell.intake import opened
    from armrise.tui.shell.store_door import StoreDoor

    with opened(source, rules, writing=not dry_run) as store:
        named = opening.author(source.demo, author, store.author)
        door = StoreDoor(store, rules, named, store.today, opening.clock_of(store))
        return _typed(door, door.open(meant(store, code)), line, dry_run=dry_run)


def _typed(door: StoreDoor, case: Opened, line: str, *, dry_run: bool) -> str:
    from armrise.store.caseload.refusal import Refused
    from armrise.store.clinic.actions.strip import day_lines, to_write, understood
    from armrise.store.clinic.case.view import View
    from armrise.store.entries.values import RefusalError

    record, today = case.record, door.today
    try:
        strip, days = understood(line, View.of(record, door.rules, today))
    except RefusalError as refused:
        raise Refused(f"{record.code}: {refused}. Nothing was written") from None
    entries = [door.draft(day.entry[0], **day.entry[1]) for day in days if day.entry]
    if entries and not dry_run:
        door.append(record.code, entries, seen=case.seen)
    fictional = "   FICTIONAL CASELOAD" if door.fictional else ""
    done = f"{'Would be written' if dry_run else 'Written'} by {door.author}:"
    told = [f"  {words}" for words in to_write(days, strip, today)]
    last = ["Nothing was written."] if dry_run or not entries else []
    head = [f"{record.code} {record.side}{fictional}", f"Read as: {strip}", ""]
    told = [*day_lines(days, strip.dose, today), "", *([done] if entries else []), *told]
    return "\n".join([*head, *told, *last, ""])
