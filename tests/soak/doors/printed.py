"""A store that holds hostile texts, read and printed by every command that prints."""

from __future__ import annotations

import contextlib
import random
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.soak.batches import Result
from tests.soak.doors.command import given, in_words
from tests.soak.hostile import text

TEXTS = {"cases": ("clinician", "referrer"), "session": ("note", "author"), "visit": ("note", "author"),
         "contact": ("note", "author"), "step": ("note", "author"), "screen": ("note", "author")}  # fmt: skip
SLOW = ["audit"]
"""Printed of every fourth store."""
COMMANDS = (
    *(["list"], ["list", "--json"], ["due"], ["minutes"], ["audit"], ["verify"], ["export", "-"]),
    *([word, code] for word in ("case", "why", "handover") for code in ("BY-001", "BY-002", "BY-003")),
    *([word, "BY-003", "--json"] for word in ("case", "why")),
)


def made_hostile(path: Path, seed: int) -> None:
    """Put a hostile text wherever a store of this program keeps free words, as another program might."""
    draw = random.Random(seed)
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            connection.execute(f'DROP TRIGGER "{name}"')
        for table, columns in TEXTS.items():
            has = {row[1] for row in connection.execute(f'PRAGMA table_info("{table}")')}
            for (row,) in connection.execute(f'SELECT rowid FROM "{table}"').fetchall():
                for column in has.intersection(columns):
                    value = text(draw).encode(errors="replace").decode()
                    connection.execute(f'UPDATE "{table}" SET "{column}" = ? WHERE rowid = ?', (value, row))


def trials(draw: random.Random, room: Path, small: Path) -> Iterator[tuple[str, Callable[[], Result]]]:
    """Stores made hostile, each printed by every command."""
    path = room / "hostile.armrise"
    while True:
        seed = draw.randrange(10**9)
        some = [words for words in COMMANDS if words != SLOW or draw.random() < 0.25]
        for number, words in enumerate(some):

            def do(seed: int = seed, number: int = number, words: list[str] = words) -> Result:
                if number == 0 or not path.exists():
                    shutil.copy(small, path)
                    made_hostile(path, seed)
                return given([*words, "--store", str(path)])

            yield f"{in_words(words)} of a store made hostile by {seed}", do
