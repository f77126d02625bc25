"""A store into which another program has put hostile texts, past every check of this one."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from pathlib import Path

from tests.soak.hostile import text

TEXTS = {"cases": ("clinician", "referrer"), "session": ("note", "author"), "visit": ("note", "author"),
         "contact": ("note", "author"), "step": ("note", "author"), "screen": ("note", "author")}  # fmt: skip


def made_hostile(path: Path, seed: int) -> None:
    """Put a hostile text wherever a store of this program keeps free words."""
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
