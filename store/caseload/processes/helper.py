"""A helping process: opens the store, and works out one handful of cases after another until nobody asks."""

from __future__ import annotations

import contextlib
import gc
import os
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from armrise.store.caseload.mark import program
from armrise.store.caseload.processes.pipe import receive, send
from armrise.store.database.place import Store
from armrise.store.record.light import NamedTuple

PATIENCE = 5
"""How much a helper stands back behind whoever types meanwhile."""


class Work(Protocol):
    """What is worked out of some cases: something that can be sent to another process."""

    def __call__(self, store: Store, codes: Sequence[str], /) -> Any:
        """What these cases come to; it can be sent too."""
        ...


class Task(NamedTuple):
    """A work, and the store it is about as it is known at an instant."""

    work: Work
    path: Path
    read_only: bool
    known_at: datetime | None
    program: str
    """The program that asks: one that was replaced meanwhile helps nobody."""


class Answer(NamedTuple):
    """What came of one handful, by its number; ``done`` False where it has to be worked out by who asked."""

    number: int
    done: bool
    found: Any


def serve() -> None:
    """Answer on the standard output what is asked on the standard input, until that is closed.

    Nothing else may come out there. Whatever goes wrong with some cases goes wrong again where they were
    asked for, and is said there.
    """
    asked, told = os.dup(0), os.dup(1)
    with open(os.devnull, "w", encoding="utf-8") as nowhere:
        os.dup2(nowhere.fileno(), 1)
    os.nice(PATIENCE)
    gc.disable()
    with contextlib.suppress(EOFError, OSError):
        task: Task = receive(asked)
        if task.program != program():
            return
        store = Store.open(task.path, read_only=task.read_only).as_known(task.known_at)
        while True:
            number, codes = receive(asked)
            send(told, _answer(task.work, store, number, codes))
            gc.collect(0)


def _answer(work: Work, store: Store, number: int, codes: Sequence[str]) -> Answer:
    try:
        return Answer(number, True, work(store, codes))
    except Exception:
        return Answer(number, False, None)
