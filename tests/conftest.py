"""What holds for every test: how a pilot waits, and which rules are read.

Whoever runs the tests may have rules of their own; tests read those shipped.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.place import compile_once, leave_at_once, write_in_memory

compile_once()
write_in_memory()
leave_at_once()
gc.set_threshold(
    200_000, 50, 100
)  # screens and records stay for long: searching them costs a fifth of all time


def pytest_configure(config: pytest.Config) -> None:
    """Where tests are run; who hands them out to workers needs nothing of this."""
    if hasattr(config, "workerinput") or not config.getoption("numprocesses", None):
        from tests.handlers import look_once
        from tests.quiet import wait_for_quiet
        from tests.read_once import read_once
        from tests.styles import parse_once

        wait_for_quiet()
        parse_once()
        look_once()
        read_once()


def pytest_collection_finish() -> None:
    """What is imported and collected stays to the end: no search for what may go looks at it again."""
    gc.freeze()


def pytest_sessionfinish() -> None:
    """Nor does what the last tests left, which is looked through several times at the very end."""
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def no_rules_of_ones_own(tmp_path_factory: pytest.TempPathFactory) -> None:
    """An empty configuration folder, for this process and those it starts."""
    empty: Path = tmp_path_factory.mktemp("config")
    os.environ["XDG_CONFIG_HOME"] = os.environ["XDG_CACHE_HOME"] = str(empty)
    for name in ("ARMRISE_RULES", "ARMRISE_STORE", "ARMRISE_WORDS"):
        os.environ.pop(name, None)


@pytest.fixture(scope="session", autouse=True)
def a_terminal_of_all_colours() -> None:
    """Pictures hold the colours of the theme, not those of whatever terminal the tests are started from."""
    os.environ["COLORTERM"] = "truecolor"


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store holding the demo caseload, to be copied and never written to."""
    from tests.demo_store import make_store

    return make_store(tmp_path_factory.mktemp("store") / "demo.armrise")


@pytest.fixture(scope="session")
def made(demonstration: Path) -> Path:
    """The store that is copied for each test; a file may put one of its own in its place."""
    return demonstration


@pytest.fixture(scope="module")
def worked_out_once() -> Iterator[None]:
    """For a file whose tests ask much of the same records: what follows from a record is kept meanwhile."""
    from tests.known_standings import remembered

    with remembered():
        yield
