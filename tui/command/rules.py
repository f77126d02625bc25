"""The commands about the rules: read them, copy them, check them, compare them, put in force, sign."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.store.record.clock import machine_today, utc_now
from armrise.tui.command.options import Group
from armrise.tui.command.printing import complain, say, tell
from armrise.tui.command.trial import trial
from armrise.tui.shell.intake import rules_folder

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules

STATUSES = ("published", "common practice", "from memory", "design")
FOLDER = click.Path(path_type=Path)
FOLDER_HELP = "The folder of rules, instead of the clinic's own in its usual place."


def in_folder(command: Callable[..., None]) -> Callable[..., None]:
    """The option that names another folder than the usual one."""

    @click.option("--rules", type=FOLDER, metavar="FOLDER", help=FOLDER_HELP)
    @wraps(command)
    def with_folder(rules: Path | None, **rest: object) -> None:
        command(folder=rules_folder(rules), **rest)

    return with_folder


@click.group(name="rules", cls=Group, invoke_without_command=True)
@click.pass_context
def rules_group(ctx: click.Context) -> None:
    """Read the rules behind every verdict, and make them the clinic's own.

    Alone: show the rules in force. To change a number: copy, edit the copy, check, diff, adopt, sign.
    """
    if ctx.invoked_subcommand is None:
        with show.make_context("show", [], parent=ctx) as alone:
            show.invoke(alone)


rules_group.add_command(trial)


@rules_group.command()
@click.argument("place", default="", metavar="[PLACE]")
@click.option("--status", type=click.Choice(STATUSES), help="Only what has this status.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@in_folder
def show(folder: Path | None, place: str = "", status: str | None = None, as_json: bool = False) -> None:
    """Show every number with its meaning, unit, source and status.

    PLACE is the code of a pathway or of a stage, or a part such as flare, ranks, scores or exercises.
    """
    from armrise.store.exchange.out import rule_text
    from armrise.store.rules.rows import pick, places, rows
    from armrise.tui.shell.intake import load_rules

    rules = load_rules(folder)
    every = rows(rules)
    if place and not pick(every, place):
        raise click.UsageError(f"PLACE is {place!r}, allowed is one of {', '.join(places(every))}")
    chosen = pick(every, place, status or "")
    tell(
        as_json,
        "rules",
        lambda: rule_text.as_json(rules, every, chosen),
        lambda: rule_text.as_text(rules, every, chosen, _versions(folder)),
    )


def _versions(folder: Path | None) -> str:
    """Which versions the clinic has, and since when one is in force."""
    from armrise.store.rules.folder.versions import chosen

    own = chosen(folder)
    there = own.versions()
    if not there:
        return ""
    adoption = own.in_force()
    since = f", {adoption.version} in force since {adoption.at.date().isoformat()}" if adoption else ""
    return f"the clinic's own versions: {', '.join(there)}{since}"


@rules_group.command()
@in_folder
def copy(folder: Path | None) -> None:
    """Copy the rules in force into the clinic's own folder as its next version, unsigned.

    The remarks of the files are kept. The copy is not in force before it is adopted.
    """
    from armrise.store.rules.folder.versions import chosen

    own = chosen(folder)
    version = own.copy(utc_now())
    _say_next(own.path(version), version)


def _say_next(path: Path, version: str) -> None:
    say(f"Version {version} lies in {path}. It is not in force yet.")
    say("Edit its files, then:")
    say(f"  armrise rules check {version}")
    say(f"  armrise rules trial {version}")
    say(f"  armrise rules adopt {version}")
    say('  armrise rules sign --name "..."')


@rules_group.command()
@click.argument("what", default="", metavar="[FOLDER]")
@in_folder
@click.pass_context
def check(ctx: click.Context, folder: Path | None, what: str) -> None:
    """Check rules and name every fault in a sentence; leaves with 1 when there is any.

    FOLDER is a folder of rule files or a version. Without it every version of the clinic is checked.
    """
    from armrise.store.rules.folder.versions import chosen

    own = chosen(folder)
    wrong = 0
    for name, faults in own.checked(what):
        for fault in faults:
            complain(f"armrise: {fault}")
        wrong += len(faults)
        if not faults:
            say(f"{name}: holds together.")
            _say_completed(own.named_version(name.removeprefix("version ")))
    if wrong:
        complain(f"{wrong} fault{'' if wrong == 1 else 's'}. No such rules can be put in force.")
        ctx.exit(1)


def _say_completed(rules: Rules) -> None:
    if rules.completed:
        say(f"{len(rules.completed)} parts came later and stand as shipped (armrise rules upgrade):")
        for line in rules.completed:
            say(f"  {line}")


@rules_group.command()
@in_folder
def upgrade(folder: Path | None) -> None:
    """Bring the clinic's rules in force up to the shipped ones, as its next version, unsigned.

    What the clinic left as shipped is taken as shipped now, what it changed itself stays; both are listed. It
    is not in force before it is adopted.
    """
    from armrise.store.rules.diff import difference
    from armrise.store.rules.folder.versions import chosen
    from armrise.store.rules.upgrade.folder import upgrade as made_of

    own = chosen(folder)
    made = made_of(own, utc_now())
    changed = difference(own.load(made.before), own.load(made.version))
    for title, lines in (
        ("The clinic's own, kept against a shipped change", made.conflicts),
        ("Changed as shipped", changed),
        ("Added as shipped", made.added),
    ):
        say(f"{title}: {len(lines)}")
        for line in lines:
            say(f"  {line}")
    _say_next(own.path(made.version), made.version)


@rules_group.command()
@click.argument("old")
@click.argument("new")
@in_folder
def diff(folder: Path | None, old: str, new: str) -> None:
    """Show what differs between the versions OLD and NEW: numbers, criteria, words, sources.

    A version is a number, "shipped" for the rules of the program, or a folder of rule files.
    """
    from armrise.store.rules.diff import difference
    from armrise.store.rules.folder.versions import chosen

    own = chosen(folder)
    before, after = (own.named_version(word) for word in (old, new))
    say(f"{_titled(before)} -> {_titled(after)}")
    lines = difference(before, after)
    for line in lines or ("No difference.",):
        say(line)


def _titled(rules: Rules) -> str:
    return f"version {rules.version} ({rules.sign_off})"


@rules_group.command()
@click.argument("version")
@in_folder
def adopt(folder: Path | None, version: str) -> None:
    """Put VERSION in force, a number or "shipped", once it holds together.

    Earlier versions are kept. Look at what it changes first: diff, and a trial over the recorded history.
    """
    from armrise.store.rules.diff import difference
    from armrise.store.rules.folder.versions import chosen

    own = chosen(folder)
    before = own.before_adopting()
    after = own.adopt(version, utc_now())
    number = len(difference(before, after)) if before else None
    changed = "" if number is None else f" {number} difference{'' if number == 1 else 's'} to the one before."
    say(f"Version {after.version} is in force from now on, {after.sign_off}.{changed}")


@rules_group.command()
@click.option("--name", required=True, help="The clinical lead who signs.")
@click.option("--on", "on", default=None, metavar="DATE", help="The day of the signature, today without it.")
@in_folder
def sign(folder: Path | None, name: str, on: str | None) -> None:
    """Sign the version in force off for local use. Its number is asked for, so that nothing else is signed.

    What is changed in the files afterwards makes them count as not signed.
    """
    from armrise.store.exchange.out.rule_text import head
    from armrise.store.rules.folder.versions import chosen
    from armrise.store.rules.rows import rows

    day = _signing_day(on)
    own = chosen(folder)
    rules = own.to_sign()
    for line in head(rules, rows(rules)):
        say(line)
    typed = click.prompt(
        f"{name} signs on {day.isoformat()}. Type the version to sign", default="", show_default=False
    )
    if typed.strip() != rules.version:
        raise click.ClickException(
            f"version {typed.strip()!r} is not the one in force, {rules.version}. Nothing is signed."
        )
    signed = own.sign(rules.version, name, day)
    say(f"Version {signed.version} is {signed.sign_off}.")


def _signing_day(told: str | None) -> date:
    today = machine_today()
    try:
        day = date.fromisoformat(told) if told else today
    except ValueError:
        raise click.UsageError(f"--on is {told!r}, allowed is a day such as 2026-03-02") from None
    if day > today:
        raise click.UsageError(f"--on is {day.isoformat()}, allowed is a day up to today")
    return day
