"""The forms for events, outcomes, letters, orders and suppositions as pictures, on the demo caseload."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.tui.app.screens import screen_named
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import open_copy, painted, press, type_in

WORDS = "="
"""A key list entry beginning with this is typed as text."""

PICTURES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "event": ("EventScreen", "BY-015", ("2", "left", "enter", "y", "=fell on the slip", "enter", "y")),
    "flag_cleared": ("FlagOutcomeScreen", "BY-012", ("1", "=scan shows no mass")),
    "flag_referred": ("FlagOutcomeScreen", "BY-007", ("3", "=rheumatology", "enter", "1", "enter", "y")),
    "letter": ("LetterScreen", "BY-087", ("1",)),
    "decision": ("LetterScreen", "BY-081", ("f4", "=carry on as agreed")),
    "orders": ("OrdersScreen", "BY-102", (*["tab"] * 6, "=week 6", "tab", "=30")),
    "orders_written": ("OrdersScreen", "BY-102", (*["tab"] * 6, "=week 6", "tab", "=30", "f2")),
    "clearance": ("OrdersScreen", "BY-072", ("f4", "1", "2", "4")),
    "suppose": ("SupposeScreen", "BY-060", ("enter", "y", "3")),
}


def opened(made: Path, to: Path, name: str) -> FormApp:
    screen, code, _ = PICTURES[name]
    door = open_copy(made, to / "copy.armrise")
    return FormApp(screen_named(screen)(door, door.standing(code)))


def pressing(name: str) -> Callable[[Pilot[Any]], Any]:
    async def run(pilot: Pilot[Any]) -> None:
        await settle(pilot)
        for key in PICTURES[name][2]:
            await (type_in(pilot, key[1:]) if key.startswith(WORDS) else press(pilot, key))

    return run


@pytest.mark.parametrize("name", PICTURES)
def test_picture(name: str, made: Path, tmp_path: Path, snap_compare: Any) -> None:
    app = opened(made, tmp_path, name)
    assert snap_compare(app, terminal_size=(80, 24), run_before=pressing(name))


def test_two_verdicts_side_by_side_on_a_wide_screen(made: Path, tmp_path: Path, snap_compare: Any) -> None:
    app = opened(made, tmp_path, "suppose")
    assert snap_compare(app, terminal_size=(120, 40), run_before=pressing("suppose"))


async def test_without_colour_a_fault_is_still_seen(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(made, tmp_path, "flag_referred").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "f2")
        shown = painted(pilot)
        assert "! referred to: say to whom" in shown
        assert "SAME DAY" in shown
