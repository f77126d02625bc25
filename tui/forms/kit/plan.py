"""What a form is about to write, and what went wrong, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from textwrap import wrap
from typing import Any

Draft = tuple[str, dict[str, Any]]
"""An entry to be: its kind and the values it states."""


CLOCK = "the clock says"
"""How the store's refusal of a wrong clock begins; it may be confirmed (practice note 4.13, case 43)."""


@dataclass
class Plan:
    """What a form would write, what follows from it in words, and faults by the id of their field.

    The drafts say themselves: what is confirmed is the phrase of each entry that will be written.
    """

    drafts: list[Draft] = field(default_factory=list[Draft])
    then: list[str] = field(default_factory=list[str])
    faults: dict[str, str] = field(default_factory=dict[str, str])
    nothing: str = "Nothing typed yet."
    refused: str = ""


def folded(lines: Iterable[str], width: int, indent: str = "  ") -> list[str]:
    """Lines folded to ``width``, what goes on indented."""
    return [row for line in lines for row in wrap(line, width, subsequent_indent=indent)]


def sentence(error: Exception) -> str:
    """What went wrong in one sentence; anything that is no sentence of the store is said plainly."""
    from armrise.store.database.place import StoreError

    if isinstance(error, StoreError):
        return str(error)
    from armrise.tui.shell.fault import kind_and_place

    return f"This could not be done: a fault nobody foresaw ({kind_and_place(error)}); nothing was written."
