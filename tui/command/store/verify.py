"""``armrise verify``: whether a store is as it was written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import tell
from armrise.tui.command.reading import STORE
from armrise.tui.command.typed.progress import progress_bar
from armrise.tui.shell.unlock import unlocked

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where

EXPECT_HELP = "A head as it stands on paper: does it occur in the chain, and when was it?"


@click.command(cls=Command)
@click.option("--store", type=STORE, metavar="STORE", help="A store or a backup other than your own store.")
@click.option("--expect", default="", metavar="HEAD", help=EXPECT_HELP)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
def verify(store: Where | None, expect: str, as_json: bool) -> int:
    """Look at every page, row and link of a store: is it as it was written? Exit code 0 right, 1 not.

    Nothing in it is changed. A chain cannot prove that nobody made it anew: --expect compares it with paper.
    """
    from armrise.store.database.place import driver_of, own_store
    from armrise.store.verify import words
    from armrise.store.verify.verify import verify as look

    driver = driver_of(unlocked(store or own_store()))
    with progress_bar("Entries looked at") as bar:
        found = look(driver, expect=expect, tell=bar)
    tell(as_json, "verify", lambda: words.as_json(found), lambda: words.as_text(found))
    return 0 if found.sound else 1
