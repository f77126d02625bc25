"""Taking a clinic's own spreadsheet into a store: what would be written, the question, then all of it."""

from __future__ import annotations

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
from armrise.tui.command.typed.progress import progress_bar
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.shell.intake import Source, load_rules, opened

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where
    from armrise.store.exchange.sheets.plan import Plan
    from armrise.store.rules.pathway import Rules

REFUSED = 1
HOW_TO_MAP = (
    "To say what a column means: armrise import FILE --show-map > map.toml, change it, then",
    "armrise import FILE --map map.toml; or key I of the list.",
)


def _meanings(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from armrise.store.exchange.sheets.reading.forms import examples
        from armrise.store.exchange.sheets.report import meaning_lines

        cells = [f"  {what}: {cell or '(empty)'}   {words}" for what, cell, words in examples()]
        say("\n".join([*meaning_lines(), "", "Cells, and what they are read as", *cells]))
        ctx.exit()


@click.command("import", cls=Command)
@click.argument("file", type=FILE)
@click.option(
    "--map", "map_file", type=FILE, metavar="FILE", help="What the columns mean, as --show-map prints it."
)
@click.option("--dry-run", is_flag=True, help="List what becomes of every row, and write nothing.")
@click.option("--yes", is_flag=True, help="Write without asking.")
@click.option(
    "--show-map", is_flag=True, help="Print what the columns are taken to mean, as a file for --map."
)
@click.option(
    "--meanings",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_meanings,
    help="Print everything a column can mean, and how cells are read.",
)
@click.option("--author", metavar="INITIALS", help=AUTHOR_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@quiet
def import_(
    file: Path,
    map_file: Path | None,
    dry_run: bool,
    yes: bool,
    show_map: bool,
    author: str | None,
    store: Where | None,
    rules: Path | None,
) -> int:
    """Take the rows of FILE, a clinic's own CSV or XLSX (- is standard input): patients, visits, diaries.

    It lists what every column means and what becomes of every row, then asks. A row that cannot be read is
    refused with its reason, never guessed; the others are written as one action. The same file again adds
    nothing. Exit code 1 when a row was refused.
    """
    from armrise.store.caseload.read import codes
    from armrise.store.exchange.sheets.mapping import Map, read_map
    from armrise.store.exchange.sheets.plan import kept_map, parse, read_file, understood

    under = load_rules(rules)
    said = read_map(map_file) if map_file else Map()
    piped = str(file) == STANDARD_STREAM
    if piped and not (dry_run or yes or show_map):
        raise click.UsageError("rows come from standard input, and nobody can be asked: --dry-run or --yes")
    read = parse(sys.stdin.buffer.read(), "standard input") if piped else read_file(file)
    source = Source(demo=False, caseload=None, store=store)
    with opened(source, under, writing=not (dry_run or show_map)) as target:
        about = understood(read, said, kept_map(target), codes(target))
        if show_map:
            from armrise.store.exchange.sheets.mapping import map_text

            columns = [column for sheet in about.sheets for column in sheet.columns]
            say(map_text(columns, said.always), nl=False)
            return 0
        from armrise.store.exchange.sheets.plan import planned
        from armrise.store.exchange.sheets.report import column_lines
        from armrise.tui.shell.opening import author as by_whom
        from armrise.tui.shell.opening import clock_of

        by = by_whom(target.fictional, checked(author), target.author)
        if about.faults:
            say("\n".join([*about.notes, *column_lines(about), "", *HOW_TO_MAP]))
        with progress_bar("Rows read") as tell:
            now = clock_of(target)()
            plan = planned(target, about, under, now, by, lambda _, done, of: tell(done, of))
        return _done(target, plan, under, by, dry_run=dry_run, yes=yes)


def _done(store: Store, plan: Plan, rules: Rules, author: str, *, dry_run: bool, yes: bool) -> int:
    """Say what becomes of every row, ask, write."""
    from armrise.store.exchange.sheets.report import lines_of, to_write
    from armrise.store.exchange.sheets.row import REFUSED as ROW_REFUSED

    name = plan.understood.file.name
    tell = note if yes and not dry_run else say
    tell(f"{name} for {store.name}{': a dry run, nothing is written' if dry_run else ''}.")
    for line in lines_of(plan, rules):
        tell(line)
    left = REFUSED if plan.counts[ROW_REFUSED] else 0
    if dry_run or not plan.cases:
        return left
    if not yes:
        click.confirm("Write this?", abort=True)
    _write(store, plan, rules, author)
    said = to_write(plan).partition(": ")[2]
    note(f"Written: {said}. armrise backup keeps a copy.")
    return left


def _write(store: Store, plan: Plan, rules: Rules, author: str) -> None:
    from armrise.store.exchange.sheets.take import write
    from armrise.tui.shell.opening import clock_of

    with progress_bar("Cases written") as tell:
        write(store, plan, rules, author, clock_of(store), tell=tell)
