import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from armrise.store.database.place import Store
from armrise.store.database.server.statements import role_sql, tables_sql
from tests.store.cluster import Cluster, missing, started


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


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """A PostgreSQL server of the tests' own; without one tests are skipped, or fail where it is required."""
    if why := missing():
        if os.environ.get("ARMRISE_TEST_SERVER") == "required":
            pytest.fail(f"the tests on a server were asked for: {why}")
        pytest.skip(why)
    with started() as running:
        running.run("CREATE ROLE clinicians", "CREATE ROLE tk LOGIN IN ROLE clinicians")
        running.run("CREATE DATABASE empty_tables")
        running.run(tables_sql(), role_sql("clinicians"), database="empty_tables")
        running.run("CREATE DATABASE empty TEMPLATE empty_tables STRATEGY FILE_COPY")
        Store.create(running.address("empty"), zone="Europe/London", author="TK")
        yield running


@pytest.fixture
def on_server(cluster: Cluster) -> Store:
    """An empty store on a server, as somebody opens it who records in it and does not own it."""
    return Store.open(cluster.address(cluster.database("empty"), "tk"))
