"""A bar on the error stream while something takes long: on a terminal alone, and not at once."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Generator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Any

from armrise.tui.command.printing import quiet

if TYPE_CHECKING:
    from click._termui_impl import ProgressBar

Tell = Callable[[int, int], None]
"""Told how much is done, and of how much."""
PATIENCE = 0.7
"""Seconds that nobody is told of: a bar that is gone at once only startles."""


@contextmanager
def progress_bar(label: str) -> Generator[Tell, None, None]:
    """A bar that is told what is done; nothing where nobody sees one or wants one."""
    if quiet() or not (sys.stderr and sys.stderr.isatty()):
        yield lambda done, total: None
        return
    import click

    begun = time.monotonic()
    bars: list[ProgressBar[Any]] = []
    with ExitStack() as ending:

        def tell(done: int, total: int) -> None:
            if not bars and time.monotonic() - begun > PATIENCE:
                made = click.progressbar(length=max(1, total), label=label, file=sys.stderr)
                bars.append(ending.enter_context(made))
            for bar in bars:
                bar.length = max(1, total)
                bar.update(done - bar.pos)

        yield tell
