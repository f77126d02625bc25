"""The backup on the way out, once the screen is gone: said at once, and stopped by Ctrl+C."""

from __future__ import annotations

import sys
from contextlib import suppress
from threading import Event, Thread
from typing import TYPE_CHECKING

from armrise.tui.shell.store_door import StoreDoor

if TYPE_CHECKING:
    from armrise.tui.shell.door import Door

BACKING_UP = "armrise: backing up ... (Ctrl+C leaves without)"
STOPPED = "armrise: no backup was made."
LOOK_SECONDS = 0.1
SOON_MADE = 60
"""So many cases are judged in a moment."""


def back_up(door: Door, *, asked: bool) -> None:
    """Make a backup if one is due or was ``asked`` for; a store that is thrown away has none."""
    from armrise.store.database.place import StoreError

    try:
        wanted = isinstance(door, StoreDoor) and (asked or door.backup_due())
    except StoreError:
        return  # what the store says for itself was said on the screen
    if wanted and isinstance(door, StoreDoor):
        _tell(BACKING_UP)
        _tell(*_made(door))


def keep(door: Door) -> None:
    """Keep the list for the next start; as it is printed, and that of the next day, where that takes no time
    worth a word.

    What is disposable fails without a word.
    """
    if not isinstance(door, StoreDoor) or door.keeping is None or door.held is None:
        return
    with suppress(Exception):
        kept = door.keeping.keep()
        if kept and len(door.held.standings) <= SOON_MADE:
            door.keeping.keep_printed()
            door.keeping.make_ahead(lambda: None)


def _made(door: StoreDoor) -> list[str]:
    """Make it beside this thread, which hears Ctrl+C; what became of it, in lines."""
    stop, said = Event(), list[str]()
    copying = Thread(target=_copy, args=(door, stop, said))
    copying.start()
    try:
        while copying.is_alive():
            copying.join(LOOK_SECONDS)
    except KeyboardInterrupt:
        stop.set()
        copying.join()
        return said or [STOPPED]
    return said


def _copy(door: StoreDoor, stop: Event, said: list[str]) -> None:
    from armrise.store.database.place import StoreError
    from armrise.store.database.sqlite_copy import Stopped
    from armrise.store.exchange.backup.make import in_one_line

    try:
        made = door.back_up(stop.is_set)
    except Stopped:
        return
    except StoreError as error:
        said.append(f"armrise: no backup was made: {error}.")
        return
    said.append(f"armrise: {in_one_line(made)}.")
    said.extend(f"armrise: {fault}." for fault in made.faults)


def _tell(*lines: str) -> None:
    """Say it on the error stream; a terminal that was closed hears nothing."""
    with suppress(OSError, ValueError):
        for line in lines:
            print(line, file=sys.stderr, flush=True)
