"""Several writers at one store, each a process of its own: nothing is lost, each sees the others' work."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple

from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store, StoreError, driver_of
from armrise.store.record.kinds.care import Contact
from armrise.store.verify.verify import verify
from armrise.tui.shell.store_door import StoreDoor
from tests.soak.batches import Faults, Part, Result, Trial
from tests.soak.works.kind import HEAD, NOW, TODAY, rules

WRITERS, ACTIONS = 4, 25
LATEST = 3.0
"""Seconds after which another's change is seen too late."""


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
    with tempfile.TemporaryDirectory() as room:
        path = Path(room) / "caseload.armrise"
        Ledger(Store.create(path, zone="Europe/London"), "TK", lambda: NOW, rules()).register(HEAD)
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
        ledger = Ledger(Store.open(path), author, lambda: NOW, rules())
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
    door = StoreDoor(Store.open(path), rules(), "TK", TODAY, lambda: NOW)
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


def prepare(_: Path) -> Callable[[int, Path], Iterator[Trial]]:
    """Write once, so that nothing is imported any more."""
    rules()
    write(1, 1)
    return partial(_trials)


def _trials(_seed: int, _room: Path) -> Iterator[Trial]:
    while True:
        yield Trial(f"actions of {WRITERS} writers at once", f"{ACTIONS} each", _do)


def _do() -> Result:
    found = write(WRITERS, ACTIONS)
    faults: Faults = {}
    if found.told != found.there - 1:
        faults["lost"] = f"{found.told} told, {found.there - 1} there"
    if not found.sound:
        faults["not sound"] = "after the writing"
    if found.seen_after > LATEST:
        faults["seen late"] = f"another's change seen after {found.seen_after:.1f} s"
    return Result(faults, found.told, found.seen_after)


PART = Part(
    "written", f"lost, or another's change seen later than {LATEST:.0f} s", prepare, share=0.05, size=5
)
