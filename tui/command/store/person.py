"""Everything kept of one person: JSON, or a page for paper."""

from __future__ import annotations

from pathlib import Path

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import write_json
from armrise.tui.command.reading import FILE, AsOf, seen, sources
from armrise.tui.command.typed.paper import OnPaper, on_paper
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import FORCE_HELP
from armrise.tui.shell.intake import Source


@click.command(cls=Command)
@click.argument("person", metavar="PERSON")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object, as without an option.")
@click.option("--html", type=FILE, metavar="FILE", help="As --paper with a name that ends in .html.")
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def person(
    source: Source,
    person: str,
    as_json: bool,
    html: Path | None,
    paper: OnPaper,
    force: bool,
    as_of: AsOf,
) -> None:
    """Print everything kept of a person over all cases: who recorded what and when, what is worked out.

    PERSON is the code the cases carry. Withdrawn entries are in it, the codes of others are not. It is the
    basis of an answer to whoever asks what is kept about them: read it before it leaves your hands.
    """
    from armrise.tui.command.typed.writing import refuse_several

    refuse_several(json=as_json, html=html, paper=paper.file)
    with seen(source, as_of) as of:
        from armrise.store.caseload import read as caseload
        from armrise.store.exchange.out.formats import stamped
        from armrise.store.exchange.person.gather import gather
        from armrise.tui.command.store.export import of_person

        wanted = _meant(person, [whose for _, whose, _ in caseload.heads(of.store)])
        codes = of_person(caseload.heads(of.store), wanted)
        store = of.store if of.known_at is None else of.store.as_known(of.known_at)
        kept = gather(store, of.rules, of.today, wanted, codes)
    if html is None and paper.file is None:
        write_json(stamped("person", kept.data))
        return
    from armrise.store.exchange.person.page import person_page

    (paper if html is None else OnPaper(html, as_html=True)).put(person_page(kept), force=force)


def _meant(typed: str, people: list[str]) -> str:
    """The person's code, whatever the case of the letters it is typed in."""
    return next((one for one in people if one.casefold() == typed.casefold()), typed)
