"""The case screen, charts and the patient's view as pictures, at fixed size and date, over the demo."""

from __future__ import annotations

import asyncio

import pytest

from tests.tui.case_store import app_on, at_case
from tests.tui.form_store import make_store

SMALL, WIDE = (80, 24), (120, 40)
SHOWN = {
    "case": (SMALL, "BY-018", ["enter"]),
    "case-after-surgery": (SMALL, "BY-003", ["enter"]),
    "case-wide": (WIDE, "BY-102", ["enter"]),
    "pain": (SMALL, "BY-018", ["g"]),
    "range": (SMALL, "BY-027", ["g", "2"]),
    "range-wide": (WIDE, "BY-027", ["g", "2"]),
    "score": (SMALL, "BY-033", ["g", "3"]),
    "table": (SMALL, "BY-018", ["g", "T"]),
    "patient": (SMALL, "BY-018", ["t"]),
}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return make_store(tmp_path_factory.mktemp("pictures") / "demo.armrise")


@pytest.fixture
def loop():
    """The picture fixture runs the application itself and wants a loop to be set."""
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    yield
    loop.close()


@pytest.mark.parametrize("name", SHOWN)
def test_picture(snap_compare, loop, made, tmp_path, name):
    size, code, keys = SHOWN[name]

    async def before(pilot):
        await at_case(pilot, code, *keys)

    assert snap_compare(app_on(made, tmp_path)[0], terminal_size=size, run_before=before)
