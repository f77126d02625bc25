import shutil
from pathlib import Path

import pytest

from armrise.store.database.place import Store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store.create(tmp_path / "caseload.armrise", zone="Europe/London")


@pytest.fixture(scope="module")
def demo(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demo caseload, in a store of the test file's own."""
    return Store.open(shutil.copy(made, tmp_path_factory.mktemp("demo") / "demo.armrise"))
