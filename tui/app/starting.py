"""What a start puts off until the list stands: looking for garbage, and the look of the screens over it."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.css.stylesheet import Stylesheet

LONGEST = 10.0
"""Seconds after which a start that ended in a question, and in no list, is over too."""
_REST = (str(Path(__file__).with_name("screens.tcss")), "")


def read_rest(look: Stylesheet) -> None:
    """Have the look of every screen but the list read, once; the list is painted without waiting for it."""
    if not look.has_source(*_REST):
        look.add_source(Path(_REST[0]).read_text(encoding="utf-8"), read_from=_REST)


def collect_garbage_again() -> None:
    """Look for garbage from now on, but not among what the start has made: that stays.

    The command line put it off, since looking through tens of thousands of modules, functions and styles for
    what nobody needs would take longer than painting the first frame does.
    """
    if not gc.isenabled():
        gc.freeze()
        gc.enable()
