"""Every time a kept list was found to be another than the list judged anew: for whoever develops the program.

Remembered beside the record, in the table ``remembered``, without a code and without a word of any case: it
must not happen, and if it does, what differed says where to look.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime

from armrise.store.database.place import Store, remember, remembered
from armrise.store.record.light import NamedTuple

NAME = "kept list corrected"
MOST = 20
"""So many times are remembered, the last ones."""


class Corrected(NamedTuple):
    """When (ISO, UTC), of how many cases, and the fields of a standing that differed."""

    at: str
    cases: int
    fields: tuple[str, ...]


def corrections(store: Store) -> tuple[Corrected, ...]:
    """All that is remembered, the oldest first; nothing where nothing readable is."""
    try:
        told = json.loads(remembered(store, NAME) or "[]")
        return tuple(Corrected(str(at), int(cases), tuple(map(str, names))) for at, cases, names in told)
    except (TypeError, ValueError):
        return ()


def note(store: Store, found: Mapping[str, tuple[str, ...]], at: datetime) -> None:
    """Remember what differed, by fields of each case. Raises a store error."""
    names = tuple(sorted({name for fields in found.values() for name in fields}))
    one = Corrected(at.isoformat(timespec="seconds"), len(found), names)
    told = json.dumps([*corrections(store), one][-MOST:])
    with store.writing() as connection:
        remember(connection, {NAME: told})
