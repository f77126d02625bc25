"""Which keys were meant for the case in sight: those on their way when it came, or in one burst, were not."""

from __future__ import annotations

import time
from typing import Any

from textual.events import Key
from textual.screen import Screen

from armrise.tui.case.finding import NUMBER, SEARCH, Finds
from armrise.tui.shell.frame import BURST


class Burst:
    """Keys that come together, told apart by the times at which they were pressed.

    Another case comes into sight by its number, by a search or from under the blank screen. Of the keys that
    come in one burst with the one that did it only those count that find a case.
    """

    def __init__(self) -> None:
        self._turned = self._last = -BURST
        """When a case was opened by its number, and the last key of the burst that did, or left the blank."""
        self._finding = False
        """True when a key of that burst began to find a case: the others may go on with that alone."""

    def begin(self) -> None:
        """The blank screen is left, or another case is in sight: a burst with this key begins."""
        self._last, self._finding = time.monotonic(), False

    def turn(self) -> None:
        """Another case is under the cursor: a key on its way since before was not meant for it.

        Digits are taken at once; a letter typed before them goes round by the list and comes after them.
        """
        self._turned = time.monotonic()

    def is_late(self, event: Key) -> bool:
        """True for a key that was on its way when another case came."""
        return event.is_forwarded and event.time < self._turned

    def woke(self, event: Key, screen: Screen[Any]) -> bool:
        """Whether the key that left the blank screen is meant: it begins to find a case."""
        return self._begins(event.key, screen, *SEARCH, NUMBER)

    def lets(self, event: Key, screen: Screen[Any]) -> bool:
        """Whether a key is meant: it is none of a burst, or goes on with finding a case, or begins to."""
        return event.time - self._last >= BURST or self._goes_on(event, screen)

    def _begins(self, key: str, screen: Screen[Any], *names: str) -> bool:
        self._finding = isinstance(screen, Finds) and screen.begins(key, names)
        return self._finding

    def _goes_on(self, event: Key, screen: Screen[Any]) -> bool:
        self._last = max(self._last, event.time)
        if not self._finding:
            return self._begins(event.key, screen, NUMBER)
        self._finding = isinstance(screen, Finds) and screen.goes_on(event.key)
        return self._finding
