"""The chain: every action ends with a link, a hash over what it wrote and over the link before it.

So nothing that was written can be changed, taken away or put in between without one link that follows no
longer. What it cannot show: that nobody who has the file and this program made the whole chain anew. For that
its head, a few letters and digits, is printed on paper, where nobody can change it any more.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import datetime

from armrise.store.database.driver import Connection, StoreError
from armrise.store.database.instants import EPOCH, MICROSECOND, micros
from armrise.store.record.clock import utc_now
from armrise.store.record.digests import sha256
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date, time_words

SORT = "armrise chain 1"
"""What every hash begins with, so that it is mistaken for no other; hashing otherwise takes another one."""

MADE, BEGUN, ACTION, FILE = "made", "begun", "action", "file"
SHORT = 32
"""So many digits of the hash are printed, 128 bits: too many for anybody to find two stores with the same,
even for whoever may try both."""


class Link(NamedTuple):
    """One link: the highest ids of case and entry it covers, and the hash over all that."""

    number: int
    at_utc: int
    """Microseconds since 1970 UTC, by the clock of the machine."""
    about: str
    cases: int
    entries: int
    hash: str

    @property
    def at(self) -> datetime:
        """When it was made (aware, UTC)."""
        return EPOCH + self.at_utc * MICROSECOND

    @property
    def short(self) -> str:
        """The hash as it is printed: its first digits in groups of four."""
        return " ".join(self.hash[start : start + 4] for start in range(0, SHORT, 4))


_NAMES = ", ".join(f'"{name}"' for name in Link._fields)


def links(connection: Connection) -> Iterator[Link]:
    """Every link, the first one first."""
    return (Link(*row) for row in connection.execute(f'SELECT {_NAMES} FROM "link" ORDER BY "number"'))


def head_of(connection: Connection) -> Link | None:
    """The newest link; None where a store has none."""
    row = connection.execute(f'SELECT {_NAMES} FROM "link" ORDER BY "number" DESC LIMIT 1').fetchone()
    return Link(*row) if row else None


def begin(connection: Connection, about: str) -> None:
    """Make the first link, over the settings and whatever stands in the store already."""
    from armrise.store.database.written import settings_lines

    cases, entries = _highest(connection)
    first = Link(1, micros(utc_now()), about, cases, entries, "")
    _write(connection, "", first, settings_lines(connection))


def extend(connection: Connection, about: str = ACTION) -> None:
    """End an action, or the taking of a file: make the link over what was written since the last one, if any.

    To be called inside the transaction that wrote it.
    """
    before, (cases, entries) = head_of(connection), _highest(connection)
    if before is None:
        raise StoreError("the chain of the store is gone: armrise verify, then restore a backup")
    if (cases, entries) != (before.cases, before.entries):
        new = Link(before.number + 1, micros(utc_now()), about, cases, entries, "")
        _write(connection, before.hash, new, (), before)


def _highest(connection: Connection) -> tuple[int, int]:
    cases, entries = connection.execute(
        "SELECT (SELECT max(id) FROM cases), (SELECT max(id) FROM entry)"
    ).fetchone()
    return cases or 0, entries or 0


_NOTHING = Link(0, 0, "", 0, 0, "")


def _write(
    connection: Connection, previous: str, link: Link, lines: Iterable[str], before: Link = _NOTHING
) -> None:
    from armrise.store.database.written import case_lines, cases_of, entry_lines, stretches

    hasher = Hasher(previous, link)
    hasher.add(lines)
    hasher.add(case_lines(cases_of(connection, before.cases, link.cases)))
    for stretch in stretches(connection, before.entries, link.entries):
        hasher.add(line for _, more in entry_lines(stretch) for line in more)
    values = link._replace(hash=hasher.result())
    connection.execute(f'INSERT INTO "link" ({_NAMES}) VALUES (?, ?, ?, ?, ?, ?)', values)


class Hasher:
    """The hash of one link, taken line by line: settings (of the first link), cases, entries."""

    def __init__(self, previous: str, link: Link) -> None:
        self._hash = sha256()
        self.add([json.dumps([SORT, previous, *link[:-1]])])

    def add(self, lines: Iterable[str]) -> None:
        """Take in lines, each with the end of line that none of them holds."""
        self._hash.update("".join(f"{line}\n" for line in lines).encode("ascii"))

    def result(self) -> str:
        """The hash of everything taken in, 64 digits."""
        return self._hash.hexdigest()


def head_words(link: Link, at: datetime) -> str:
    """The head of a chain as it is printed, ``at`` its instant on the clinic's clock.

    "ab12 cd34 ... 7890, action 412, Sat 28 Nov 2026 05:12".
    """
    return f"{link.short}, action {link.number}, {full_date(at.date())} {time_words(at)}"
