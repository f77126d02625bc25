"""What is printed from the kept list: only while everything it rests on is the very same.

That depends on no rule, so the text of a list is here a word for the state the store was in.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import NamedTuple

import pytest

from armrise.store.caseload.mark import Mark, mark_of
from armrise.store.caseload.write import Ledger
from armrise.store.database import sqlite
from armrise.store.database.place import Store
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.files.beside import kept_beside
from armrise.store.kept.file import KeptFile
from armrise.store.kept.printed import JSON, TEXT, keep_printed, printed
from armrise.store.record.kinds.care import Contact
from tests.encrypted import cheap_keys, encrypt, needs_the_extra, readable  # noqa: F401
from tests.store.drafts import TODAY, Clock, head

RULES = "a" * 64
TOMORROW = TODAY + timedelta(days=1)
AT = datetime(2026, 3, 2, 21, tzinfo=UTC)
WORDS = "TODAY (4)\n  BY-007 LEFT\n"


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Store:
    return Store.open(shutil.copy(made, tmp_path / "caseload.armrise"))


def mark(store: Store, day: date = TODAY, rules: str = RULES) -> Mark:
    with store.reading() as connection:
        found = mark_of(connection, rules, day)
    assert found is not None
    return found


def keep(store: Store, words: str = WORDS, day: date = TODAY) -> bool:
    return keep_printed(store, mark(store, day), {TEXT: words})


def shown(store: Store, day: date = TODAY) -> str | None:
    """By a listing, which opens the store for reading."""
    return printed(Store.open(store.driver, read_only=True), RULES, day, TEXT)


def ledger(store: Store) -> Ledger:
    return Ledger(Store.open(store.driver), "MB", Clock(AT), None)


def call() -> Contact:
    return Contact(on=TODAY, recorded_at=AT, recorded_on=TODAY, author="MB", outcome="spoke")


def test_it_is_printed_as_it_was_kept_and_by_its_name(store: Store) -> None:
    assert shown(store) is None
    assert keep(store)
    assert shown(store) == WORDS
    assert printed(store, RULES, TODAY, JSON) is None
    assert keep_printed(store, mark(store), {JSON: "[]\n"})
    assert (shown(store), printed(store, RULES, TODAY, JSON)) == (WORDS, "[]\n")


def other_setting(store: Store, name: str, value: str) -> None:
    with contextlib.closing(sqlite3.connect(store.path)) as raw:
        for verb in ("update", "delete", "replace"):
            raw.execute(f"DROP TRIGGER setting_no_{verb}")
        raw.execute("INSERT OR REPLACE INTO setting (name, value) VALUES (?, ?)", (name, value))
        raw.commit()


CAME: dict[str, Callable[[Store], object]] = {
    "an entry": lambda store: ledger(store).append("BY-003", [call()]),
    "an entry withdrawn": lambda store: ledger(store).correct(
        ledger(store).append("BY-015", [call()])[0], "another patient was meant"
    ),
    "an undo": lambda store: (ledger(store).append("BY-007", [call()]), ledger(store).undo("BY-007")),
    "a case": lambda store: ledger(store).register(head("N-1")),
    "another zone": lambda store: other_setting(store, "zone", "Pacific/Auckland"),
    "another clinic date": lambda store: other_setting(store, "clinic date", "2026-03-03"),
}


@pytest.mark.parametrize("what", CAME)
def test_after_anything_came_the_list_is_judged(store: Store, what: str) -> None:
    keep(store)
    CAME[what](store)
    assert shown(store) is None


def test_on_another_date_under_other_rules_and_by_another_program_it_is_judged(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(store)
    assert printed(store, RULES, TOMORROW, TEXT) is None
    assert printed(store, "b" * 64, TODAY, TEXT) is None
    assert printed(store, "", TODAY, TEXT) is None
    assert shown(store) == WORDS, "what rests on something else is left as it is"
    monkeypatch.setattr("armrise.store.caseload.mark.program", lambda: "another")
    assert shown(store) is None


def test_the_instant_its_head_names_belongs_to_it(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """A newer table of zones shows the same instant at another time of day."""
    keep(store)
    monkeypatch.setattr("armrise.store.kept.printed.newest_recorded", lambda _: AT)
    assert shown(store) is None


def test_a_list_that_something_came_after_is_not_kept(store: Store) -> None:
    before = mark(store)
    ledger(store).append("BY-003", [call()])
    assert not keep_printed(store, before, {TEXT: WORDS})
    assert shown(store) is None


def test_rules_that_no_file_holds_keep_nothing(store: Store) -> None:
    assert not keep_printed(store, mark(store, rules=""), {TEXT: WORDS})


@pytest.mark.parametrize("other", ["a copy for reading", "as known", "thrown away"])
def test_nothing_is_kept_or_printed_of_such_a_store(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, other: str
) -> None:
    keep(store)
    if other == "thrown away":
        seen = Store.create(tmp_path / "other.armrise", zone="Europe/London", lasting=False)
    else:
        seen = store.as_known(AT) if other == "as known" else Store.open(store.driver, read_only=True)
    monkeypatch.setattr(SqliteFile, "may_write", lambda _: other != "a copy for reading")
    assert printed(seen, RULES, TODAY, TEXT) is None
    assert not keep_printed(seen, mark(seen), {TEXT: "other"})
    monkeypatch.undo()
    assert shown(store) == WORDS


def test_a_new_list_of_the_day_and_a_later_day_clear_what_was_printed(store: Store) -> None:
    file = KeptFile(store.driver)  # pyright: ignore[reportArgumentType]
    keep(store)
    assert keep_printed(store, mark(store, TOMORROW), {TEXT: "tomorrow"}, since=TODAY)
    assert (shown(store), shown(store, TOMORROW)) == (WORDS, "tomorrow")
    keep(store, "tomorrow", TOMORROW)
    assert (shown(store), shown(store, TOMORROW)) == (None, "tomorrow")
    keep(store)
    assert file.put(TODAY, "{}", [], str, (TOMORROW,))
    assert (shown(store), shown(store, TOMORROW)) == (None, "tomorrow")
    assert file.put(TODAY, "{}", [], str, ())
    assert shown(store, TOMORROW) is None


HARM = [
    "UPDATE printed SET packed = substr(packed, 1, length(packed) - 1)",
    "UPDATE printed SET packed = 'TODAY (0)'",
    "UPDATE printed SET digest = 'x'",
    "UPDATE printed SET name = CASE name WHEN 'text' THEN 'json' ELSE 'text' END",
    "DROP TABLE printed",
    "PRAGMA user_version = 1",
]


@pytest.mark.parametrize("harm", HARM)
def test_a_file_that_was_changed_is_cleared_and_not_printed(store: Store, harm: str) -> None:
    keep(store)
    with contextlib.closing(sqlite3.connect(kept_beside(store.path))) as raw:
        raw.execute(harm)
        raw.commit()
    name = JSON if "CASE" in harm else TEXT
    assert printed(store, RULES, TODAY, name) is None
    assert not kept_beside(store.path).exists()


@pytest.mark.parametrize("seed", range(8))
def test_of_a_file_cut_off_or_with_flipped_bits_nothing_else_is_printed(store: Store, seed: int) -> None:
    keep(store)
    path, dice = kept_beside(store.path), Random(seed)
    raw = bytearray(path.read_bytes())
    for _ in range(1 + seed):
        raw[dice.randrange(len(raw))] ^= 1 << dice.randrange(8)
    path.write_bytes(bytes(raw))
    if seed % 2:
        os.truncate(path, dice.randrange(len(raw)))
    assert shown(store) in (WORDS, None)
    assert keep(store) or keep(store), "a damaged file was cleared: there is a new one"
    assert shown(store) == WORDS


def test_somebody_writing_there_is_waited_for_by_nobody_and_clears_nothing(store: Store) -> None:
    keep(store)
    path = kept_beside(store.path)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        before = time.monotonic()
        assert shown(store) is None
        assert not keep(store, "other")
        assert time.monotonic() - before < sqlite.BUSY_SECONDS
        other.execute("ROLLBACK")
    assert shown(store) == WORDS


class State(NamedTuple):
    """All that a printed list may rest on; ``writes`` counts whatever was recorded."""

    writes: int
    day: date
    rules: str


@pytest.mark.parametrize("seed", range(12))
def test_whatever_happens_only_what_was_kept_of_this_very_state_is_printed(store: Store, seed: int) -> None:
    """Random writes by others, midnights, rules changed and changed back: against a plain dict."""
    dice, model = Random(seed), dict[State, str]()
    state = State(0, TODAY, RULES)
    for step in range(25):
        match dice.choice(("write", "midnight", "rules", "keep", "keep", "keep")):
            case "write":
                CAME[dice.choice(("an entry", "an undo"))](store)
                state = state._replace(writes=step + 1)
            case "midnight":
                state = state._replace(day=TODAY + timedelta(days=dice.randrange(3)))
            case "rules":
                state = state._replace(rules=dice.choice("ab") * 64)
            case _:
                assert keep_printed(store, mark(store, state.day, state.rules), {TEXT: str(step)})
                model = {one: told for one, told in model.items() if one.day > state.day}
                model[state] = str(step)
        found = printed(store, state.rules, state.day, TEXT)
        assert found == model.get(state)


@needs_the_extra
def test_beside_an_encrypted_store_nothing_of_it_can_be_read(
    store: Store,
    tmp_path: Path,
    cheap_keys: None,  # noqa: F811
) -> None:
    sealed = Store.open(encrypt(store.path))
    assert keep(sealed)
    assert shown(sealed) == WORDS
    assert readable(tmp_path, "BY-007", "SQLite format", "CREATE TABLE") == {}
