"""What came in since somebody last opened each case: a statement for the whole list, by an index."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime

from armrise.store.caseload import ahead
from armrise.store.database.driver import Connection
from armrise.store.database.instants import FOREVER, came, micros
from armrise.store.database.place import Store
from armrise.store.database.unreadable import known_kind

_LOOKED = """coalesce(
    CASE WHEN l.at_utc <= :now THEN l.at_utc END,
    (SELECT min(at_utc) FROM look WHERE author = :author AND at_utc <= :now),
    (SELECT 0 FROM look WHERE author = :author LIMIT 1)
)"""
"""From when on something is new. A look at an instant still to come was taken by a wrong clock, and has seen
nothing for certain."""
SINCE = f"""
SELECT c.code, e.kind, e.id, e.recorded_at_utc, {_LOOKED}
FROM cases c LEFT JOIN look l ON l.author = :author AND l.code = c.code
CROSS JOIN entry e  -- cross: SQLite takes the cases first, then each by the index
WHERE e.case_id = c.id
    AND e.recorded_at_utc > {_LOOKED}
    AND (l.at_utc IS NOT NULL OR (e.batch > 0 AND NOT EXISTS (
        SELECT 1 FROM {came("e.id", "entries")})))
UNION SELECT c.code, e.kind, e.id, f.at_utc, {_LOOKED}
FROM look l JOIN cases c ON c.code = l.code
JOIN link f ON f.about = 'file' AND f.at_utc > {_LOOKED}
JOIN link before ON before.number = f.number - 1 AND before.cases > 0
JOIN entry e ON e.case_id = c.id AND e.id > before.entries AND e.id <= f.entries
WHERE l.author = :author"""
"""A case never opened counts from the oldest look at any: who has opened none has no news, and nothing taken
from a file is any where the case was not opened before. In one that was opened, what came in a file since is
news, whenever it was recorded: whoever looked did not see it."""


def news(store: Store, author: str, now: datetime) -> frozenset[str]:
    """The codes of the cases in which somebody else recorded something since ``author`` last looked.

    A patient's message or check-in counts, and so does a colleague's entry. An earlier list has none.
    Raises a store error.
    """
    if store.known_at is not None:
        return frozenset()
    latest = FOREVER if store.clinic_date else micros(now)  # a fixed date is no clock
    with store.reading() as connection:
        found: defaultdict[str, dict[int, str]] = defaultdict(dict)
        found_ahead = ahead.noted(connection)
        for code, kind, entry, at, looked in connection.execute(SINCE, {"author": author, "now": latest}):
            if ahead.recorded(entry, at, found_ahead) > looked:
                found[kind][entry] = code
        return _by_others(connection, found, author) if found else frozenset()


def _by_others(connection: Connection, found: Mapping[str, dict[int, str]], author: str) -> frozenset[str]:
    """The codes of the entries, by kind and id, that somebody else than ``author`` wrote."""
    from armrise.store.database.columns import table_name
    from armrise.store.database.reading import chunks
    from armrise.store.record.case import KINDS

    codes: set[str] = set()
    for kind, entries in found.items():
        known_kind(next(iter(entries)), kind, KINDS)
        for some in chunks(reversed(entries)):
            ids = [entry for entry in some if entries[entry] not in codes]
            marks = ", ".join("?" * len(ids))
            others = f'SELECT id FROM "{table_name(kind)}" WHERE id IN ({marks}) AND author <> ?'
            rows = connection.execute(others, (*ids, author)) if ids else ()
            codes |= {entries[entry] for (entry,) in rows}
    return frozenset(codes)
