"""``armrise copy-store`` and ``armrise server-sql``: a store on a server, and the way there and back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import note, say
from armrise.tui.command.reading import STORE
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.shell.unlock import unlocked

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where

DONE = """{cases} cases and {entries} entries copied, {rows} rows of {tables} tables read back alike.
{origin} stays as it is: keep it as a copy and record nothing more in it.
Next: name {target} by --store or ARMRISE_STORE."""


@click.command(name="copy-store", cls=Command)
@click.argument("origin", type=STORE, metavar="FROM")
@click.argument("target", type=STORE, metavar="TO")
@quiet
def copy_store(origin: Where, target: Where) -> None:
    """Copy the store FROM into a new one at TO, whole or not at all: a file to a server, or back.

    Each is a file or an address such as postgresql://account@machine/clinic. Every row is read back and
    compared. Nobody can record anything in FROM meanwhile.
    """
    from armrise.store.caseload.copying import copy_store as copied
    from armrise.tui.shell.opening import NoStoreYet, open_store

    try:
        store = open_store(unlocked(origin))
    except NoStoreYet as none:
        raise click.ClickException(
            f"there is no store at {none.path}: give the name of the one to copy"
        ) from None
    made = copied(store, unlocked(target))
    numbers = {"cases": made["cases"], "entries": made["entry"], "rows": sum(made.values())}
    named = target if isinstance(target, Path) else target.text
    note(DONE.format(origin=store.name, target=named, tables=len(made), **numbers))


@click.command(name="server-sql", cls=Command)
@click.option("--role", metavar="ROLE", help="What a role of the server may do, instead of the tables.")
def server_sql(role: str | None) -> None:
    """Print the statements for whoever runs a PostgreSQL server: the tables, or the rights of a ROLE."""
    from armrise.store.database.server.statements import role_sql, tables_sql

    say(tables_sql() if role is None else role_sql(role), nl=False)
