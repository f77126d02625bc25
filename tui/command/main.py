"""The command line: thin, and in no hurry to import anything.

Every command imports what it needs when it runs, so that ``--version`` and ``--help`` answer at once and the
first picture of the board does not wait for the database. How it ends: :mod:`armrise.tui.command.ending`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from armrise.store.files.throwaway import throwaway
from armrise.tui.command.describing import fields, schema
from armrise.tui.command.ending import REFUSED, USAGE, ended, prepare
from armrise.tui.command.ending import leave as end
from armrise.tui.command.handover import handover
from armrise.tui.command.options import Group
from armrise.tui.command.printing import complain, say, tell
from armrise.tui.command.reading import (
    CLINIC_DATE,
    FILE,
    RULES_HELP,
    STORE,
    STORE_HELP,
    AsOf,
    Seen,
    seen,
    sources,
)
from armrise.tui.command.rules import rules_group
from armrise.tui.command.serve import serve
from armrise.tui.command.store.backup import backup, restore
from armrise.tui.command.store.encryption import decrypt, encrypt, passphrase
from armrise.tui.command.store.export import export
from armrise.tui.command.store.load import load
from armrise.tui.command.store.server import copy_store, server_sql
from armrise.tui.command.store.verify import verify
from armrise.tui.command.strip import WithLine
from armrise.tui.command.views import views
from armrise.tui.shell.intake import LOAD_A_FILE, Source, load_rules
from armrise.tui.shell.unlock import named

if TYPE_CHECKING:
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.server.address import Where
    from armrise.store.exchange.out.plain_text import Heading

SCREENS = (None, "demo", "serve")
"""What asks for a passphrase on a screen, or opens no encrypted store."""
FORCE_HELP = "Replace a file that armrise did not write; a store never."
AUTHOR_HELP = "Whose entries these are, instead of those remembered."


def _version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import version

        say(f"armrise {version('armrise')}")
        ctx.exit()


@click.group(cls=Group, invoke_without_command=True)
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_version)
@click.option("--author", metavar="INITIALS", help=AUTHOR_HELP)
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@click.pass_context
def cli(ctx: click.Context, author: str | None, rules: Path | None, store: Where | None) -> None:
    """The shoulder caseload, in the order in which it asks for attention.

    Without a command: open the morning list on your own store. Supports clinical judgement and never
    replaces it.
    """
    if ctx.invoked_subcommand not in SCREENS:
        ask_at_the_terminal()
    if ctx.invoked_subcommand is None:
        initials = checked(author)
        need_a_terminal()
        from armrise.tui.app.app import open_board

        leave(open_board(store_path=named(store), author=initials, rules=rules))


def ask_at_the_terminal() -> None:
    """Have the passphrase of an encrypted store asked for at the terminal."""
    from armrise.store.database.encrypted.asker import ask_by
    from armrise.tui.command.store.asking import ask

    ask_by(ask)


def checked(author: str | None) -> str:
    """The initials given, empty for none. Raises a usage fault for what are no initials."""
    from armrise.tui.firstrun.words import initials_fault

    if author is None:
        return ""
    fault = initials_fault(author.strip())
    if fault:
        raise click.UsageError(f"--author: {fault.removeprefix('initials: ')}")
    return author.strip()


class NoTerminal(click.ClickException):
    """The list cannot be opened here; one sentence, without the usage of the command."""

    exit_code = USAGE


def need_a_terminal() -> None:
    """Refuse to open the list where there is no keyboard, or nothing to paint on."""
    if os.environ.get("TEXTUAL_DRIVER"):
        return  # a page of armrise serve paints
    plain = "armrise list prints it as text"
    if not all(stream and stream.isatty() for stream in (sys.stdin, sys.stdout)):  # None where it was closed
        raise NoTerminal(f"the list opens in a terminal, and this is none: {plain}")
    if os.environ.get("TERM") in ("dumb", "unknown"):
        raise NoTerminal(f"this terminal (TERM={os.environ['TERM']}) can place no text: {plain}")


def leave(code: int) -> None:
    """Leave with the exit code of the application, where that is not 0."""
    if code:
        raise click.exceptions.Exit(code)


@cli.command()
@click.option("--as-of", type=CLINIC_DATE, metavar="DATE", help="The clinic date the demo is moved to.")
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
def demo(as_of: date | None, rules: Path | None) -> None:
    """Open the list on a fictional caseload, in a store that is thrown away afterwards.

    It plays one clinic day: without --as-of the latest date that is whole weeks from its own, a Monday.
    """
    need_a_terminal()
    from armrise.tui.app.app import open_board
    from armrise.tui.shell.opening import demonstration

    with throwaway() as folder:
        prepare = partial(
            demonstration, folder, as_of, rules
        )  # called once the first picture is on the screen
        leave(open_board(demo=True, as_of=as_of, prepare=prepare, rules=rules))


@cli.command(name="list")
@click.option("--json", "as_json", is_flag=True, help="As a JSON array in list order.")
@sources
def list_(source: Source, as_json: bool, as_of: AsOf) -> None:
    """Print the list: every case that asks for attention, why, and what follows."""
    from armrise.store.exchange.out import listing, plain_text

    def text() -> str:
        empty = "" if caseload.codes(of.store) else f"No cases yet. Next: {LOAD_A_FILE}"
        return plain_text.as_text(standings, of.heading(), empty)

    with seen(source, as_of) as of:
        from armrise.store.caseload import read as caseload

        standings = listing.on_list(caseload.standings(of.store, of.rules, of.today, of.known_at))
        tell(as_json, lambda: listing.as_json(standings), text)


@cli.command()
@click.argument("code")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def case(source: Source, code: str, as_json: bool, as_of: AsOf) -> None:
    """Print everything worked out for the case CODE."""
    from armrise.store.exchange.out import plain_text

    with seen(source, as_of) as of:
        details, standing = worked_out(of, code)
        tell(as_json, lambda: details, lambda: plain_text.as_case_text(details, standing, of.heading()))


@cli.command()
@click.argument("code")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def why(source: Source, code: str, as_json: bool, as_of: AsOf) -> None:
    """Print why the case CODE stood where it stood then: place, verdict, reasons, and what is known since."""
    from armrise.tui.earlier.instants import Then
    from armrise.tui.earlier.why import as_json as as_data
    from armrise.tui.earlier.why import as_text, look

    with seen(source, as_of) as of:
        found = look(of.store, of.rules, code, Then(of.today, of.known_at))
        tell(as_json, lambda: as_data(found), lambda: as_text(found))


@cli.command()
@sources
def due(source: Source, as_of: AsOf) -> None:
    """Print the queue of the weekly sweep: every overdue, silent or missed case nobody has decided yet."""
    from armrise.store.exchange.out.minutes import due_text

    _swept(source, as_of, due_text)


@cli.command()
@sources
def minutes(source: Source, as_of: AsOf) -> None:
    """Print the minutes of this week's sweep: how many, what was decided, what remains."""
    from armrise.store.exchange.out.minutes import as_text

    _swept(source, as_of, as_text)


def _swept(source: Source, as_of: AsOf, words: Callable[[Minutes, Heading], str]) -> None:
    with seen(source, as_of) as of:
        from armrise.store.caseload.sweep import sweep

        made = sweep(of.store, of.rules, of.today, of.known_at)
        say(words(made, of.heading()), nl=False)


@cli.command()
@click.option("--from", "first", type=CLINIC_DATE, metavar="DATE", help="The first day counted.")
@click.option("--to", "last", type=CLINIC_DATE, metavar="DATE", help="The last day counted.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@click.option("--html", type=FILE, metavar="FILE", help="As a page with charts that fetches nothing.")
@click.option("--force", is_flag=True, help=FORCE_HELP)
@sources
def audit(
    source: Source,
    first: date | None,
    last: date | None,
    as_json: bool,
    html: Path | None,
    force: bool,
    as_of: AsOf,
) -> None:
    """Count a period, the last whole month unless dates are given: counts first, always with denominators."""
    from armrise.tui.command import audit as counting
    from armrise.tui.shell import opening

    with seen(source, as_of) as of:
        period = counting.period_of(first, last, of.today)
        made = counting.counted(of.store, of.rules, period, of.known_at, opening.author(source.demo))
        if html is not None and not as_json:
            say(counting.page(html, made, of.heading(), force=force))
        else:
            tell(as_json, lambda: counting.rows(made), lambda: counting.text(made, of.heading()))


@cli.command(cls=WithLine)
@click.argument("code")
@click.argument("line")
@click.option("--dry-run", is_flag=True, help="Show what would be written, and write nothing.")
@click.option("--author", metavar="INITIALS", help=AUTHOR_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
def strip(
    code: str, line: str, dry_run: bool, author: str | None, store: Where | None, rules: Path | None
) -> None:
    """Write many days of a written diary of the case CODE from one LINE, whole or not at all.

    "-7: 221/231*2/-2/?/322; whole" begins seven days ago; or at a date, or on the latest Mon. A day is pain
    during, later and on waking the day after: 221, t for 10, a dot where not told; or 10 2 1 with blanks.
    *2 says twice that day, ! part of the dose, - a rest day, -2 with 2 on waking the day after, ? not told.
    """
    from armrise.tui.command.strip import typed

    under = load_rules(rules)
    source = Source(demo=False, caseload=None, store=store)
    say(typed(source, under, code, line, author=checked(author), dry_run=dry_run), nl=False)


@cli.command()
@click.option("--json", "as_json", is_flag=True, help="As a JSON array.")
@click.option("--sample", is_flag=True, help="As a keys.toml in which every line is a remark.")
def keys(as_json: bool, sample: bool) -> int:
    """Print every key of every screen, your own keys.toml applied, and what is wrong with that file."""
    from armrise.tui.shell import keys as of

    if as_json and sample:
        raise click.UsageError("--json and --sample exclude each other, give one of them")
    keymap, faults = ({}, []) if sample else of.read(of.keys_path())
    rows = of.reference(keymap)
    words = of.as_sample if sample else of.as_text
    tell(as_json, lambda: [row._asdict() for row in rows], lambda: words(rows))
    for told in faults or filter(None, [of.changed(keymap)]):
        complain(f"armrise: {told}")
    return REFUSED if faults else 0


def worked_out(of: Seen, code: str) -> tuple[dict[str, Any], Standing]:
    """Everything worked out for one case of a store as known at an instant, and its standing."""
    from armrise.store.caseload import read as caseload
    from armrise.store.caseload.stays import own_past_cases
    from armrise.store.clinic.standing.explain import explain
    from armrise.store.clinic.standing.stand import stand

    record = caseload.case(of.store, code, known_at=of.known_at)
    others = own_past_cases(of.store, record, of.rules, of.today, of.known_at)
    return explain(record, of.rules, of.today, others), stand(record, of.rules, of.today)


@rules_group.command()
@click.argument("new")
@click.option("--against", metavar="OLD", help="The version to compare with, instead of that in force.")
@click.option("--from", "since", type=CLINIC_DATE, metavar="DATE", help="Count from that date on.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def trial(
    source: Source, new: str, against: str | None, since: date | None, as_json: bool, as_of: AsOf
) -> None:
    """Run the version NEW over the recorded history day by day: what would have read differently?

    A version is a number, "shipped", or a folder of rule files. Nothing is put in force. Ctrl+C stops, and
    prints what was read by then.
    """
    from armrise.store.exchange.out import trial_text
    from armrise.tui.command.trial import tried
    from armrise.tui.shell.intake import rules_named

    after = rules_named(new, source.rules)
    before = rules_named(against, source.rules) if against else load_rules(source.rules)
    with seen(source, as_of, before) as of:
        made = tried(of.store.as_known(of.known_at), before, after, since, of.today)
        tell(as_json, lambda: trial_text.as_json(made), lambda: trial_text.as_text(made))


_COMMANDS = (
    *(backup, restore, copy_store, server_sql, verify, encrypt, decrypt, passphrase, export, load),
    *(rules_group, handover, fields, schema, serve, views),
)
for _command in _COMMANDS:
    cli.add_command(_command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    import gc
    from io import TextIOWrapper

    # Modules and entries come by the ten thousand and stay: looking for garbage among them delays the rows.
    gc.set_threshold(50_000, 20, 50)
    prepare()
    if isinstance(sys.stdout, TextIOWrapper):
        # A terminal that lacks a letter still shows the rest of the line; whatever stream lies beneath it.
        sys.stdout.reconfigure(errors="backslashreplace")  # pyright: ignore[reportUnknownMemberType]
    end(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; every refusal becomes its sentence on the error stream and an exit code."""
    return ended(lambda: cli.main(args=arguments, prog_name="armrise", standalone_mode=False))
