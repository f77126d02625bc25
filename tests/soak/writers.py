"""Several writers at one store, each a process of its own: nothing is lost, and each sees the others' work.

``python -m tests.soak.writers [WRITERS] [ACTIONS]`` prints how many actions were told to be written and are
there, and how long it took at most until another process knew of one.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store, StoreError, driver_of
from armrise.store.record.kinds.care import Contact
from armrise.store.rules.read import load
from armrise.store.verify.verify import verify
from armrise.tui.shell.store_door import StoreDoor
from tests.soak.kills import HEAD, NOW, TODAY


class Written(NamedTuple):
    """What became of the writing of several."""

    told: int
    """Actions that a writer was told to have written."""
    there: int
    refused: int
    """Actions refused in a sentence, since another wrote for longer than one waits."""
    sound: bool
    seen_after: float
    """Seconds until an open list that asks every tenth of a second knew of another's change."""


def write(writers: int, actions: int) -> Written:
    """Have so many processes write so many actions each."""
    rules = load()
    with tempfile.TemporaryDirectory() as room:
        path = Path(room) / "caseload.armrise"
        Ledger(Store.create(path, zone="Europe/London"), "TK", lambda: NOW, rules).register(HEAD)
        seen_after = _seen_after(path)
        reading, writing = os.pipe()
        children = [_writer(path, f"W{number}", actions, writing) for number in range(writers)]
        os.close(writing)
        with os.fdopen(reading, encoding="ascii") as pipe:
            outcomes = pipe.read().split()
        for child in children:
            os.waitpid(child, 0)
        with Store.open(path).reading() as connection:
            (there,) = connection.execute("SELECT count(*) FROM contact WHERE author LIKE 'W%'").fetchone()
        sound = verify(driver_of(path)).sound
    return Written(outcomes.count("+"), there, outcomes.count("-"), sound, seen_after)


def _writer(path: Path, author: str, actions: int, writing: int) -> int:
    if child := os.fork():
        return child
    try:
        ledger = Ledger(Store.open(path), author, lambda: NOW, load())
        for _ in range(actions):
            try:
                ledger.append(HEAD.code, [_contact()])
                os.write(writing, b"+ ")
            except StoreError:
                os.write(writing, b"- ")
    finally:
        os._exit(0)


def _contact() -> Contact:
    return Contact(on=TODAY, recorded_at=NOW, recorded_on=TODAY, outcome="spoke")


def _seen_after(path: Path) -> float:
    door = StoreDoor(Store.open(path), load(), "TK", TODAY, lambda: NOW)
    door.changed()
    began = time.monotonic()
    if (child := _writer(path, "W-one", 1, os.open(os.devnull, os.O_WRONLY))) == 0:
        raise AssertionError
    while not door.changed():
        time.sleep(0.1)
        if time.monotonic() - began > 60:
            raise RuntimeError("the other's change was not seen within a minute")
    os.waitpid(child, 0)
    return time.monotonic() - began


def main(writers: int = 4, actions: int = 50) -> int:
    """Print it; 1 when something was lost."""
    found = write(writers, actions)
    print(
        f"{writers} writers: {found.told} actions told, {found.there - 1} there, {found.refused} refused; "
        f"{'sound' if found.sound else 'NOT SOUND'}; another's change seen after {found.seen_after:.1f} s"
    )
    return int(found.told != found.there - 1 or not found.sound)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
