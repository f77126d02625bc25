"""The last verification of a store, remembered beside the record: when it was, and whether all was right."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING

from armrise.store.database.place import Store, remember, remembered
from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.verify.result import Verified

LAST = "last verification"


class Last(NamedTuple):
    """When a store was last verified (aware), and whether nothing wrong was found."""

    at: datetime
    sound: bool


def remember_verified(store: Store, found: Verified) -> None:
    """Remember what came of a verification. Raises a store error."""
    said = {"at": found.at.isoformat(timespec="seconds"), "sound": found.sound}
    with store.writing() as connection:
        remember(connection, {LAST: json.dumps(said)})


def last_verified(store: Store) -> Last | None:
    """The last verification; None where none is remembered, or nothing readable is."""
    try:
        said = json.loads(remembered(store, LAST) or "null")
        return Last(datetime.fromisoformat(said["at"]), bool(said["sound"])) if said else None
    except (KeyError, TypeError, ValueError):
        return None
