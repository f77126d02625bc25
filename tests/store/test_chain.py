"""The chain: what a link covers, how its hash comes about, and that a later schema leaves it as it is."""

from __future__ import annotations

import contextlib
import hashlib
import json
import shutil
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.write import Ledger, Refused
from armrise.store.database import chain
from armrise.store.database.chain import Link
from armrise.store.database.columns import Column
from armrise.store.database.declared import CASES, Table, tables
from armrise.store.database.place import Store, remember
from armrise.store.database.written import line_maker
from armrise.store.exchange.backup.make import back_up
from armrise.store.exchange.into import caseload_file
from tests.store import drafts

DEFAULTS = Path(__file__).parent / "fixtures" / "defaults.json"


def links(store: Store) -> list[Link]:
    with store.reading() as connection:
        return list(chain.links(connection))


# What a link covers


def test_a_store_begins_with_a_link_over_its_settings(store: Store) -> None:
    (only,) = links(store)
    assert (only.number, only.about, only.cases, only.entries) == (1, "made", 0, 0)
    assert abs(only.at - datetime.now(UTC)) < timedelta(hours=1)


def test_every_action_ends_with_one_link(store: Store) -> None:
    """Registering, appending, correcting, moving and undoing, each with whatever it writes."""
    ledger = drafts.open_case(store, drafts.head("T-1"), drafts.head("T-2"))
    actions: list[Callable[[], object]] = [
        lambda: ledger.append("T-1", [drafts.draft("visit"), drafts.draft("contact", outcome="spoke")]),
        lambda: ledger.correct(1, "not that day", drafts.draft("visit")),
        lambda: ledger.move(2, "wrong case", "T-2", drafts.draft("contact", outcome="spoke")),
        lambda: ledger.undo("T-1"),
        lambda: ledger.begin(drafts.head("T-3"), [drafts.draft("visit")]),
    ]
    assert [(link.cases, link.entries) for link in links(store)] == [(0, 0), (1, 0), (2, 0)]
    for act in actions:
        before = len(links(store))
        act()
        assert len(links(store)) == before + 1
    with store.reading() as connection:
        cases, entries = connection.execute(
            "SELECT (SELECT max(id) FROM cases), (SELECT max(id) FROM entry)"
        ).fetchone()
    assert (links(store)[-1].cases, links(store)[-1].entries) == (cases, entries)
    assert [link.number for link in links(store)] == list(range(1, len(links(store)) + 1))


def test_what_writes_nothing_makes_no_link(store: Store, tmp_path: Path) -> None:
    """A refused action, an empty one, the desk, a backup."""
    ledger = drafts.open_case(store)
    before = links(store)
    with pytest.raises(Refused):
        Ledger(store, "TK", ledger.now).register(drafts.head("T-1"))
    ledger.append("T-1", [])
    with store.writing() as connection:
        remember(connection, {"views": "[]"})
    assert back_up(store, [tmp_path], ledger.now()).good
    assert links(store) == before


def test_a_file_is_one_action_and_a_store_that_is_thrown_away_has_its_making_alone(tmp_path: Path) -> None:
    demo = caseload_file.read(caseload_file.demo_path())
    for lasting, expected in ((True, ["made", "file"]), (False, ["made"])):
        store = Store.create(tmp_path / f"{lasting}", zone="UTC", fictional=True, lasting=lasting)
        take_whole(store, demo)
        assert [link.about for link in links(store)] == expected


def test_a_link_is_written_with_its_action_or_not_at_all(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = drafts.open_case(store)

    def fail(*_: Any) -> None:
        raise RuntimeError

    monkeypatch.setattr(chain, "_write", fail)
    with pytest.raises(RuntimeError):
        ledger.append("T-1", [drafts.draft("visit")])
    with store.reading() as connection:
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (0,)


# The hash


def test_the_hash_is_what_it_is_said_to_be(store: Store) -> None:
    """Worked out once more here, from the words of the module alone: SHA-256 over lines of JSON."""
    ledger = drafts.open_case(store)
    ledger.append("T-1", [drafts.draft("visit", note="né à Köln", interval=21)])
    made, registered, appended = links(store)
    with store.reading() as connection:
        settings = sorted(connection.execute("SELECT name, value FROM setting").fetchall())

    def hashed(previous: str, link: Link, *rows: tuple[str, dict[str, Any]]) -> str:
        first = json.dumps(["armrise chain 1", previous, *link[:-1]])
        lines = [first, *(json.dumps([t, dict(sorted(v.items()))], separators=(",", ":")) for t, v in rows)]
        return hashlib.sha256("".join(f"{line}\n" for line in lines).encode()).hexdigest()

    assert made.hash == hashed("", made, *(("setting", {"name": n, "value": v}) for n, v in settings))
    case = {
        "id": 1,
        "code": "T-1",
        "person": "P-T-1",
        "side": "LEFT",
        "pathway": "RC",
        "clinician": "",
        "referrer": "",
        "registered_on": "2026-01-05",
    }
    assert registered.hash == hashed(made.hash, registered, ("cases", case))
    at = appended_at(store)
    line = {"id": 1, "case_id": 1, "kind": "visit", "batch": 1, "recorded_at_utc": at}
    visit = {
        "id": 1,
        "case_id": 1,
        "happened_on": "2026-03-02",
        "recorded_at_utc": at,
        "recorded_offset_minutes": 0,
        "recorded_on": "2026-03-02",
        "author": "TK",
        "source": "clinician measured",
        "history": 0,
        "note": "né à Köln",
        "interval": 21,
    }
    assert appended.hash == hashed(registered.hash, appended, ("entry", line), ("visit", visit))


def appended_at(store: Store) -> int:
    with store.reading() as connection:
        return connection.execute("SELECT recorded_at_utc FROM entry").fetchone()[0]


# A later schema


def test_a_column_of_a_later_schema_leaves_the_lines_as_they_are() -> None:
    """Whatever default it brings, and wherever it stands among the others."""
    row = (1, "T-1", "P-1", "LEFT", "RC", "TK", "", "2026-01-05", None, "50s")
    before = line_maker(CASES)(row)
    for default in (None, "none", 0):
        column = Column("later", "text", null=default is None)
        later = CASES._replace(columns=(column, *CASES.columns), defaults={"later": default})
        assert line_maker(later)((default, *row)) == before
        assert line_maker(later)(("told", *row)) != before
    turned = CASES._replace(columns=tuple(reversed(CASES.columns)))
    assert line_maker(turned)(tuple(reversed(row))) == before


def test_no_two_rows_have_one_line() -> None:
    """An absent value, its default, an empty text and a zero are four things."""
    table = Table("t", (Column("a", "text", null=True), Column("b", "text", null=True)), ("a",))
    with_defaults = table._replace(defaults={"a": "x"})
    for declared in (table, with_defaults):
        rows = [(a, b) for a in (None, "x", "", "0", 0) for b in (None, "x", '","b":"')]
        assert len({line_maker(declared)(row) for row in rows}) == len(rows)
    assert line_maker(table)((True, None)) == line_maker(table)((1, None))  # of a driver that knows flags


def test_a_line_is_the_json_that_the_standard_encoder_makes() -> None:
    """Against :mod:`json` of the standard library, as every link so far was made: whatever a row holds."""
    odd = (None, 0, -5, 2**62, True, False, "", 'né "à"\n\\{}\'', "\u2028", 1.5, b"\x00", "LEFT")
    for table in tables():
        names = [column.name for column in table.columns]
        for turn in range(len(odd)):
            row = [odd[(turn + place) % len(odd)] for place in range(len(names))]
            told = {
                name: int(value) if isinstance(value, bool) else value
                for name, value in zip(names, row, strict=True)
                if value != table.defaults.get(name)
            }
            made = json.dumps([table.name, told], separators=(",", ":"), sort_keys=True, default=repr)
            assert line_maker(table)(row) == made


def test_a_default_that_has_landed_is_never_changed() -> None:
    """What is at its default is left out of a line, so another default would break every chain.

    After adding fields: ``python -m tests.store.test_chain`` writes the new ones down.
    """
    landed = json.loads(DEFAULTS.read_bytes())
    now = present_defaults()
    assert {
        table: {c: now[table].get(c, "gone") for c in columns} for table, columns in landed.items()
    } == landed
    assert landed == now, "keep the defaults of what was added: python -m tests.store.test_chain"


def present_defaults() -> dict[str, dict[str, Any]]:
    return {
        table.name: {column.name: table.defaults.get(column.name) for column in table.columns}
        for table in tables()
        if table.guarded and table.name not in ("migration", "link")
    }


# Two at once


def test_two_writers_make_one_chain(store: Store) -> None:
    ledgers = [drafts.open_case(store, drafts.head(f"T-{number}")) for number in (1, 2)]
    for number in range(6):
        one = number % 2
        ledgers[one].append(f"T-{one + 1}", [drafts.draft("visit")], seen=None, confirmed=True)
    found = links(store)
    assert [link.entries for link in found[3:]] == [1, 2, 3, 4, 5, 6]


def test_a_store_whose_chain_is_gone_takes_nothing_more(store: Store, tmp_path: Path) -> None:
    path = Path(shutil.copy(store.path, tmp_path / "s"))
    with contextlib.closing(sqlite3.connect(path)) as foreign, foreign:
        foreign.execute("DROP TRIGGER link_no_delete")
        foreign.execute("DELETE FROM link")
    with pytest.raises(Exception, match="the chain of the store is gone: armrise verify"):
        drafts.open_case(Store.open(path))


if __name__ == "__main__":
    DEFAULTS.write_text(json.dumps(present_defaults(), indent=1, sort_keys=True) + "\n", encoding="utf-8")
