"""The application on a real store, opened at one case."""

from __future__ import annotations

from typing import Any

from textual.pilot import Pilot

from armrise.tui.widgets.caselist import CaseList
from tests.quiet import settle
from tests.tui.conftest import settled


async def at_case(pilot: Pilot[Any], code: str, *keys: str) -> None:
    """Put the cursor of the list on a case, then press keys."""
    await settled(pilot)
    pilot.app.screen_stack[0].query_one(CaseList).go_to(code)
    await press(pilot, *keys)


async def press(pilot: Pilot[Any], *keys: str) -> None:
    """Press keys one by one, each read to its end; painted is what the last leaves."""
    for key in keys:
        await pilot.press(key)
        await settle(pilot)
