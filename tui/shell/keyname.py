"""A key as it is written on the screen, and the name of no key at all."""

from __future__ import annotations

import re
from collections.abc import Sequence

DIGITS = "0123456789"
NO_KEY = "nokey:"
"""What stands before the id of an action that has no key of its own: a name that no terminal ever sends.

The action is then in a menu and in the palette, and takes a key of the user's own by its id.
"""
PRINTED = {
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "escape": "Esc",
    "enter": "Enter",
    "space": "Space",
    "tab": "Tab",
    "up": "Up",
    "down": "Down",
    "left": "Left",
    "right": "Right",
    "home": "Home",
    "end": "End",
}


def no_key(name: str) -> str:
    """The key of an action with this id while it has none."""
    return NO_KEY + name


def is_key(key: str) -> bool:
    """False for what :func:`no_key` gives."""
    return not key.startswith(NO_KEY)


def printed(key: str) -> str:
    """A key as it is written on the screen: "Esc", "F2", "?", "Ctrl+S"."""
    *modifiers, last = key.split("+")
    shown = last if len(last) == 1 else PRINTED.get(last) or _named(last)
    if modifiers:
        shown = shown.upper() if len(shown) == 1 else shown
        return "+".join([*(m.capitalize() for m in modifiers), shown])
    return shown


def _named(key: str) -> str:
    """A key that Textual has a name for; looking for one among all of Unicode is for those that have it."""
    from textual.keys import format_key

    return key.upper() if re.fullmatch(r"f\d+", key) else format_key(key)


def several(keys: Sequence[str]) -> str:
    """The keys of one action as they are written on the screen; all ten digits are "0-9"."""
    return "0-9" if list(keys) == list(DIGITS) else " or ".join(keys)
