"""``armrise serve``: the same screens in a browser of this machine."""

from __future__ import annotations

import shlex
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.reading import FILE, RULES_HELP, STORE, STORE_HELP

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where

PORT = click.IntRange(1, 65535)
MISSING = "the page needs a library that comes as an extra: pip install 'armrise[browser]'"
REFUSED = (
    "--address: {} can be reached by other machines, the line is not encrypted, and whoever holds the key "
    "reads and writes the caseload: leave it out for this machine alone, or add --beyond-this-machine"
)


@click.command(cls=Command)
@click.option("--demo", is_flag=True, help="The fictional caseload, a new one for each page opened.")
@click.option("--port", type=PORT, default=8080, show_default=True, help="Where it listens at that address.")
@click.option("--address", default="127.0.0.1", show_default=True, help="The address it listens at.")
@click.option("--beyond-this-machine", "beyond", is_flag=True, help="Let other machines reach the page.")
@click.option("--author", metavar="INITIALS", help="Whose entries these are, instead of those remembered.")
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
def serve(
    demo: bool,
    port: int,
    address: str,
    beyond: bool,
    author: str | None,
    rules: Path | None,
    store: Where | None,
) -> None:
    """Open the morning list in a browser, by a page that listens on this machine alone."""
    if find_spec("textual_serve") is None:
        raise click.ClickException(MISSING)
    from armrise.tui.command.web import Page, loopback

    try:
        beyond = beyond or loopback(address)
    except ValueError:
        raise click.UsageError(f"--address: {address!r} is no address, such as 127.0.0.1 or ::1") from None
    if not beyond:
        raise click.UsageError(REFUSED.format(address))
    page = Page(program(demo, author, rules, store), address, port)
    try:
        page.run()
    except OSError as fault:
        raise click.ClickException(f"--port: {port} of {address} cannot be had ({fault.strerror})") from None


def program(demo: bool, author: str | None, rules: Path | None, store: Where | None = None) -> str:
    """The command line that each page runs, quoted for the shell of this system."""
    run = [sys.executable, "-c", "from armrise.tui.command.main import main; main()"]
    run += ["--author", author] if author else []
    run += ["--rules", str(rules.resolve())] if rules else []
    if store:
        run += ["--store", str(store.resolve()) if isinstance(store, Path) else store.text]
    run += ["demo"] if demo else []
    return subprocess.list2cmdline(run) if sys.platform == "win32" else shlex.join(run)
