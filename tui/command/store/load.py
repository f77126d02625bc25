"""Taking a caseload file into a store: what is new in it, what is there already, what is refused."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import note, say
from armrise.tui.command.reading import (
    FILE,
    RULES_HELP,
    STANDARD_STREAM,
    STORE,
    STORE_HELP,
    SYSTEM,
    SYSTEM_HELP,
)
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.shell.intake import load_rules, take
from armrise.tui.shell.unlock import unlocked

if TYPE_CHECKING:
    from armrise.store.caseload.taking.part import Part, Taken
    from armrise.store.database.server.address import Where

REFUSED = 1


@click.command(cls=Command)
@click.argument("file", type=FILE)
@click.option("--dry-run", is_flag=True, help="Say what would be taken of each case, and write nothing.")
@click.option("--store", type=STORE, metavar="STORE", help=f"{STORE_HELP[:-1]}; made if there is none.")
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@click.option("--system", type=SYSTEM, metavar="URI", help=SYSTEM_HELP)
@quiet
def load(file: Path, dry_run: bool, store: Where | None, rules: Path | None, system: str | None) -> int:
    """Take the caseload in FILE, or with - from standard input, into a store: what is new, all or nothing.

    FILE is a caseload file or a FHIR R4 bundle (JSON). Of a bundle known codes are taken, of persons whose
    code it names; the rest is counted.

    A case that the store has is added to: entries it has already are recognised by what they say, and left
    out. Loading a file twice adds nothing. Every entry keeps the instant at which it was recorded.
    """
    from armrise.store.database.place import own_store
    from armrise.store.record.visible import visible

    target = unlocked(store or own_store())
    piped = sys.stdin.buffer.read() if str(file) == STANDARD_STREAM else None
    taken = take(file, target, load_rules(rules), dry_run=dry_run, piped=piped, system=system)
    names = "standard input" if piped is not None else visible(file.name), visible(str(target))
    if dry_run:
        say("\n".join([*would_be(taken, *names), *left_out(taken)]))
    else:
        note("\n".join([was(taken, *names), *left_out(taken)]))
    return REFUSED if taken.faults else 0


def was(taken: Taken, name: str, target: str) -> str:
    """What was taken, on one line."""
    said = _in_all(taken)
    if not said:
        return f"Nothing of {name} is new to {target}: nothing was written. There already: {_known(taken)}."
    if taken.known or len(taken.new_cases) < len(taken.parts):
        return f"{said} of {name} taken into {target}. There already: {_known(taken)}."
    return f"{count(len(taken.new_cases), 'case')} of {name} taken into {target}."


def would_be(taken: Taken, name: str, target: str) -> Iterator[str]:
    """What would be taken of each case and why not, then in all."""
    from armrise.store.record.visible import visible

    yield f"{name} for {target}: a dry run, nothing is written."
    yield ""
    longest = max((len(part.code) for part in taken.parts), default=0)
    for part in taken.parts:
        refused = f", {count(len(part.faults), 'fault')}:" if part.faults else ""
        yield f"{part.code:{longest}}  {_of_case(part)}{refused}"
        yield from (f"  refused: {visible(str(fault))}" for fault in part.faults)
    yield "" if taken.parts else "The file holds no case."
    if taken.faults:
        yield f"Refused, nothing would be taken: {count(len(taken.faults), 'fault')}."
    else:
        yield f"Would be taken: {_in_all(taken) or 'nothing, all of it is there already'}."


def left_out(taken: Taken) -> Iterator[str]:
    """What of a bundle no caseload keeps, by what it is, most of it first."""
    from armrise.store.record.visible import visible

    if taken.left_out:
        yield "Left out:"
    for what, times in sorted(taken.left_out.items(), key=lambda found: (-found[1], found[0])):
        yield f"{times:7,}  {visible(what)}"


def _of_case(part: Part) -> str:
    if part.is_new:
        return f"new case   {count(len(part.entries), 'entry')}"
    return f"known case {len(part.entries)} new, {len(part.known)} there already"


def _in_all(taken: Taken) -> str:
    """How many cases and entries are new, in words; empty for none."""
    cases, entries = len(taken.new_cases), taken.new
    told = [count(cases, "new case")] if cases else []
    return " and ".join([*told, count(entries, "new entry")] if entries else told)


def _known(taken: Taken) -> str:
    cases = count(len(taken.parts) - len(taken.new_cases), "case")
    return f"{cases}, {count(taken.known, 'entry')}"


def count(number: int, what: str) -> str:
    """So many of them, in words: "1 entry", "2 entries"."""
    many = f"{what.removesuffix('y')}ies" if what.endswith("y") else f"{what}s"
    return f"{number:,} {what if number == 1 else many}"
