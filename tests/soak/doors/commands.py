"""Every command line of every declared command and option, with values hostile, lawful and half lawful.

Commands and options are read from the command line itself: one that is declared later is tried by itself.
Files that are named lie in the folder of the batch, and no word holds a slash: nothing else is written to.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import click

from armrise.tui.command.commands import cli
from armrise.tui.command.reading import CLINIC_DATE, STORE
from tests.soak.batches import Result
from tests.soak.doors.command import given, in_words, named_file
from tests.soak.hostile import text, typed
from tests.test_command_options import LEAVES

OFTEN = 0.35
"""How often an option is given."""
SELDOM = 0.04
"""How often one is given twice, or one that there is not, or a word too many."""
DAYS = ("2026-03-02", "2026-02-01", "9999-12-31", "0001-01-01", "2199-12-31", "1900-01-01", "2026-02-30")
CODES = ("BY-001", "BY-003", "by-3", "BY-999")
LAWFUL = ("TK", "RC", "RC2", "flare", "shipped", "1", "2", "TK ready = tk ready", "-7: 221/231*2; whole")
SLOW = {("rules", "trial")}
"""Goes through the recorded history day by day; given now and then."""
WHOLE = ("--demo",)
"""Asks for the whole demonstration; given now and then."""
NOT_GIVEN = {("serve",), ("demo",)}
"""Would go on until they are stopped. Their options are tried with one that is refused."""


class Values:
    """What words are drawn from: a store of a few cases, files of every sort, texts."""

    def __init__(self, draw: random.Random, room: Path, small: Path) -> None:
        self.draw, self.room, self.small = draw, room, small
        self.store = room / "small.armrise"
        self.begin()

    def begin(self) -> None:
        """Lay the store anew: commands write to it."""
        shutil.copy(self.small, self.store)

    def word(self) -> str:
        """A text without a slash."""
        chance = self.draw.random()
        if chance < 0.3:
            return self.draw.choice((*CODES, *LAWFUL))
        return typed(self.draw).replace("/", "_")

    def file(self) -> str:
        """A file that lies in the folder, or nothing, or the folder itself."""
        draw = self.draw
        match draw.randrange(6):
            case 0 | 1:
                return str(self.store)
            case 2:
                return str(named_file(draw, self.room, text(draw, longest=200).encode(errors="replace")))
            case 3:
                return str(named_file(draw, self.room, self.store.read_bytes()[: draw.randrange(9000)]))
            case 4:
                return str(self.room / "nothing" / "here")
            case _:
                return str(self.room)

    def of(self, param: click.Parameter) -> str:
        """A value for an option or argument."""
        draw = self.draw
        if isinstance(param.type, click.Choice) and draw.random() < 0.7:
            return str(draw.choice(list(param.type.choices)))
        if param.type is CLINIC_DATE and draw.random() < 0.7:
            return draw.choice(DAYS)
        if param.type is STORE and draw.random() < 0.8:
            return str(self.store) if draw.random() < 0.8 else self.file()
        if isinstance(param.type, click.Path) and draw.random() < 0.9:
            return self.file()
        if isinstance(param.type, click.IntRange) and draw.random() < 0.5:
            return str(draw.choice((-1, 0, 1, 8080, 65536, 10**30)))
        return draw.choice(DAYS) if draw.random() < 0.1 else self.word()


def line(values: Values) -> list[str]:
    """One command line."""
    draw = values.draw
    leaf = draw.choice(LEAVES)
    if leaf.words in SLOW and draw.random() < 0.8:
        leaf = draw.choice(LEAVES)
    before = _options(values, cli, SELDOM)
    after = [*_options(values, leaf.command, OFTEN), *_stores(values, leaf.command)]
    for param in leaf.command.params:
        if isinstance(param, click.Argument) and draw.random() > SELDOM:
            after.append(values.of(param))
    if draw.random() < SELDOM:
        after.append(draw.choice((values.word(), f"--{values.word()}", "--help")))
    if leaf.words in NOT_GIVEN:
        after.append("--not-an-option")
    return [*before, *leaf.words, *after]


def _options(values: Values, of: click.Command, often: float) -> list[str]:
    words: list[str] = []
    for param in of.params:
        if not isinstance(param, click.Option):
            continue
        chance = often if param.opts[0] not in WHOLE else SELDOM
        for _ in range((values.draw.random() < chance) + (values.draw.random() < SELDOM * often)):
            words += [param.opts[0]] if param.is_flag else [param.opts[0], values.of(param)]
    return words


def _stores(values: Values, of: click.Command) -> list[str]:
    """Mostly a store to read from: without one most commands end at once."""
    takes = any("--store" in param.opts for param in of.params)
    return ["--store", str(values.store)] if takes and values.draw.random() < 0.5 else []


def trials(draw: random.Random, room: Path, small: Path) -> Iterator[tuple[str, Callable[[], Result]]]:
    """Command lines without end."""
    values = Values(draw, room, small)
    number = 0
    while True:
        if (number := number + 1) % 25 == 0:
            values.begin()
        words = line(values)
        yield in_words(words), lambda words=words: given(words)


def variables(draw: random.Random, room: Path, small: Path) -> Iterator[tuple[str, Callable[[], Result]]]:
    """Hostile variables of the environment, under commands that read them."""
    names = ("AUTHOR", "ZONE", "RULES", "KEYS", "ASCII", "BLANK_AFTER", "LOCK_AFTER", "STORE")
    lines = ("list", "keys", "rules show flare", "case BY-003", "views", "why BY-003")
    while True:
        name = draw.choice(names)
        value = typed(draw).replace("/", "_")
        words = draw.choice(lines).split()
        takes = words[0] in ("list", "case", "why") and name != "STORE"
        given_too = ["--store", str(small)] if takes else []
        about = f"ARMRISE_{name}={value!a} {in_words(words)}"
        yield about, lambda w=[*words, *given_too], e={f"ARMRISE_{name}": value}: given(w, e)
