"""The case screen, charts and the patient's view as pictures, at fixed size and date, over the demo."""

from __future__ import annotations

import pytest

from tests.tui.case_store import at_case

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


@pytest.mark.parametrize("name", SHOWN)
def test_picture(snap_compare, app, name):
    size, code, keys = SHOWN[name]

    async def before(pilot):
        await at_case(pilot, code, *keys)

    assert snap_compare(app, terminal_size=size, run_before=before)
