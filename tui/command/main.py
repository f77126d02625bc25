"""The command line: thin, and in no hurry to import anything.

Every command imports what it needs when it runs, so that ``--version`` and ``--help`` answer at once and the
first picture of the board does not wait for the database. Exit codes: 0, 2 for wrong usage, 1 for anything
refused, with one sentence a fault on the error stream.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from datetime import date, datetime
from functools import partial, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from armrise.tui.command.describing import fields, schema
from armrise.tui.command.options import Group
from armrise.tui.command.printing import write_json
from armrise.tui.command.rules import rules_group
from armrise.tui.shell.intake import (
    LOAD_A_FILE,
    Source,
    demo_store,
    load_rules,
    opened,
    take,
    throwaway,
)

if TYPE_CHECKING:
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.place import Store
    from armrise.store.exchange.out.plain_text import Heading
    from armrise.store.rules.pathway import Rules
    from armrise.tui.earlier.instants import Then

REFUSED = 1
USAGE = 2


class ClinicDate(click.ParamType):  # pyright: ignore[reportMissingTypeArgument]  # none in click 8.1
    """An ISO date on the command line."""

    name = "date"

    def convert(self, value: str | date, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The date, or a usage fault saying what is allowed."""
        if isinstance(value, date):
            return value
        try:
            found = date.fromisoformat(value)
            if len(value) != 10 or not 1900 <= found.year <= 2199:
                raise ValueError
            return found
        except ValueError:
            from armrise.store.entries.words import shown

            say = f"{shown(value)} is no date, allowed is a day of 1900 to 2199 such as 2026-03-02"
            self.fail(say, param, ctx)


CLINIC_DATE = ClinicDate()
AS_OF_HELP = (
    "What was known at the end of that clinic date; what was recorded or corrected later is left out."
)
AT_HELP = (
    'What was known at that instant, on the clinic\'s clock: "2026-03-03 08:05", or ISO with an offset. With '
    "--as-of the list of that date with what was known then."
)
RULES_HELP = "The folder of the rules to read under, instead of those in force."
FILE = click.Path(path_type=Path)


class AsOf(NamedTuple):
    """The day and the instant asked for on the command line; both None: now."""

    day: date | None
    at: str | None


def sources(command: Callable[..., None]) -> Callable[..., None]:
    """The options that say where a listing reads from, and on which clinic date."""

    @click.option("--demo", is_flag=True, help="The fictional caseload, on its own clinic date.")
    @click.option("--caseload", type=FILE, metavar="FILE", help="A caseload file, taken into no store.")
    @click.option("--store", type=FILE, metavar="FILE", help="A store other than your own.")
    @click.option("--as-of", type=CLINIC_DATE, metavar="DATE", help=AS_OF_HELP)
    @click.option("--at", metavar="INSTANT", help=AT_HELP)
    @click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
    @wraps(command)
    def with_source(
        demo: bool,
        caseload: Path | None,
        store: Path | None,
        rules: Path | None,
        as_of: date | None,
        at: str | None,
        **rest: object,
    ) -> None:
        if sum((demo, caseload is not None, store is not None)) > 1:
            raise click.UsageError("--demo, --caseload and --store exclude each other, give one of them")
        command(source=Source(demo, caseload, store, rules), as_of=AsOf(as_of, at), **rest)

    return with_source


def _version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import version

        click.echo(f"armrise {version('armrise')}")
        ctx.exit()


@click.group(cls=Group, invoke_without_command=True)
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_version)
@click.option("--author", metavar="INITIALS", help="Whose entries these are, instead of those remembered.")
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@click.pass_context
def cli(ctx: click.Context, author: str | None, rules: Path | None) -> None:
    """The shoulder caseload, in the order in which it asks for attention.

    Without a command: open the morning list on your own store. Supports clinical judgement and never
    replaces it.
    """
    if ctx.invoked_subcommand is None:
        from armrise.tui.app.app import open_board

        leave(open_board(author=checked(author), rules=rules))


def checked(author: str | None) -> str:
    """The initials given, empty for none. Raises a usage fault for what are no initials."""
    from armrise.tui.firstrun.words import initials_fault

    if author is None:
        return ""
    fault = initials_fault(author.strip())
    if fault:
        raise click.UsageError(f"--author: {fault.removeprefix('initials: ')}")
    return author.strip()


def leave(code: int) -> None:
    """Leave with the exit code of the application, where that is not 0."""
    if code:
        raise click.exceptions.Exit(code)


@cli.command()
@click.option("--as-of", type=CLINIC_DATE, metavar="DATE", help="The clinic date the demo is moved to.")
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
def demo(as_of: date | None, rules: Path | None) -> None:
    """Open the list on a fictional caseload, in a store that is thrown away afterwards."""
    from armrise.tui.app.app import open_board

    with throwaway() as folder:
        prepare = partial(demo_store, folder, as_of, rules)  # called once the first picture is on the screen
        leave(open_board(demo=True, as_of=as_of, prepare=prepare, rules=rules))


@cli.command(name="list")
@click.option("--json", "as_json", is_flag=True, help="As a JSON array in list order.")
@sources
def list_(source: Source, as_json: bool, as_of: AsOf) -> None:
    """Print the list: every case that asks for attention, why, and what follows."""
    from armrise.store.exchange.out import listing, plain_text

    rules = load_rules(source.rules)
    with opened(source, rules) as store:
        from armrise.store.caseload import read as caseload

        today, known_at = asked_for(store, as_of)
        standings = listing.on_list(caseload.standings(store, rules, today, known_at))
        if as_json:
            write_json(listing.as_json(standings))
        else:
            empty = "" if caseload.codes(store) else f"No cases yet. Next: {LOAD_A_FILE}"
            text = plain_text.as_text(standings, heading(store, rules, today, known_at), empty)
            click.echo(text, nl=False)


@cli.command()
@click.argument("code")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def case(source: Source, code: str, as_json: bool, as_of: AsOf) -> None:
    """Print everything worked out for the case CODE."""
    from armrise.store.exchange.out import plain_text

    rules = load_rules(source.rules)
    with opened(source, rules) as store:
        today, known_at = asked_for(store, as_of)
        details, standing = worked_out(store, code, rules, today, known_at)
        if as_json:
            write_json(details)
        else:
            text = plain_text.as_case_text(details, standing, heading(store, rules, today, known_at))
            click.echo(text, nl=False)


@cli.command()
@click.argument("code")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def why(source: Source, code: str, as_json: bool, as_of: AsOf) -> None:
    """Print why the case CODE stood where it stood then: place, verdict, reasons, and what is known since."""
    from armrise.tui.earlier.why import as_json as as_data
    from armrise.tui.earlier.why import as_text, look

    rules = load_rules(source.rules)
    with opened(source, rules) as store:
        found = look(store, rules, code, asked_for(store, as_of))
        if as_json:
            write_json(as_data(found))
        else:
            click.echo(as_text(found), nl=False)


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
    rules = load_rules(source.rules)
    with opened(source, rules) as store:
        from armrise.store.caseload.sweep import sweep

        today, known_at = asked_for(store, as_of)
        made = sweep(store, rules, today, known_at)
        click.echo(words(made, heading(store, rules, today, known_at)), nl=False)


@cli.command()
@click.option("--from", "first", type=CLINIC_DATE, metavar="DATE", help="The first day counted.")
@click.option("--to", "last", type=CLINIC_DATE, metavar="DATE", help="The last day counted.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@click.option("--html", type=FILE, metavar="FILE", help="As a page with charts that fetches nothing.")
@sources
def audit(
    source: Source,
    first: date | None,
    last: date | None,
    as_json: bool,
    html: Path | None,
    as_of: AsOf,
) -> None:
    """Count a period, the last whole month unless dates are given: counts first, always with denominators."""
    from armrise.tui.command import audit as command_audit
    from armrise.tui.shell import opening

    rules = load_rules(source.rules)
    with opened(source, rules) as store:
        today, known_at = asked_for(store, as_of)
        period = command_audit.period_of(first, last, today)
        made = command_audit.counted(store, rules, period, known_at, opening.author(source.demo))
        if as_json:
            write_json(command_audit.rows(made))
        elif html is not None:
            click.echo(command_audit.page(html, made, heading(store, rules, today, known_at)))
        else:
            click.echo(command_audit.text(made, heading(store, rules, today, known_at)), nl=False)


@cli.command()
@click.argument("file", type=FILE)
@click.option(
    "--store", type=FILE, metavar="FILE", help="A store other than your own; made if there is none."
)
def load(file: Path, store: Path | None) -> None:
    """Take the caseload in FILE into a store, whole or not at all."""
    from armrise.store.database.place import default_path
    from armrise.store.entries.words import printable
    from armrise.store.exchange.into.caseload_file import read

    under = load_rules()
    content = read(file, under)
    target = store or default_path()
    number = take(content, target)
    cases = "1 case" if number == 1 else f"{number} cases"
    click.echo(f"{cases} of {printable(file.name)} taken into {printable(str(target))}.")


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
    if as_json:
        write_json([row._asdict() for row in rows])
    else:
        click.echo(of.as_sample(rows) if sample else of.as_text(rows), nl=False)
    for fault in faults:
        click.echo(f"armrise: {fault}", err=True)
    return REFUSED if faults else 0


def asked_for(store: Store, as_of: AsOf) -> Then:
    """The clinic date of a listing and, for one asked for, the instant up to which entries were known."""
    from armrise.tui.earlier.instants import Then, end_of, read_then

    today = store.today()
    if as_of.at is not None:
        then = read_then(as_of.at, store, today)
        return Then(as_of.day or then.today, then.known_at)
    return Then(today, None) if as_of.day is None else end_of(store, as_of.day)


def worked_out(
    store: Store, code: str, rules: Rules, today: date, known_at: datetime | None = None
) -> tuple[dict[str, Any], Standing]:
    """Everything worked out for one case of a store as known at an instant, and its standing."""
    from armrise.store.caseload import read as caseload
    from armrise.store.caseload.stays import own_past_cases
    from armrise.store.clinic.standing.explain import explain
    from armrise.store.clinic.standing.stand import stand

    record = caseload.case(store, code, known_at=known_at)
    others = own_past_cases(store, record, rules, today, known_at)
    return explain(record, rules, today, others), stand(record, rules, today)


def heading(store: Store, rules: Rules, today: date, known_at: datetime | None = None) -> Heading:
    """What stands above a listing of this store, as known at an instant (None: now)."""
    from armrise.store.caseload import read as caseload
    from armrise.store.exchange.out.plain_text import Heading

    newest = caseload.newest_recorded(store)
    cut = newest is not None and known_at is not None and newest > known_at
    at = store.local(known_at) if known_at is not None else None
    if at is not None and known_at == store.end_of_day(at.date()) and at.date() == today:
        at = None
    return Heading(today, store.fictional, store.local(newest) if newest else None, rules, cut=cut, at=at)


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
    with opened(source, before) as store:
        today, known_at = asked_for(store, as_of)
        made = tried(store.as_known(known_at), before, after, since, today)
        if as_json:
            write_json(trial_text.as_json(made))
        else:
            click.echo(trial_text.as_text(made), nl=False)


for _command in (rules_group, fields, schema):
    cli.add_command(_command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    import gc
    from io import TextIOWrapper

    # Modules and entries come by the ten thousand and stay: looking for garbage among them delays the rows.
    gc.set_threshold(50_000, 20, 50)
    if isinstance(sys.stdout, TextIOWrapper):
        # A terminal that lacks a letter still shows the rest of the line; whatever stream lies beneath it.
        sys.stdout.reconfigure(errors="backslashreplace")  # pyright: ignore[reportUnknownMemberType]
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; every refusal becomes its sentence on the error stream and an exit code."""
    try:
        result = cli.main(args=arguments, prog_name="armrise", standalone_mode=False)
        sys.stdout.flush()
        return result if isinstance(result, int) else 0
    except click.ClickException as fault:
        fault.show()
        return USAGE if isinstance(fault, click.UsageError) else REFUSED
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped.", err=True)
        return REFUSED
    except BrokenPipeError:
        # The reader of a pipe went away; without this the interpreter complains once more on its way out.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return REFUSED
    except Exception as fault:
        say = refusal(fault)
        if say is None:
            raise
        click.echo(f"armrise: {say}", err=True)
        return REFUSED


def refusal(fault: Exception) -> str | None:
    """What a refusal says, or None for a fault of the program itself."""
    from armrise.store.entries.words import printable

    if isinstance(fault, OSError):
        what = f" ({printable(str(fault.filename))})" if fault.filename else ""
        return f"{(fault.strerror or str(fault)).lower()}{what}: free it, or choose another place."
    from armrise.store.database.place import StoreError
    from armrise.store.exchange.into.caseload_file import CaseloadRefused
    from armrise.store.rules.read import RuleFileError

    if isinstance(fault, CaseloadRefused):
        return str(fault)
    return printable(str(fault)) if isinstance(fault, (StoreError, RuleFileError)) else None
