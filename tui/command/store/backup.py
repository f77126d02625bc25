"""``armrise backup`` and ``armrise restore``: a dated copy of the store, and back from one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import complain, note, say
from armrise.tui.command.reading import FILE, STORE, STORE_HELP
from armrise.tui.command.typed.quiet import quiet

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where
    from armrise.store.exchange.backup.contents import Contents
    from armrise.store.exchange.backup.restore import Look, Plan

REFUSED = 1


@click.command(cls=Command)
@click.argument("folder", type=FILE, default=None, required=False, metavar="[FOLDER]")
@click.option("--also", type=FILE, metavar="FOLDER", help="Copy to that folder too, now and from now on.")
@click.option("--not-also", is_flag=True, help="Forget the folder that --also named.")
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
@quiet
def backup(folder: Path | None, also: Path | None, not_also: bool, store: Where | None) -> int:
    """Copy the store into FOLDER, else into the folder "backups" beside it, under the date and time.

    The copy is looked at page by page before it counts. Older copies are thinned: kept are all of today, the
    last of each day for a fortnight, of each week for eight weeks, and of each month.
    """
    from armrise.store.exchange.backup import make
    from armrise.store.record.clock import utc_now
    from armrise.tui.shell.intake import existing

    if also is not None and not_also:
        raise click.UsageError("--also and --not-also exclude each other, give one of them")
    of = existing(store, writing=None)
    if also is not None or not_also:
        make.also_to(of, also)
    made = make.back_up(of, make.folders_for(of, folder), utc_now())
    for line in make.told(made):
        note(line)
    for fault in made.faults:
        complain(f"armrise: {fault}.")
    return REFUSED if made.faults else 0


@click.command(cls=Command)
@click.argument("file", type=FILE)
@click.option("--store", type=FILE, metavar="FILE", help="Into the place of a store other than your own.")
@click.option("--yes", is_flag=True, help="Do it without asking.")
@quiet
def restore(file: Path, store: Path | None, yes: bool) -> None:
    """Put the copy FILE in the place of the store, and keep the store that was there under another name.

    Both are looked at first, and what the copy lacks is told. Close armrise everywhere before.
    """
    from armrise.store.database.place import StoreError, own_store
    from armrise.store.exchange.backup.restore import plan, put_back
    from armrise.store.record.clock import clinic_zone, on_the_clock, utc_now

    target = store or own_store()
    if not isinstance(target, Path):
        raise StoreError(
            f"{target} is on a server: whoever runs it puts a copy back, or use armrise copy-store"
        )
    asked = plan(file, target)
    held = asked.copy.held
    assert held is not None
    for line in _asked(asked, held):
        say(line)
    if not yes:
        click.confirm("Put the copy in that place?", abort=True)
    done = put_back(asked, on_the_clock(utc_now(), clinic_zone(held.zone)))
    note(f"Done: {done.path} holds what the copy holds, looked at page by page once more.")
    for kept in done.kept:
        note(f"What lay there is kept: {kept}")
    if asked.present.there:
        note(f"To go back: {_to_go_back(done.kept[0], store)}")


def _to_go_back(kept: Path, store: Path | None) -> str:
    import shlex

    named = ["--store", str(store)] if store else []
    return shlex.join(["armrise", "restore", str(kept), *named])


def _asked(asked: Plan, held: Contents) -> list[str]:
    """Both of them, and what would be lost, before the question."""
    sound = "" if asked.unsound else "; every page and row is sound"
    lines = [f"The copy:  {asked.copy.path}", f"           {_told(asked.copy)}{sound}"]
    lines += [f"           NOT SOUND: {asked.unsound}.", ANOTHER_COPY] if asked.unsound else []
    lines += [f"The store: {asked.present.path}"]
    if not asked.present.there:
        return [*lines, "           there is none yet"]
    lines += [f"           {_told(asked.present)}"]
    return [*lines, *(f"Lost by it: {line}" for line in _lost(asked, held)), KEPT]


KEPT = "The present store is kept under another name in its folder; nothing is deleted."


ANOTHER_COPY = "           It does not say what was written: look for another copy first."


def _told(look: Look) -> str:
    from armrise.store.exchange.backup.contents import holds

    return holds(look.held) if look.held else look.fault


def _lost(asked: Plan, held: Contents) -> list[str]:
    from armrise.store.exchange.backup.contents import counted, on_its_clock

    later = asked.later
    if asked.present.held is None:
        return ["cannot be told, as the present store cannot be read"]
    if later is None:
        return ["all of the present store: the copy is of another store"]
    if not later.entries:
        return ["nothing, the present store holds no later entry"]
    entries, cases = counted(later.entries, "entry", "entries"), counted(later.cases, "case", "cases")
    first, last = (on_its_clock(at, held.zone) for at in (later.first, later.newest))
    return [f"{entries} of {cases}, recorded from {first} to {last}"]
