"""Saying what was written: whole, above the keys, with the way to take it back, until the next key."""

from __future__ import annotations

from typing import Any

from textual.screen import Screen

from armrise.tui.shell.frame import frame_of
from armrise.tui.widgets.confirmation import Confirmation

UNDO = "case.undo"


def confirm(screen: Screen[Any], told: str, code: str = "") -> None:
    """Show on ``screen`` what was written; with the ``code`` of its case also the key that takes it back."""
    frame = frame_of(screen)
    frame.unsay()
    key = next((a.binding for a in screen.active_bindings.values() if a.binding.id == UNDO), None)
    undo = f"{frame.get_key_display(key)} undo" if key and code else ""
    frame.confirmation = Confirmation(told, undo, code)
    screen.mount(frame.confirmation, before="#keys")
