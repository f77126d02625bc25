"""The password of a store on a server, asked for at the terminal before any screen is there."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where

STORE = "ARMRISE_STORE"
"""Where a store of one's own may be named that is not the file in the user's data folder."""


def named(given: Where | None) -> Where | None:
    """The store given, else that of ARMRISE_STORE, else None for the usual file; see :func:`unlocked`."""
    if given is None and not os.environ.get(STORE):
        return None
    from armrise.store.database.place import own_store

    return unlocked(given or own_store())


def unlocked(place: Where) -> Where:
    """The place with its password, where its server asks for one that libpq finds nowhere.

    It is asked for at the terminal and kept in memory. Raises a store error where there is no terminal.
    """
    if isinstance(place, Path):
        return place
    from armrise.store.database.driver import NeedsPassword
    from armrise.store.database.place import driver_of

    try:
        driver_of(place).exists()
    except NeedsPassword:
        if place.password or not sys.stdin.isatty():
            raise
        from getpass import getpass

        return replace(place, password=getpass(f"Password for {place}: "))
    return place
