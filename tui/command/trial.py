"""Running changed rules over the recorded history from the command line: a bar, and a stop that keeps."""

from __future__ import annotations

import sys
from collections.abc import Callable, Generator
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from armrise.store.clinic.audit.trial import Trial
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules

Tell = Callable[[int, int], None]
"""Told how many days are read, and of how many."""


def tried(store: Store, old: Rules, new: Rules, since: date | None, until: date) -> Trial:
    """Run the trial to its end, or to Ctrl+C: then what was read so far, said to be partial."""
    from armrise.store.caseload import trial

    made: Trial | None = None
    with progress_bar() as tell:
        try:
            for so_far, read, total in trial.run(store, old, new, since=since, until=until):
                made = so_far
                tell(read, total)
        except KeyboardInterrupt:
            if made is None:
                raise
    assert made is not None, "the first thing a run gives is the trial before its first case"
    return made


@contextmanager
def progress_bar() -> Generator[Tell, None, None]:
    """A bar on the error stream while it is a terminal; elsewhere nothing."""
    if not sys.stderr.isatty():
        yield lambda read, total: None
        return
    with click.progressbar(length=1, label="Case-days read", file=sys.stderr) as bar:

        def tell(read: int, total: int) -> None:
            bar.length = max(1, total)
            bar.update(read - bar.pos)

        yield tell
