"""Writing a store, or some of its cases, as a caseload file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import complain, note, say
from armrise.tui.command.reading import FILE, STANDARD_STREAM, STORE, STORE_HELP, SYSTEM, SYSTEM_HELP
from armrise.tui.command.store.bundle import Wanted, holds, write_bundle
from armrise.tui.command.typed.codes import CODE, each_meant
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.shell.intake import Source, opened

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where
    from armrise.store.entries.filed import CaseloadFile

CSV_HELP = "As tables, a CSV file for each kind of entry, in a folder that is new or empty."


@click.command(cls=Command)
@click.argument("file", default=STANDARD_STREAM, metavar="[FILE]")
@click.argument("codes", nargs=-1, type=CODE, metavar="[CODE]...")
@click.option("--person", metavar="PERSON", help="Every case of one person, by the code the cases carry.")
@click.option("--csv", "folder", type=FILE, metavar="FOLDER", help=CSV_HELP)
@click.option("--fhir", is_flag=True, help="As an HL7 FHIR R4 bundle (JSON): codes and values, no free text.")
@click.option("--snomed", is_flag=True, help="With --fhir: codes of SNOMED CT too, if your licence allows.")
@click.option("--system", type=SYSTEM, metavar="URI", help=SYSTEM_HELP)
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@quiet
def export(
    file: str,
    codes: tuple[str, ...],
    person: str | None,
    folder: Path | None,
    fhir: bool,
    snomed: bool,
    system: str | None,
    store: Where | None,
) -> None:
    """Write the store as a caseload file, or some cases of it: everything recorded, withdrawn entries too.

    Without FILE, or with -, it is printed. armrise load takes the file into a store, where it is the same
    record again. Forms not written, marks and rules are not in it. With --csv it is tables instead, and no
    FILE is named: armrise export --csv FOLDER - CODE for some cases. With --fhir it is what another program
    can read; armrise fields --fhir prints what that cannot carry.
    """
    if person is not None and codes:
        raise click.UsageError("--person and case codes exclude each other, give one of them")
    if folder is not None and file != STANDARD_STREAM:
        raise click.UsageError(f"--csv and the file {file} exclude each other, give one of them")
    bundle = Wanted(fhir=fhir, snomed=snomed, system=system)
    if folder is not None and fhir:
        raise click.UsageError("--csv and --fhir exclude each other, give one of them")
    with opened(Source(demo=False, caseload=None, store=store), None) as source:
        from armrise.store.caseload import read as caseload
        from armrise.store.caseload.whole import whole
        from armrise.store.exchange.out.caseload_json import MARK, as_text
        from armrise.store.exchange.out.private_file import write_private

        heads = caseload.heads(source)
        if file in {code for code, *_ in heads}:
            raise click.UsageError(
                f"{file} is a case, and the first word names the file: armrise export - {file}"
            )
        wanted = each_meant(source, codes) if person is None else of_person(heads, person)
        made = whole(source, source.today(), wanted or None)
        text = bundle.text(source, made, wanted) if fhir else ""
    if folder is not None:
        write_folder(folder, made)
        for told in warnings(made, heads, 0):
            complain(f"armrise: {told}")
        return
    text = text or as_text(made)
    if file == STANDARD_STREAM:
        say(text, nl=False)
    elif fhir:
        write_bundle(Path(file), text, made)
    else:
        write_private(Path(file), text, "caseload", MARK)
        note(said(made, file))
    for told in warnings(made, heads, len(text)):
        complain(f"armrise: {told}")


def write_folder(folder: Path, made: CaseloadFile) -> None:
    """Write a caseload as tables, a file each, and say so."""
    from armrise.store.exchange.out.private_file import write_private_folder
    from armrise.store.exchange.tables.csv_text import BYTE_ORDER_MARK, as_csv
    from armrise.store.exchange.tables.records import record_tables

    files = {
        f"{table.name.replace(' ', '-')}.csv": BYTE_ORDER_MARK + as_csv(table)
        for table in record_tables(made)
    }
    write_private_folder(folder, files, "tables")
    note(said(made, str(folder), f", in {len(files)} tables"))


def of_person(heads: Iterable[tuple[str, str, str]], person: str) -> tuple[str, ...]:
    """The codes of a person's cases. Raises a store error for a person who has none."""
    from difflib import get_close_matches

    from armrise.store.database.place import StoreError

    cases = {(code, whose) for code, whose, _ in heads}
    found = tuple(sorted(code for code, whose in cases if whose == person))
    if not found:
        close = get_close_matches(person, sorted({whose for _, whose in cases}), n=3)
        hint = (
            f"did you mean {' or '.join(close)}?"
            if close
            else "armrise export prints whom each case belongs to"
        )
        raise StoreError(f'there is no person "{person}": {hint}')
    return found


def said(made: CaseloadFile, file: str, how: str = "") -> str:
    """What was written, and what the file is not."""
    from armrise.store.record.visible import visible

    return (
        f"{holds(made)} written to {visible(file)}{how}.\n"
        "Not in it: forms not written, marks, rules. Not encrypted: keep it where the store is kept."
    )


def warnings(made: CaseloadFile, heads: Iterable[tuple[str, str, str]], size: int) -> Iterator[str]:
    """What would keep the file from being taken, or from being the whole of a person."""
    from armrise.store.exchange.into.strict_json import LARGEST

    written = {case.head.code for case in made.cases}
    people = {case.head.person for case in made.cases}
    left = sorted(code for code, person, _ in heads if person in people and code not in written)
    if left:
        say = (
            "is of a person in the file and not in it"
            if len(left) == 1
            else "are of people in the file and not in it"
        )
        yield f"{', '.join(left)} {say}: red flags belong to the person, --person takes all cases."
    if size > LARGEST:
        yield f"the file is larger than the {LARGEST // 2**20} MB that armrise load takes: write fewer cases."
