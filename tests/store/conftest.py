import shutil
from pathlib import Path

import pytest

from armrise.store.database.place import Store


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that holds nothing, to be copied and never written to."""
    return Store.create(tmp_path_factory.mktemp("empty") / "empty.armrise", zone="Europe/London").path


@pytest.fixture
def store(empty_store: Path, tmp_path: Path) -> Store:
    """An empty store of the test's own."""
    return Store.open(shutil.copy(empty_store, tmp_path / "caseload.armrise"))


@pytest.fixture(scope="module")
def demo(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demo caseload, in a store of the test file's own."""
    return Store.open(shutil.copy(made, tmp_path_factory.mktemp("demo") / "demo.armrise"))
