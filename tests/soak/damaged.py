"""Where damages are done: a small store, the whole demonstration, an encrypted one, a copy given to restore.

One in twenty is done to the whole demonstration, where all cases are judged again; most to its first cases,
which are laid out and judged in a tenth of the time and have every table and every sort of page in them.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from armrise.store.database import sqlite
from armrise.store.database.encrypted import convert
from armrise.store.database.encrypted.file import is_installed
from armrise.store.database.place import Store, StoreError
from armrise.store.exchange.backup.make import back_up, copies_in
from armrise.store.exchange.backup.restore import plan, put_back
from armrise.store.rules.pathway import Rules
from tests.soak.batches import Part, Result, Trial
from tests.soak.damages import (
    Damage,
    Outcome,
    damages,
    in_short,
    judged,
    lasting_demonstration,
    look,
    outcome,
)
from tests.soak.works.kind import KEY, NOW, hold_keys, rules

SMALL = 3
"""So many of the first cases make a small store."""
TURNS = (
    *("small", "encrypted", "small", "restored", "small") * 3,
    "small",
    "encrypted",
    "small",
    "small",
    "whole",
)
NAMES = {
    "small": "a store",
    "whole": "the whole demonstration",
    "encrypted": "an encrypted store",
    "restored": "a copy given to restore",
}


class Place(NamedTuple):
    """A file to be damaged, and what is read of it undamaged."""

    bytes: bytes
    before: dict[str, Any]
    beside: Path
    """The folder of the store that a copy is to be restored over."""
    there: dict[str, Any]
    """What is read of that store."""


def prepare(folder: Path, names: Iterable[str] = NAMES) -> Callable[[int, Path], Iterator[Trial]]:
    """Make the stores, read each once; gives back what draws a batch."""
    places = {name: _made(name, folder) for name in names if name != "encrypted" or is_installed()}
    return partial(trials, places)


def _made(name: str, folder: Path) -> Place:
    (folder / name).mkdir()
    path = lasting_demonstration(folder / name, 1000 if name == "whole" else SMALL)
    if name == "encrypted":
        hold_keys()
        convert.convert(Store.open(path), KEY, NOW, "encryption").aside.unlink()
    beside, store_path = folder / name, path
    if name == "restored":
        store = Store.open(path)
        (beside / "backups").mkdir()
        back_up(store, [beside / "backups"], NOW)
        ((_, path),) = copies_in(beside / "backups", path.stem)
    there = look(store_path, rules()).told
    return Place(path.read_bytes(), look(path, rules()).told, beside, there)


def trials(places: dict[str, Place], seed: int, room: Path) -> Iterator[Trial]:
    """Damages without end, by turns to each of the places."""
    turn = Random(seed).randrange(len(TURNS))
    drawn = {name: damages(place.bytes, 10**9, seed) for name, place in places.items()}
    while True:
        name = TURNS[turn % len(TURNS)]
        turn += 1
        if name not in places:
            continue
        damage = next(drawn[name])
        done = _restored if name == "restored" else _read
        yield Trial(NAMES[name], damage.name, partial(done, places[name], damage, room, rules()))


def _read(place: Place, damage: Damage, room: Path, under: Rules) -> Result:
    return _counted(outcome(damage, room, under, place.before))


def _restored(place: Place, damage: Damage, room: Path, under: Rules) -> Result:
    """The damaged copy is refused and the store is as it was; or it is put in place and looked at there."""
    folder = shutil.copytree(place.beside, room / "restoring")
    store, copy = folder / "whole", folder / "copy.armrise"
    copy.write_bytes(damage.after)
    try:
        try:
            asked = plan(copy, store)
            put_back(asked, NOW)
        except StoreError as refusal:
            if store.read_bytes() == (place.beside / "whole").read_bytes() and not sqlite.logs_of(store):
                return Result({})
            after = judged(damage.name, store, under, place.there)
            if after.differs or after.refused or not after.sound:
                return Result({"spoiled": f"refused, and the store is not as it was: {refusal}"})
            return Result({})
        after = judged(damage.name, store, under, place.before)
        if after.differs and not asked.unsound:
            return Result({"put in place and nothing said": damage.name})
        return _counted(after)
    except Exception as fault:
        return Result({"traceback": in_short(fault)})
    finally:
        shutil.rmtree(folder)


def _counted(found: Outcome) -> Result:
    if found.unforeseen:
        return Result({"traceback": found.unforeseen})
    return Result({"another list and nothing said": found.name} if found.silent else {})


PART = Part("damaged", "traceback, or another list and nothing said", prepare, share=0.2)
