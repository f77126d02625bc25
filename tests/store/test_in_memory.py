"""A listing of a caseload file lies on no disk, and a crash leaves no picture of the memory."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from armrise.store.caseload.read import codes
from armrise.store.database.place import Store, StoreError
from armrise.store.exchange.into.caseload_file import demo_path
from armrise.tui.shell.intake import Source, opened
from tests.clinic.build import rules


def test_a_caseload_file_is_listed_from_memory_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    with opened(Source(demo=False, caseload=demo_path(), store=None), rules()) as store:
        assert len(codes(store)) == 36
        with store.session() as session:
            assert session.connection().exec_driver_sql("PRAGMA database_list").fetchone()[2] == ""
        assert not list(tmp_path.iterdir())
        with pytest.raises(StoreError, match="lies in no file"):
            _ = store.path
        with opened(Source(demo=True, caseload=None, store=None), rules()) as other:
            assert len(codes(other)) == 36  # each in a memory of its own
    with pytest.raises(StoreError, match="in memory"):
        codes(store)


def test_a_crash_with_a_store_open_leaves_no_picture_of_the_memory(store: Store) -> None:
    resource = pytest.importorskip("resource")
    hard = resource.getrlimit(resource.RLIMIT_CORE)[1]
    resource.setrlimit(resource.RLIMIT_CORE, (hard, hard))
    Store.open(store.path)
    assert resource.getrlimit(resource.RLIMIT_CORE) == (0, hard)
