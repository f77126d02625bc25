"""``armrise closing-days``: when the clinic is closed, so that no slot is proposed on such a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import say
from armrise.tui.command.reading import STORE, STORE_HELP

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where


@click.command(name="closing-days", cls=Command)
@click.option("--weekdays", metavar="DAYS", help='Closed each week: "Sat Sun", as without it, or "none".')
@click.option("--add", metavar="DAYS", help="Closed on these days: 2026-12-24, or 2026-12-24..2027-01-02.")
@click.option("--drop", metavar="DAYS", help="No longer closed on these, named as they were added.")
@click.option("--holidays", metavar="REGION", help="Closed on the public holidays of GB/ENG, DE/BY, or none.")
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
def closing_days(
    weekdays: str | None, add: str | None, drop: str | None, holidays: str | None, store: Where | None
) -> None:
    """Print when the clinic is closed; with an option, say it.

    A slot is proposed on the next day that is open, and it is said that it was moved. Days are counted as
    they come: no review falls due later, and nothing waits longer, because the clinic is closed.
    """
    from armrise.store.caseload import closing_days as of
    from armrise.tui.shell.intake import Source, load_rules, opened

    asked = [(of.say_weekdays, weekdays), (of.add_days, add), (of.drop_days, drop), (of.say_region, holidays)]
    source = Source(demo=False, caseload=None, store=store)
    writing = any(text is not None for _, text in asked)
    with opened(source, load_rules(), writing=writing) as kept:
        for told, text in asked:
            if text is not None:
                told(kept, text)
        said = of.kept(kept)
        say(f"closed each week: {of.weekday_words(said.weekdays)}")
        say(f"closed besides: {', '.join(map(of.span_words, said.spans)) or of.NONE}")
        say(f"public holidays: {of.not_known(kept) or said.region or of.NONE}")
