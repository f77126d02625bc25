"""What a judged list rests on, as one mark, and which cases have news since a mark was made.

Nothing recorded changes, and ids follow the order of commits: so what came since a mark are the entries and
cases with higher ids, and nobody else's standing is another one. That holds for an earlier state of this very
store, on the same clinic date, under the same rules and by the same program; where any of it is in doubt,
everything is judged anew.

This is asked before any row is on the screen, so nothing here knows a kind of entry or a rule.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Iterator
from datetime import date
from functools import cache
from pathlib import Path

from armrise.store.caseload.ahead import Ahead, noted
from armrise.store.database.driver import Connection
from armrise.store.record.digests import sha256
from armrise.store.record.light import NamedTuple

_CODE, _COMPILED = (".py", ".toml"), "__pycache__"
_HEAD = 'SELECT "number", "hash" FROM "link" ORDER BY "number" DESC LIMIT 1'
_SETTINGS = 'SELECT "name", "value" FROM "setting" ORDER BY "name"'


class Mark(NamedTuple):
    """Everything that a list judged in full on one clinic date rests on."""

    today: date
    rules: str
    """Which rules: :attr:`armrise.store.rules.pathway.Rules.identity`."""
    program: str
    settings: str
    """A digest of the settings of the store, the zone and a fixed clinic date among them."""
    link: int
    """The number of the newest link of the chain, and its hash, which covers all up to it."""
    hash: str
    cases: int
    """The newest case and entry; what no link covers, in a store that is thrown away, are these alone."""
    entries: int
    newest: str
    """A digest of the rows of those two."""
    ahead: tuple[Ahead, ...]
    """What was found to be recorded ahead of the clock."""

    @property
    def digest(self) -> str:
        """What tells it from every other mark."""
        return sha256(repr(self).encode()).hexdigest()


def mark_of(connection: Connection, rules: str, today: date) -> Mark | None:
    """The mark of what this connection sees, ``rules`` their identity; None where there is no chain.

    To be asked on the connection, and in the transaction, in which the records are read that are judged.
    """
    head = connection.execute(_HEAD).fetchone()
    if head is None:
        return None
    cases, entries = connection.execute(
        "SELECT (SELECT max(id) FROM cases), (SELECT max(id) FROM entry)"
    ).fetchone()
    return Mark(
        today=today,
        rules=rules,
        program=program(),
        settings=_digest(connection.execute(_SETTINGS)),
        link=head[0],
        hash=head[1],
        cases=cases or 0,
        entries=entries or 0,
        newest=_rows(connection, cases or 0, entries or 0),
        ahead=noted(connection),
    )


def news_since(connection: Connection, before: Mark, now: Mark) -> frozenset[int] | None:
    """The ids of every case of each person of whom anything came since ``before``.

    ``now`` is the mark of this connection. What counts is whatever is recorded: entries of any kind,
    withdrawals among them, cases registered, files taken; and entries since found to be recorded ahead of the
    clock. A person's cases share entries and name each other, so all of them count. None where ``before`` is
    no earlier state of this very store, or the list rests on another date, other rules or another program:
    then nothing may be kept.
    """
    if _otherwise(before) != _otherwise(now) or not _follows(connection, before, now):
        return None
    other = set(before.ahead) ^ set(now.ahead)
    if (before.cases, before.entries) == (now.cases, now.entries) and not other:
        return frozenset()
    ranges = "".join(" OR id BETWEEN ? AND ?" for _ in other)
    sql = (
        f"WITH fresh AS (SELECT case_id AS id FROM entry WHERE id > ?{ranges} "
        "UNION SELECT id FROM cases WHERE id > ?) "
        "SELECT DISTINCT o.id FROM fresh JOIN cases c ON c.id = fresh.id JOIN cases o ON o.person = c.person"
    )
    values = [number for one in other for number in (one.first, one.last)]
    return frozenset(one for (one,) in connection.execute(sql, (before.entries, *values, before.cases)))


def _otherwise(mark: Mark) -> tuple[object, ...]:
    """What must be the same for anything to be kept."""
    return mark.today, mark.rules, mark.program, mark.settings


def _follows(connection: Connection, before: Mark, now: Mark) -> bool:
    """True where ``before`` is this store earlier, or as it is: its link and its rows are there."""
    if before.cases > now.cases or before.entries > now.entries or before.link > now.link:
        return False
    row = connection.execute('SELECT "hash" FROM "link" WHERE "number" = ?', (before.link,)).fetchone()
    return row == (before.hash,) and before.newest == _rows(connection, before.cases, before.entries)


def _rows(connection: Connection, case: int, entry: int) -> str:
    """A digest of one case as it is registered and one line of the sequence of entries."""
    return _digest(
        connection.execute(f"SELECT * FROM {table} WHERE id = ?", (number,)).fetchone()
        for table, number in (("cases", case), ("entry", entry))
    )


def _digest(rows: Iterable[object]) -> str:
    """Of rows, whichever database they come from."""
    return sha256(json.dumps([*rows]).encode()).hexdigest()


@cache
def program() -> str:
    """A digest of the program that judges: its own files by name, size and time, and Python's version.

    Found once in a process. Where the files cannot be looked at, it is a word that no other process has.
    """
    try:
        files = sorted(_files(Path(__file__).parents[1]))
    except OSError:
        return os.urandom(16).hex()
    return _digest([sys.version, *files])


def _files(folder: Path | str, under: str = "") -> Iterator[str]:
    for found in os.scandir(folder):
        name = f"{under}/{found.name}"
        if name.endswith(_CODE):
            told = found.stat()
            yield f"{name} {told.st_size} {told.st_mtime_ns}"
        elif found.name != _COMPILED and found.is_dir():
            yield from _files(found.path, name)
