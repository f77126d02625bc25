"""Hostile texts put to every door, in shares that are said in the table; each batch to one of them.

A command, a file, a field, a line, a form, a store that is printed: each counts once for every text, file or
command line. What counts as a fault is a traceback or a fault nobody foresaw, a raw sign that comes out or is
taken in, and anything that takes more than ten seconds.
"""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from armrise.store.database.encrypted import keys
from armrise.tui.shell.intake import _load_rules
from tests.read_once import read_toml_once
from tests.soak.batches import Part, Result, Trial
from tests.soak.damaged import SMALL
from tests.soak.damages import in_short, lasting_demonstration
from tests.soak.doors import commands, fields, files, printed, screens
from tests.soak.doors.command import given, own_folders
from tests.soak.works.kind import hold_keys, rules

Draw = Callable[[random.Random, Path, Path], Iterator[tuple[str, Callable[[], Result]]]]


class Door(NamedTuple):
    """A door, and how many of a hundred batches are put to it."""

    kind: str
    draw: Draw
    batches: int


DOORS = (
    Door("command lines", commands.trials, 15),
    Door("variables", commands.variables, 2),
    Door("caseload files", files.caseloads, 14),
    Door("keys.toml", files.keyfiles, 5),
    Door("folders of rules", files.rulefolders, 4),
    Door("entries of every kind", fields.entries, 28),
    Door("forms of every kind, as texts", fields.forms, 10),
    Door("typed lines", fields.lines, 18),
    Door("hostile stores printed", printed.trials, 2),
    Door(screens.KIND, screens.trials, 2),
)
OTHERS = (["keys"], ["fields"], ["schema"], ["server-sql"], ["rules", "show", "flare"], ["rules", "check"])
HUNDRED = sum(door.batches for door in DOORS)


def turns() -> list[Door]:
    """A hundred batches, those of one door spread over all of them."""
    places = [((number + 0.5) / door.batches, door) for door in DOORS for number in range(door.batches)]
    return [door for _, door in sorted(places, key=lambda place: place[0])]


def prepare(folder: Path) -> Callable[[int, Path], Iterator[Trial]]:
    """Make the store that is read; gives back what draws a batch."""
    read_toml_once()
    rules()
    hold_keys()
    small = lasting_demonstration(folder, SMALL)
    _warm(small, folder)
    return partial(trials, turns(), small)


def _warm(small: Path, folder: Path) -> None:
    """Have everything imported that any door imports: done in each batch it would take most of the time."""
    screens.opened_by_a_case()
    of_the_store = [[*words, "--store", str(small)] for words in (*printed.COMMANDS, ["views"])]
    with patch.dict(os.environ, own_folders(folder)):
        for words in (*of_the_store, *OTHERS):
            given(words)
    _load_rules.cache_clear()  # those in force are another batch's own


def trials(order: list[Door], small: Path, seed: int, room: Path) -> Iterator[Trial]:
    """One batch: hostile texts to one door. Its process keeps nothing of it."""
    os.environ.update(own_folders(room))
    sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115  # for as long as this process lives
    keys.COST = 2  # a passphrase is asked for at no terminal here; what it costs is not tried
    door = order[seed % 1_000_003 % len(order)]
    for about, do in door.draw(random.Random(seed), room, small):
        yield Trial(door.kind, about, partial(_foreseen, do))


def _foreseen(do: Callable[[], Result]) -> Result:
    try:
        return do()
    except Exception as fault:
        return Result({"traceback": in_short(fault)})


PART = Part("hostile", "traceback, raw sign, or longer than 10 s", prepare, share=0.2, size=100)
