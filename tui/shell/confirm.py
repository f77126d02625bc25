"""Saying what was written: whole, above the keys, with the way to take it back, until the next key."""

from __future__ import annotations

from typing import Any

from textual.screen import Screen

from armrise.tui.shell.frame import frame_of
from armrise.tui.widgets.confirmation import Confirmation

UNDO, COPY = ("case.undo", "undo"), ("case.copy", "copy for the record")
"""What may be done at once about what was written: the id of its key, and its words."""

FEET = "#keys, #waiting-keys, #closed-keys, #record-keys"
"""The keys at the foot of a screen, above which it is said."""


def confirm(screen: Screen[Any], told: str, code: str = "", *, copied: bool = False) -> None:
    """Show on ``screen`` what was written; with the ``code`` of its case also the key that takes it back.

    ``copied``: and the key that copies the day for the record.
    """
    frame = frame_of(screen)
    frame.unsay()
    keys = {a.binding.id: a.binding for a in screen.active_bindings.values()}
    offered = (UNDO, COPY) if copied else (UNDO,)
    shown = [f"{frame.get_key_display(keys[name])} {words}" for name, words in offered if name in keys]
    frame.confirmation = Confirmation(told, "   ".join(shown) if code else "", code)
    screen.mount(frame.confirmation, before=screen.query(FEET).first())


def kept_unwritten(screen: Screen[Any], told: str) -> None:
    """Show on ``screen``, where it has keys at its foot, that a form left above it is kept."""
    if screen.query(FEET):
        confirm(screen, told)
