"""Text for the clipboard, through the terminal, and shown, since not every terminal takes it."""

from __future__ import annotations

from typing import Any

from textual.screen import Screen

from armrise.tui.shell.frame import frame_of
from armrise.tui.shell.say import say

COPIED = "Copied, where this terminal allows it:"


def copy(screen: Screen[Any], text: str) -> None:
    """Put ``text`` into the clipboard by the terminal's own sequence (OSC 52), and show it."""
    put(screen, text)
    say(screen, f"{COPIED}\n{text}")


def put(screen: Screen[Any], text: str) -> None:
    """The same for text that stands on the screen already."""
    frame_of(screen).copy_to_clipboard(text)
