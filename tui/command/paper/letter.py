"""``armrise letter``: the letter to a referrer or surgeon, printed or as a page for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import say
from armrise.tui.command.reading import AsOf, Seen, seen, sources
from armrise.tui.command.typed.codes import CODE, meant
from armrise.tui.command.typed.paper import OnPaper, on_paper
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import FORCE_HELP
from armrise.tui.shell.intake import Source

if TYPE_CHECKING:
    from armrise.store.clinic.case.view import View
    from armrise.store.exchange.paper.letter import PrintedLetter

ABOUT = ("discharge", "referral", "progress", "missed visits")
"""What a letter may be about; a test holds it to the record."""
ABOUT_HELP = "Which letter: without it the one that is owed, else that of the newest letter, else progress."


@click.command(cls=Command)
@click.argument("code", type=CODE)
@click.option("--about", type=click.Choice(ABOUT), help=ABOUT_HELP)
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def letter(source: Source, code: str, about: str | None, paper: OnPaper, force: bool, as_of: AsOf) -> None:
    """Print the newest letter about the case CODE, or a draft made now.

    DRAFT stands above it until the letter is recorded as sent. Names are added by hand.
    """
    from armrise.store.exchange.paper.letter import as_text, letter_page

    with seen(source, as_of) as of:
        found = _found(of, meant(of.store, code), about)
        if isinstance(found, str):
            say(found)
        elif paper.file is None:
            say(as_text(found), nl=False)
        else:
            paper.put(letter_page(found), force=force)


def _found(of: Seen, code: str, about: str | None) -> PrintedLetter | str:
    from armrise.store.caseload import read as caseload
    from armrise.store.clinic.case.view import View
    from armrise.store.exchange.paper.letter import newest

    record = caseload.case(of.store, code, known_at=of.known_at)
    view = View.of(record, of.rules, of.today)
    return newest(view, about or _meant(view), fictional=of.store.fictional)


def _meant(view: View) -> str:
    """The letter that is owed, else the one written last, else one about progress."""
    from armrise.store.clinic.standing.care import letters_owed

    owed, written = sorted(letters_owed(view)), view.since("letters", view.episode_start)
    return owed[0].what if owed else written[-1].about if written else "progress"
