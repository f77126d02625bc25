"""From "which store?" to an open door, in a worker thread, after the first frame is on the screen."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

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
        from store import rulefile
        from store.place import Store, default_path
        from tui.door import Door

        tell("reading the rules")
        rules = rulefile.load()
        tell("opening the store")
        store = found if isinstance(found, Store) else open_or_create(Path(found or default_path()))
        if self.as_of is not None:
            today: date | Callable[[], date] = self.as_of
        else:
            today = store.today
        return Door(store, rules, author(self.demo), today, lambda: datetime.now(UTC))


def open_or_create(path: Path) -> Any:
    """The store at ``path``, made on first use; one that may not be written to is opened for reading."""
    from store.place import Store

    if not path.exists():
        return Store.create(path, zone=local_zone())
    return Store.open(path, read_only=not os.access(path, os.W_OK))


def local_zone() -> str:
    """The zone a new store is given: ARMRISE_ZONE, else this machine's."""
    named = os.environ.get("ARMRISE_ZONE")
    if named:
        return named
    import pendulum

    return str(getattr(pendulum.local_timezone(), "name", "") or "UTC")


def author(demo: bool) -> str:
    """The initials written beside every entry: ARMRISE_AUTHOR, else the account's name."""
    import getpass

    named = os.environ.get("ARMRISE_AUTHOR")
    if named or demo:
        return (named or "demo")[:12]
    try:
        return getpass.getuser()[:12]
    except (KeyError, OSError):
        return "unknown"


def blank_after(door: Any) -> int | None:
    """Idle seconds after which the screen blanks itself, from the rules; None without rules."""
    rules = getattr(door, "rules", None)
    try:
        return int(rules["privacy.blank_after_seconds"]) if rules is not None else None
    except (KeyError, TypeError):
        return None


def read_only(door: Any) -> bool:
    """True when nothing can be written through this door."""
    return bool(
        getattr(getattr(door, "store", None), "read_only", False) or getattr(door, "read_only", False)
    )


def data_until(door: Any, instant: datetime | None) -> datetime | None:
    """The instant on the clinic's clock."""
    local = getattr(getattr(door, "store", None), "local", None)
    return local(instant) if instant is not None and callable(local) else instant
