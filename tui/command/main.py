"""The door of the command line: thin, and in no hurry to import anything.

The list without an option is opened from here; whatever else is asked for is read by
:mod:`armrise.tui.command.commands`. So the first picture waits neither for what reads a command line nor for
a command that is not run. How it ends: :mod:`armrise.tui.command.ending`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress

from armrise.tui.command.board import open_demo, open_own
from armrise.tui.command.ending import DONE, ended, prepare
from armrise.tui.command.ending import leave as end

WITHOUT_OPTIONS: dict[tuple[str, ...], Callable[[], int]] = {(): open_own, ("demo",): open_demo}
"""What was typed, where it opens the list as it is: nothing of it has to be read."""
PRINTED: dict[tuple[str, ...], bool] = {("list",): False, ("list", "--json"): True}
"""What was typed, where the list is printed as it is, and whether as JSON."""
COMPLETING = "_ARMRISE_COMPLETE"
"""Set by a shell that wants to know what may follow on the line: nothing is run then."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    import gc
    from io import TextIOWrapper

    # Modules and entries come by the ten thousand and stay: looking for garbage among them delays the rows.
    # Where the list is opened it is begun once the rows stand, else with the first half million of objects.
    gc.set_threshold(50_000, 20, 50)
    gc.disable()
    prepare()
    if isinstance(sys.stdout, TextIOWrapper):
        # A terminal that lacks a letter still shows the rest of the line; whatever stream lies beneath it.
        sys.stdout.reconfigure(errors="backslashreplace")  # pyright: ignore[reportUnknownMemberType]
    end(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; every refusal becomes its sentence on the error stream and an exit code."""
    typed = tuple(sys.argv[1:] if arguments is None else arguments)
    opens = None if COMPLETING in os.environ else WITHOUT_OPTIONS.get(typed)
    return ended(opens or (lambda: _read(typed)))


def _read(typed: tuple[str, ...]) -> object:
    if typed in PRINTED and COMPLETING not in os.environ:
        from armrise.tui.command.kept import kept_text, name_here, tell_made

        as_json, text = PRINTED[typed], None
        with suppress(Exception):  # what is amiss is said by the command that is read and run
            text = kept_text(name_here(as_json=as_json))
        if text is not None:
            tell_made(text, as_json=as_json)
            return DONE
    import gc

    gc.set_threshold(500_000, 20, 50)
    gc.enable()
    from armrise.tui.command.commands import cli

    return cli.main(args=typed, prog_name="armrise", standalone_mode=False)
