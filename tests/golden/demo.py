"""The demonstration in one store, its rules and a door onto it, all at the same clinic date."""

from __future__ import annotations

import contextlib
import io
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from unittest.mock import patch

from armrise.store.caseload.read import codes
from armrise.store.caseload.taking.take import take_whole
from armrise.store.clinic.case.standing import Standing
from armrise.store.database.place import Store
from armrise.store.exchange.into.caseload_file import demo_path, read
from armrise.store.rules.pathway import Rules
from armrise.store.rules.read import load
from armrise.tui.command.main import run
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
AUTHOR = "TK"


@dataclass(frozen=True)
class Demo:
    """The demonstration as recorded, opened once for every golden file."""

    folder: Path
    door: Door
    rules: Rules
    codes: tuple[str, ...]
    standings: tuple[Standing, ...]

    @classmethod
    def made(cls, folder: Path) -> Demo:
        """Put the demonstration into a new store in ``folder``."""
        rules = load()
        store = filled(folder / "demonstration.armrise", rules)
        door = StoreDoor(store, rules, AUTHOR, TODAY, lambda: NOW)
        return cls(folder, door, rules, tuple(codes(store)), tuple(door.standings()))

    def said(self, command: str, *more: str, store: Path | None = None) -> str:
        """What a command of the command line prints about the demonstration, or about another store."""
        where = ("--store", str(store or self.door.store.path), "--as-of", TODAY.isoformat())
        return printed([command, *more, *where])


@contextlib.contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Nothing of whoever runs this counts: no rules, no keys, no initials of their own."""
    with patch.dict(os.environ, {"XDG_CONFIG_HOME": str(folder), "ARMRISE_AUTHOR": AUTHOR}):
        os.environ.pop("ARMRISE_RULES", None)
        yield


def filled(path: Path, rules: Rules) -> Store:
    """A new store at ``path`` that holds the demonstration on its own clinic date."""
    file = read(demo_path(), rules)
    store = Store.create(path, zone=file.zone, fictional=True, clinic_date=file.clinic_date, lasting=False)
    take_whole(store, file)
    return store


def printed(arguments: Sequence[str]) -> str:
    """What the command line prints for these arguments; it refuses nothing."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = run(arguments)
    assert code == 0, f"armrise {' '.join(arguments)} ended with {code}"
    return out.getvalue()
