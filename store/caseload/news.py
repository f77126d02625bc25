"""What came in since somebody last opened each case: a statement for the whole list, by an index."""

from __future__ import annotations

from collections import defaultdict

from armrise.store.database.columns import table_name
from armrise.store.database.place import Store
from armrise.store.database.reading import came
from armrise.store.database.unreadable import Unreadable
from armrise.store.record.case import KINDS

SINCE = f"""
SELECT c.code, e.kind, e.id
FROM cases c LEFT JOIN look l ON l.author = :author AND l.code = c.code
CROSS JOIN entry e  -- cross: SQLite takes the cases first, then each by the index
WHERE e.case_id = c.id
    AND e.recorded_at_utc > coalesce(l.at_utc, (SELECT min(at_utc) FROM look WHERE author = :author))
    AND (l.at_utc IS NOT NULL OR (e.batch > 0 AND NOT EXISTS (
        SELECT 1 FROM {came("e.id", "entries")})))
UNION SELECT c.code, e.kind, e.id
FROM look l JOIN cases c ON c.code = l.code
JOIN link f ON f.about = 'file' AND f.at_utc > l.at_utc
JOIN link before ON before.number = f.number - 1 AND before.cases > 0
JOIN entry e ON e.case_id = c.id AND e.id > before.entries AND e.id <= f.entries
WHERE l.author = :author"""
"""A case never opened counts from the oldest look at any: who has opened none has no news, and nothing taken
from a file is any where the case was not opened before. In one that was opened, what came in a file since is
news, whenever it was recorded: whoever looked did not see it."""


def news(store: Store, author: str) -> frozenset[str]:
    """The codes of the cases in which somebody else recorded something since ``author`` last looked.

    A patient's message or check-in counts, and so does a colleague's entry. An earlier list has none.
    Raises a store error.
    """
    if store.known_at is not None:
        return frozenset()
    with store.reading() as connection:
        found: defaultdict[str, dict[int, str]] = defaultdict(dict)
        for code, kind, entry in connection.execute(SINCE, {"author": author}):
            found[kind][entry] = code
        codes: set[str] = set()
        for kind, entries in found.items():
            if kind not in KINDS:
                raise Unreadable(f"entry {next(iter(entries))}", "its kind is none that is known")
            ids = ", ".join(map(str, entries))
            others = f'SELECT id FROM "{table_name(kind)}" WHERE id IN ({ids}) AND author <> ?'
            codes |= {entries[entry] for (entry,) in connection.execute(others, (author,))}
    return frozenset(codes)
