"""A damaged file: what is said of it, and that nothing recorded is quoted."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.database import sqlite
from armrise.store.database.place import Store
from armrise.store.rules.read import load
from tests.soak.damages import CODE, lasting_demonstration, look, outcomes
from tests.store import drafts

SECRET = "Zebrafish-4711"
"""A text that is recorded nowhere else, to be looked for in what is said."""


@pytest.fixture(scope="module")
def kept(empty_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with one case and 40 visits, all in one file, to be copied."""
    path = Path(shutil.copy(empty_store, tmp_path_factory.mktemp("damage") / "whole"))
    ledger = drafts.open_case(Store.open(path))
    ledger.append("T-1", [drafts.draft("visit", note=f"{SECRET} {number}") for number in range(40)])
    return path


def faults_of(path: Path) -> tuple[str, ...]:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return sqlite.damage(connection)


def test_a_whole_file_has_no_damage(kept: Path) -> None:
    assert faults_of(kept) == ()


def test_a_reference_to_nothing_is_named(kept: Path, tmp_path: Path) -> None:
    path = shutil.copy(kept, tmp_path / "s")
    with contextlib.closing(sqlite3.connect(path)) as foreign, foreign:
        foreign.execute("INSERT INTO entry VALUES (99, 7, 'visit', 1, 0)")
    assert faults_of(Path(path)) == ("entry 99 refers to a row of cases that is not there",)


def test_a_row_missing_from_an_index_is_named(kept: Path, tmp_path: Path) -> None:
    """The statement that made an index is rewritten, so that rows stand in it that should not."""
    path = shutil.copy(kept, tmp_path / "s")
    with contextlib.closing(sqlite3.connect(path)) as foreign, foreign:
        foreign.execute("PRAGMA writable_schema = ON")
        foreign.execute(
            "UPDATE sqlite_master SET sql = replace(sql, ?, ?) WHERE name = 'entry_of_case'",
            ('"case_id", "id"', '"case_id", "batch"'),
        )
    assert any("missing from index" in fault for fault in faults_of(Path(path)))


def test_overwritten_pages_are_named_within_bounds_and_quote_nothing(kept: Path, tmp_path: Path) -> None:
    whole = kept.read_bytes()
    rows = whole.index(SECRET.encode())
    for name, start in (("first pages", 100), ("rows", rows - rows % 4096), ("nothing left", 0)):
        path = tmp_path / name
        text = (SECRET.encode() * 400)[:4096]
        path.write_bytes(whole[:start] + text + whole[start + len(text) :])
        found = faults_of(path)
        assert 1 <= len(found) <= 2 * sqlite.MOST_DAMAGE, name
        assert not any("Zebrafish" in fault for fault in found), found


def test_sixty_damages_and_none_is_silent(tmp_path: Path) -> None:
    """Bytes, letters, pages, ends: no traceback, and nothing reads otherwise in a store said to be sound."""
    whole = lasting_demonstration(tmp_path, cases=5)
    recorded = texts_of(Store.open(whole))
    assert len(recorded) > 5
    seen = list(outcomes(whole, tmp_path, 60, seed=11))
    assert sum(one.refused for one in seen) > 20
    assert not [one for one in seen if one.silent]
    assert not [one.unforeseen for one in seen if one.unforeseen]
    said = "\n".join(sentence for one in seen for sentence in one.sentences)
    assert not [text for text in recorded if text in said]


def texts_of(store: Store) -> set[str]:
    """Every text of some length that somebody recorded."""
    found: set[str] = set()
    for code in caseload.codes(store):
        record = caseload.case(store, code)
        for kind in ("visits", "contacts", "findings", "decisions", "holds", "screens"):
            for entry in getattr(record, kind):
                found |= {
                    str(getattr(entry, name)) for name in ("note", "reason") if getattr(entry, name, None)
                }
    return {text for text in found if len(text) > 9}


def test_a_kind_that_is_none_is_said_with_its_entry(tmp_path: Path) -> None:
    """Found by the soak: one letter of the word was another."""
    path = lasting_demonstration(tmp_path)
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute('DROP TRIGGER "entry_no_update"')
        of_the_case = "SELECT max(e.id) FROM entry e JOIN cases c ON c.id = e.case_id WHERE c.code = ?"
        (entry,) = connection.execute(f"{of_the_case} AND e.kind = 'measure'", (CODE,)).fetchone()
        connection.execute("UPDATE entry SET kind = 'measurR' WHERE id = ?", (entry,))
    said = look(path, load()).said
    assert said["history"].startswith(f"entry {entry} of the store cannot be read, its kind is none")
