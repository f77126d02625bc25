"""The handover sheet printed: of the cases named, or of those marked on the list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from armrise.tui.command.listing import listed
from armrise.tui.command.options import Command
from armrise.tui.command.printing import say, tell
from armrise.tui.command.reading import AsOf, Seen, seen, sources
from armrise.tui.command.typed import filters
from armrise.tui.command.typed.codes import CODE, each_meant
from armrise.tui.command.typed.paper import OnPaper, on_paper
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import FORCE_HELP, refuse_several
from armrise.tui.shell.intake import Source

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

NONE_MARKED = (
    "No case is marked: Space on the list marks one, or name cases here, such as armrise handover BY-018."
)


@click.command(cls=Command)
@click.argument("codes", nargs=-1, type=CODE, metavar="[CODE]...")
@click.option(
    "--clinician", metavar="INITIALS", help="Every case on the list of this clinician, instead of codes."
)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object, its cases in list order.")
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def handover(
    source: Source,
    codes: tuple[str, ...],
    clinician: str | None,
    as_json: bool,
    paper: OnPaper,
    force: bool,
    as_of: AsOf,
) -> None:
    """Print what a colleague who covers needs of the cases CODE; without codes, of those you have marked."""
    from armrise.store.exchange.out import handover, listing

    refuse_several(json=as_json, paper=paper.file)
    if codes and clinician is not None:
        raise click.UsageError("case codes and --clinician exclude each other, give one of them")
    with seen(source, as_of) as of:
        found = (
            chosen(of, each_meant(of.store, codes) or marked(of, source))
            if clinician is None
            else whole(of, clinician)
        )
        if found and paper.file:
            from armrise.store.exchange.paper.listings import handover_page

            paper.put(handover_page(found, of.heading()), force=force)
        elif found or as_json:
            tell(
                as_json,
                "handover",
                lambda: {"cases": listing.as_json(found)},
                lambda: handover.as_text(found, of.heading()),
            )
        else:
            say(NONE_MARKED)


def whole(of: Seen, clinician: str) -> list[Standing]:
    """Every case on the list of one clinician. Raises a usage fault for initials that no case carries."""
    _, every = listed(of, now=False)
    return filters.chosen(of, every, filters.Wanted(clinicians=(clinician,)))


def marked(of: Seen, source: Source) -> tuple[str, ...]:
    """The codes of the cases marked by whoever asks."""
    from armrise.store.database.desk import marks
    from armrise.tui.shell.opening import author

    return tuple(sorted(marks(of.store, author(source.demo, "", of.store.author))))


def chosen(of: Seen, codes: Sequence[str]) -> list[Standing]:
    """Their standings, each once, in the order of the list. Raises a store error for a code no case has."""
    from armrise.store.caseload import read as caseload
    from armrise.store.clinic.standing.stand import stand

    listed = caseload.standings(of.store, of.rules, of.today, of.known_at)
    found = [standing for standing in listed if standing.code in codes]
    rest = [code for code in dict.fromkeys(codes) if code not in {s.code for s in found}]
    records = [caseload.case(of.store, code, known_at=of.known_at) for code in rest]
    return [*found, *(stand(record, of.rules, of.today) for record in records)]
