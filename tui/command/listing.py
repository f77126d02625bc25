"""The commands that print what follows from the record: the list, a case, why it stood there, the sweep."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from armrise.tui.command.kept import keep_made, kept_text, name_here, tell_made
from armrise.tui.command.options import Command
from armrise.tui.command.printing import complain, made_here, tell
from armrise.tui.command.reading import FILE, AsOf, Seen, seen, sources
from armrise.tui.command.typed.codes import CODE, meant
from armrise.tui.command.typed.filters import Wanted, chosen, filters
from armrise.tui.command.typed.paper import OnPaper, on_paper
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import (
    CSV_HELP,
    FORCE_HELP,
    XLSX_HELP,
    refuse_several,
    write_csv,
    write_workbook,
)
from armrise.tui.shell.intake import LOAD_A_FILE, Source

if TYPE_CHECKING:
    from armrise.store.caseload.judged import Judged
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.exchange.out.plain_text import Part


@click.command(name="list", cls=Command)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object, its cases in list order.")
@click.option("--csv", "csv_file", type=FILE, metavar="FILE", help=CSV_HELP)
@click.option("--xlsx", type=FILE, metavar="FILE", help=XLSX_HELP)
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@filters
@sources
def list_(
    source: Source,
    as_json: bool,
    csv_file: Path | None,
    xlsx: Path | None,
    paper: OnPaper,
    force: bool,
    as_of: AsOf,
    wanted: Wanted,
) -> None:
    """Print the list: every case that asks for attention, why, and what follows.

    What is left out by an option is said: how many cases, and how many of today.
    """
    refuse_several(json=as_json, csv=csv_file, xlsx=xlsx, paper=paper.file)
    plain = not any((*wanted, csv_file, xlsx, paper.file))
    now, name = plain and source.is_in_force and as_of == (None, None), name_here(as_json=as_json)
    if now and (kept := kept_text(name, source.store)) is not None:
        tell_made(kept, as_json=as_json)
        return
    from armrise.store.exchange.out.plain_text import Part

    with seen(source, as_of) as of:
        made, standings = listed(of, now=now)
        shown = chosen(of, standings, wanted) if any(wanted) else standings
        said = _left_out(standings, shown, wanted) if any(wanted) else ""
        if csv_file or xlsx:
            _as_table(shown, of.today, csv_file, xlsx, force=force)
        elif paper.file:
            from armrise.store.exchange.paper.listings import list_page

            page = list_page(shown, of.heading(), _empty(of), Part(standings, said))
            paper.put(page, force=force)
        else:
            printed = _print(of, shown, Part(standings, said), as_json=as_json)
            if made and shown:
                keep_made(name, printed, of.store, made, own=source.store is None)
        if said and (as_json or csv_file or xlsx):
            complain(said)


def listed(of: Seen, *, now: bool) -> tuple[Judged | None, list[Standing]]:
    """The list, and as things are ``now`` what may be kept of it."""
    from armrise.store.caseload import read as caseload
    from armrise.store.caseload.judged import judged
    from armrise.store.clinic.standing.triage import on_list

    made = judged(of.store, of.rules, of.today) if now else None
    every = made.standings if made else caseload.standings(of.store, of.rules, of.today, of.known_at)
    return made, on_list(every)


def _left_out(standings: Sequence[Standing], shown: Sequence[Standing], wanted: Wanted) -> str:
    from armrise.tui.widgets.listing import left_out

    return left_out(standings, shown, wanted.said)


def _empty(of: Seen) -> str:
    """What an empty list says, where it is empty for want of cases."""
    from armrise.store.caseload.read import codes

    return "" if codes(of.store) else f"No cases yet. Next: {LOAD_A_FILE}"


def _print(of: Seen, shown: Sequence[Standing], part: Part, *, as_json: bool) -> str:
    """Print cases of the list, and give what was printed."""
    from armrise.store.exchange.out import listing, plain_text

    def text() -> str:
        return plain_text.as_text(shown, of.heading(), _empty(of), part)

    printed = listing.as_json_text(shown) if as_json else made_here(text)
    tell_made(printed, as_json=as_json)
    return printed


def _as_table(
    standings: Sequence[Standing], today: date, csv_file: Path | None, xlsx: Path | None, *, force: bool
) -> None:
    from armrise.store.exchange.tables.listing import list_table

    table = list_table(standings)
    if csv_file:
        write_csv(csv_file, table, "list", force=force)
    elif xlsx:
        write_workbook(xlsx, [table], "list", today, "list", force=force)


@click.command(cls=Command)
@click.argument("code", type=CODE)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@click.option("--xlsx", type=FILE, metavar="FILE", help=XLSX_HELP)
@click.option("--force", is_flag=True, help=FORCE_HELP)
@sources
def case(source: Source, code: str, as_json: bool, xlsx: Path | None, force: bool, as_of: AsOf) -> None:
    """Print everything worked out for the case CODE; as a workbook with everything recorded of it too."""
    from armrise.store.exchange.out import plain_text

    refuse_several(json=as_json, xlsx=xlsx)
    with seen(source, as_of) as of:
        details, standing = worked_out(of, meant(of.store, code))
        if xlsx:
            from armrise.store.caseload.whole import whole
            from armrise.store.exchange.tables.case import case_tables

            made = whole(of.store, of.today, [standing.code], of.known_at)
            tables = case_tables(details, made)
            write_workbook(xlsx, tables, "case", of.today, f"case {standing.code}", force=force)
            return
        tell(
            as_json, "case", lambda: details, lambda: plain_text.as_case_text(details, standing, of.heading())
        )


@click.command(cls=Command)
@click.argument("code", type=CODE)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def why(source: Source, code: str, as_json: bool, as_of: AsOf) -> None:
    """Print why the case CODE stood where it stood then: place, verdict, reasons, and what is known since."""
    from armrise.tui.earlier.instants import Then
    from armrise.tui.earlier.why import as_json as as_data
    from armrise.tui.earlier.why import as_text, look

    with seen(source, as_of) as of:
        found = look(of.store, of.rules, meant(of.store, code), Then(of.today, of.known_at))
        tell(as_json, "why", lambda: as_data(found), lambda: as_text(found))


@click.command(cls=Command)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object, in the order of the queue.")
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def due(source: Source, as_json: bool, paper: OnPaper, force: bool, as_of: AsOf) -> None:
    """Print the queue of the weekly sweep: every overdue, silent or missed case nobody has decided yet."""
    from armrise.store.exchange.out.minutes import due_json, due_text

    refuse_several(json=as_json, paper=paper.file)
    with swept(source, as_of) as (made, of):
        if paper.file:
            from armrise.store.exchange.paper.listings import due_page

            paper.put(due_page(made, of.heading()), force=force)
            return
        tell(as_json, "due", lambda: {"cases": due_json(made)}, lambda: due_text(made, of.heading()))


@click.command(cls=Command)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def minutes(source: Source, as_json: bool, paper: OnPaper, force: bool, as_of: AsOf) -> None:
    """Print the minutes of this week's sweep: how many, what was decided, what remains."""
    from armrise.store.exchange.out.minutes import as_json as as_data
    from armrise.store.exchange.out.minutes import as_text

    refuse_several(json=as_json, paper=paper.file)
    with swept(source, as_of) as (made, of):
        if paper.file:
            from armrise.store.exchange.paper.listings import minutes_page

            paper.put(minutes_page(made, of.heading()), force=force)
            return
        tell(as_json, "minutes", lambda: as_data(made), lambda: as_text(made, of.heading()))


@contextmanager
def swept(source: Source, as_of: AsOf) -> Generator[tuple[Minutes, Seen], None, None]:
    """The sweep of the week, and what it was read from."""
    with seen(source, as_of) as of:
        from armrise.store.caseload.sweep import sweep

        yield sweep(of.store, of.rules, of.today, of.known_at), of


def worked_out(of: Seen, code: str) -> tuple[dict[str, Any], Standing]:
    """Everything worked out for one case of a store as known at an instant, and its standing."""
    from armrise.store.caseload import read as caseload
    from armrise.store.caseload.stays import own_past_cases
    from armrise.store.clinic.standing.explain import explain
    from armrise.store.clinic.standing.stand import stand

    record = caseload.case(of.store, code, known_at=of.known_at)
    others = own_past_cases(of.store, record, of.rules, of.today, of.known_at)
    return explain(record, of.rules, of.today, others), stand(record, of.rules, of.today)
