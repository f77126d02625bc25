"""Text for the clipboard, through the terminal. Whoever copies shows it: not every terminal takes it."""

from __future__ import annotations

from typing import Any

from textual.screen import Screen

from armrise.store.record.visible import visible_lines
from armrise.tui.shell.frame import frame_of


def put(screen: Screen[Any], text: str) -> None:
    """Put ``text`` into the clipboard by the terminal's own sequence (OSC 52)."""
    frame_of(screen).copy_to_clipboard(visible_lines(text))
