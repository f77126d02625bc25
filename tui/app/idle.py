"""A screen that nobody is at: dimmed, with a word why, for a moment before it is blanked."""

from __future__ import annotations

import os
import sys
import time
from typing import Any

from textual.screen import Screen

from armrise.tui.widgets.static import Static

DIM_SECONDS = 5
"""How long before the blank the screen is dimmed."""
ASKED = "ARMRISE_BLANK_AFTER"
LEAST, MOST = 15, 900
"""Seconds that a workplace may ask for: never so long that a list stands open over a break."""
SOON = f"Blank in {DIM_SECONDS} seconds: any key keeps it."


def blank_after(ruled: int | None) -> tuple[int | None, str]:
    """Idle seconds until the screen blanks itself, and what is wrong with those this workplace asks for.

    A workplace sets ``ARMRISE_BLANK_AFTER``; without it, or where it is at fault, the rules' own hold.
    """
    asked = os.environ.get(ASKED, "")
    if not asked:
        return ruled, ""
    if asked.isdecimal() and asked.isascii() and LEAST <= int(asked) <= MOST:
        return int(asked), ""
    told = f"{ASKED} is {asked!r}, allowed is {LEAST} to {MOST} seconds"
    return ruled, f"{told}: the screen blanks after {ruled}." if ruled else f"{told}: it never blanks itself."


LOCK_SECONDS = 900
"""Idle seconds after which the passphrase of an encrypted caseload is asked for again: a quarter of an hour
(NIST SP 800-63B, 2017, section 4.3.3)."""
LOCK_ASKED = "ARMRISE_LOCK_AFTER"
LOCK_LEAST, LOCK_MOST = 60, 1800
"""Seconds that a workplace may ask for; half an hour is the most of section 4.2.3 there."""


def lock_after() -> tuple[int, str]:
    """Idle seconds until an encrypted caseload is locked, and what is wrong with those asked for."""
    asked = os.environ.get(LOCK_ASKED, "")
    if not asked:
        return LOCK_SECONDS, ""
    if asked.isdecimal() and asked.isascii() and LOCK_LEAST <= int(asked) <= LOCK_MOST:
        return int(asked), ""
    told = f"{LOCK_ASKED} is {asked!r}, allowed is {LOCK_LEAST} to {LOCK_MOST} seconds"
    return LOCK_SECONDS, f"{told}: the caseload is locked after {LOCK_SECONDS}."


def seconds() -> float:
    """A clock that only goes forward, also while the machine sleeps, where it has such a one."""
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def dim(screen: Screen[Any]) -> None:
    """Say that the screen will be blanked, and dim it; what is on it stays where it is."""
    if not screen.query("#idle"):
        screen.add_class("-idle")
        screen.mount(Static(SOON, id="idle", markup=False))


def undim(screen: Screen[Any]) -> None:
    """As it was."""
    if screen.has_class("-idle"):
        screen.remove_class("-idle")
        screen.query("#idle").remove()
