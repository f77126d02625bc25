"""The command line as it is read: the options before a command, and where each command lies.

A command is imported when it is asked for, and itself imports what it needs when it runs, so that each
answers as soon as it can.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command import board
from armrise.tui.command.options import Command, Commands, Group
from armrise.tui.command.printing import say
from armrise.tui.command.reading import (
    AUTHOR_HELP,
    CLINIC_DATE,
    FILE,
    RULES_HELP,
    STORE,
    STORE_HELP,
    checked,
)
from armrise.tui.command.typed.quiet import quiet

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where

SCREENS = (None, "demo", "serve")
"""What asks for a passphrase on a screen, or opens no encrypted store."""
PLACES = {
    "audit": "audit:audit",
    "backup": "store.backup:backup",
    "calendar": "store.calendar:calendar",
    "case": "listing:case",
    "completion": "typed.completion:completion",
    "closing-days": "store.closing:closing_days",
    "copy-store": "store.server:copy_store",
    "decrypt": "store.encryption:decrypt",
    "demo": "commands:demo",
    "due": "listing:due",
    "encrypt": "store.encryption:encrypt",
    "export": "store.export:export",
    "fields": "describing:fields",
    "handover": "paper.handover:handover",
    "import": "store.sheet:import_",
    "keys": "keys:keys",
    "letter": "paper.letter:letter",
    "list": "listing:list_",
    "load": "store.load:load",
    "minutes": "listing:minutes",
    "passphrase": "store.encryption:passphrase",
    "person": "store.person:person",
    "restore": "store.backup:restore",
    "rules": "rules:rules_group",
    "schema": "describing:schema",
    "serve": "serve:serve",
    "server-sql": "store.server:server_sql",
    "sheet": "paper.patient:sheet",
    "strip": "strip:strip",
    "verify": "store.verify:verify",
    "views": "views:views",
    "why": "listing:why",
    "words": "paper.patient:words",
}
"""Where each command lies in this room: its module and its name there."""


def _version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import version

        say(f"armrise {version('armrise')}")
        ctx.exit()


@click.group(cls=Group, commands=Commands(PLACES), invoke_without_command=True)
@quiet
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_version)
@click.option("--author", metavar="INITIALS", help=AUTHOR_HELP)
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@click.pass_context
def cli(ctx: click.Context, author: str | None, rules: Path | None, store: Where | None) -> int:
    """The shoulder caseload, in the order in which it asks for attention.

    Without a command: open the morning list on your own store. Supports clinical judgement and never
    replaces it.
    """
    if ctx.invoked_subcommand not in SCREENS:
        ask_at_the_terminal()
    if ctx.invoked_subcommand is not None:
        return 0
    return board.open_own(store, checked(author), rules)


def ask_at_the_terminal() -> None:
    """Have the passphrase of an encrypted store asked for at the terminal."""
    from armrise.store.database.encrypted.asker import ask_by
    from armrise.tui.command.store.asking import ask

    ask_by(ask)


@click.command(cls=Command)
@click.option("--as-of", type=CLINIC_DATE, metavar="DATE", help="The clinic date the demo is moved to.")
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
def demo(as_of: date | None, rules: Path | None) -> int:
    """Open the list on a fictional caseload, in a store that is thrown away afterwards.

    It plays one clinic day: without --as-of the latest date that is whole weeks from its own, a Monday.
    """
    return board.open_demo(as_of, rules)
