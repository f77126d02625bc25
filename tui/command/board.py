"""Opening the list: on one's own store, or on the demonstration. Nothing here waits for anything heavy."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from armrise.store.database.server.address import Where


class NoTerminal(Exception):
    """The list cannot be opened here; one sentence, without the usage of the command."""


def need_a_terminal() -> None:
    """Refuse to open the list where there is no keyboard, or nothing to paint on."""
    if os.environ.get("TEXTUAL_DRIVER"):
        return  # a page of armrise serve paints
    plain = "armrise list prints it as text"
    if not all(stream and stream.isatty() for stream in (sys.stdin, sys.stdout)):  # None where it was closed
        raise NoTerminal(f"the list opens in a terminal, and this is none: {plain}")
    if os.environ.get("TERM") in ("dumb", "unknown"):
        raise NoTerminal(f"this terminal (TERM={os.environ['TERM']}) can place no text: {plain}")


def open_own(store: Where | None = None, author: str = "", rules: Path | None = None) -> int:
    """Open the list on a store, one's own unless named; returns the exit code."""
    need_a_terminal()
    from armrise.tui.app.app import open_board
    from armrise.tui.shell.unlock import named

    return open_board(store_path=named(store), author=author, rules=rules)


def open_demo(as_of: date | None = None, rules: Path | None = None) -> int:
    """Open the list on the demonstration, in a store that is thrown away afterwards; the exit code."""
    need_a_terminal()
    from functools import partial

    from armrise.store.files.throwaway import throwaway
    from armrise.tui.app.app import open_board
    from armrise.tui.shell.opening import demonstration
    from armrise.tui.shell.played import Played

    with throwaway() as folder:  # what is prepared is once the first picture is on the screen
        if rules is not None:
            prepare = partial(demonstration, folder, as_of, rules)
            return open_board(demo=True, as_of=as_of, prepare=prepare, rules=rules)
        one = Played(folder, as_of)
        return open_board(demo=True, as_of=as_of, prepare=one.store, ahead=one.make_ahead)
