from pathlib import Path

import pytest

from armrise.store.database.place import Store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store.create(tmp_path / "caseload.armrise", zone="Europe/London")
