"""The demo caseload in a store, on its own clinic date."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from armrise.store.caseload.taking.take import take_whole
from armrise.store.database.place import Store
from armrise.store.exchange.into import caseload_file

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)


def make_store(path: Path) -> Path:
    """A store holding the demo caseload."""
    store = Store.create(path, zone="Europe/London", fictional=True)
    take_whole(store, caseload_file.read(caseload_file.demo_path()))
    return path
