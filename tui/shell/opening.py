"""From "which store?" to an open door, in a worker thread, after the first frame is on the screen."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

Tell = Callable[[str], None]
"""Told what is being done, for the screen."""


@dataclass(frozen=True)
class Opening:
    """What was asked for on the command line.

    ``prepare`` is called first, in the worker: it may give a path (the store to open), an open store, or
    something with ``standings`` and ``header``, which is then read as it is.
    """

    store_path: Path | None = None
    demo: bool = False
    as_of: date | None = None
    prepare: Callable[[], Any] | None = None
    rules: Path | None = None
    """The folder of rules asked for; None for those in force."""
    author: str = ""
    """Initials given on the command line; empty for those of the environment or of the store."""

    def door(self, tell: Tell) -> Any:
        """Open what was asked for. Raises a store or rule error of one sentence."""
        found: Any = self.store_path
        if self.prepare is not None:
            tell("preparing the caseload")
            found = self.prepare() or found
        if hasattr(found, "standings"):
            return found
        return self._open(found, tell)

    def _open(self, found: Any, tell: Tell) -> Any:
        from armrise.store.database.place import Store, default_path
        from armrise.store.record.clock import utc_now
        from armrise.tui.shell.door import Door
        from armrise.tui.shell.intake import load_rules

        tell("reading the rules")
        rules = load_rules(self.rules)
        tell("opening the store")
        store = found if isinstance(found, Store) else open_store(Path(found or default_path()))
        if self.as_of is not None:
            today: date | Callable[[], date] = self.as_of
        else:
            today = store.today
        named = author(self.demo, self.author, store.author)
        return Door(store, rules, named, today, utc_now)


class NoStoreYet(Exception):
    """There is no store at ``path``: the first run asks what to make."""

    def __init__(self, path: Path) -> None:
        super().__init__(str(path))
        self.path = path


def open_store(path: Path) -> Any:
    """The store at ``path``; one that may not be written to is opened for reading.

    Raises :class:`NoStoreYet`.
    """
    from armrise.store.database.place import Store

    if not path.exists():
        raise NoStoreYet(path)
    return Store.open(path, read_only=not os.access(path, os.W_OK))


def local_zone() -> str:
    """The zone a new store is given: ARMRISE_ZONE, else this machine's."""
    named = os.environ.get("ARMRISE_ZONE")
    if named:
        return named
    from armrise.store.record.clock import machine_zone

    return machine_zone()


LONGEST_AUTHOR = 12


def author(demo: bool, given: str = "", remembered: str = "") -> str:
    """The initials written beside every entry.

    Those ``given`` on the command line, else ARMRISE_AUTHOR, else those ``remembered`` in the store, else the
    account's name.
    """
    import getpass

    named = given or os.environ.get("ARMRISE_AUTHOR") or ("demo" if demo else remembered)
    if named:
        return named[:LONGEST_AUTHOR]
    try:
        return getpass.getuser()[:LONGEST_AUTHOR]
    except (KeyError, OSError):
        return "unknown"


@dataclass(frozen=True)
class Reading:
    """One reading: the cases of the list in order, how many wait for a first visit, what the head says."""

    standings: tuple[Standing, ...]
    waiting: int
    head: dict[str, Any]
    unwritten: int = 0
    """Forms this author left unwritten."""


def read(door: Any) -> Reading:
    """Read through ``door``. Closed cases that owe nothing, and referrals still waiting, are off the list."""
    from armrise.store.exchange.out.listing import on_list

    door.changed()
    every = door.standings()
    listed = on_list(every)
    kept = {standing.code for standing in listed}
    waiting = sum(s.status == "waiting" and s.code not in kept for s in every)
    return Reading(tuple(listed), waiting, door.header(), unwritten(door))


def unwritten(door: Any) -> int:
    """How many forms the author left unwritten."""
    found: Callable[[], list[Any]] = getattr(door, "unwritten", list)
    return len(found())


def blank_after(door: Any) -> int | None:
    """Idle seconds after which the screen blanks itself, from the rules; None without rules."""
    rules = getattr(door, "rules", None)
    try:
        return int(rules["privacy.blank_after_seconds"]) if rules is not None else None
    except (KeyError, TypeError):
        return None


READ_ONLY = "This store is open for reading only, nothing can be written: close it and open it as its owner."


def cannot_write(door: Any) -> str:
    """Why nothing can be written through this door; empty when it can."""
    return getattr(door, "cannot_write", READ_ONLY) if read_only(door) else ""


def read_only(door: Any) -> bool:
    """True when nothing can be written through this door."""
    return bool(
        getattr(getattr(door, "store", None), "read_only", False) or getattr(door, "read_only", False)
    )


def data_until(door: Any, instant: datetime | None) -> datetime | None:
    """The instant on the clinic's clock."""
    local: Callable[[datetime], datetime] | None = getattr(getattr(door, "store", None), "local", None)
    return local(instant) if instant is not None and local is not None else instant
