"""A store whose power was cut between two writes to the file: a reader finds it as it was.

SQLite keeps what it is about to overwrite in a journal beside the file and undoes from it (its file format,
section 3); one that is only to be read is refused while such a journal waits.
"""

from __future__ import annotations

import shutil
from contextlib import closing
from pathlib import Path

import pytest

from armrise.store.database.place import Store, driver_of, remembered
from armrise.store.verify.verify import verify
from tests.encrypted import cheap_keys, encrypt, needs_the_extra

__all__ = ["cheap_keys"]


@pytest.fixture(params=["plain", pytest.param("encrypted", marks=needs_the_extra)])
def cut(request: pytest.FixtureRequest, empty_store: Path, tmp_path: Path, cheap_keys: None) -> Path:
    """The files as a cut leaves them: a thousand texts half written, and the journal to undo them."""
    whole = Path(shutil.copy(empty_store, tmp_path / "whole.armrise"))
    if request.param == "encrypted":
        encrypt(whole)
    before = whole.read_bytes()
    after = tmp_path / "cut.armrise"
    with closing(driver_of(whole).connect()) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA cache_size = 1")
        connection.execute("BEGIN IMMEDIATE")
        texts = ((f"{number}", "x" * 500) for number in range(1000))
        connection.executemany("INSERT INTO remembered (name, value) VALUES (?, ?)", texts)
        for end in ("", "-journal"):
            shutil.copy(f"{whole}{end}", f"{after}{end}")
        connection.rollback()
    assert after.read_bytes()[:4096] != before[:4096] or after.stat().st_size != len(before)
    return after


def test_it_opens_for_reading_alone_as_it_was(cut: Path) -> None:
    store = Store.open(cut, read_only=True)
    assert remembered(store, "7") == ""
    assert verify(driver_of(cut)).sound


def test_verified_before_anything_else_it_is_sound(cut: Path) -> None:
    assert verify(driver_of(cut)).sound
    assert not Path(f"{cut}-journal").exists()
