"""First visit, review and measures as pictures, block by block; and what is said without colour."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.tui.forms.first_visit.screen import FirstVisitScreen
from armrise.tui.forms.measures.screen import MeasuresScreen
from armrise.tui.forms.visit.review import ReviewScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import painted
from tests.tui.visit_keys import ALL_NO, FIRST_VISIT, haste, keys

BLOCKS = dict(FIRST_VISIT)
HEAD = BLOCKS["identity"]
NAMES = list(BLOCKS)
GRADUAL = [*HEAD, *ALL_NO, *BLOCKS["mechanism"], *BLOCKS["irritability"]]


def pages(to: str) -> list[str]:
    """From the block after the head to the block ``to``."""
    return ["pagedown"] * (NAMES.index(to) - 1)


FIRST: dict[str, list[str]] = {
    "identity": HEAD[:-1],
    "red-flag screen": [*HEAD, "y", "n"],
    "mechanism": [*HEAD, *pages("mechanism"), *keys("1", "-16", "<enter>", "cuff repair", "<enter>", "-15")],
    "irritability": [*HEAD, *pages("irritability"), *BLOCKS["irritability"][:-1]],
    "range": [*HEAD, *pages("range"), *BLOCKS["range"][:-1]],
    "strength": [*HEAD, *pages("strength"), *BLOCKS["strength"][:-1]],
    "neck and nerves": [*HEAD, *pages("neck and nerves"), *keys("nyy")],
    "outcome": [*HEAD, *pages("outcome"), *keys("1", "58", "<enter>", "34")],
    "context": [*HEAD, *pages("context"), *BLOCKS["context"][:-1]],
    "decision": [*GRADUAL, *["pagedown"] * 5, *keys("<enter>", "<enter>", "<enter>", "<enter>")],
}
WHAT_IS_FOUND = keys("n", "3241", "a", "412", "45 90p", "<enter>", "<enter>", "<enter>", "5")


def pressing(typed: list[str]) -> Callable[[Pilot[Any]], Any]:
    """Press keys, once the case has been read."""

    async def run(pilot: Pilot[Any]) -> None:
        await settle(pilot)
        await haste(pilot, typed)

    return run


@pytest.mark.parametrize("block", FIRST)
def test_first_visit(block: str, door: Door, snap_compare: Any) -> None:
    app = FormApp(FirstVisitScreen(door))
    assert snap_compare(app, terminal_size=(80, 24), run_before=pressing(FIRST[block]))


def test_first_visit_where_there_is_room(door: Door, snap_compare: Any) -> None:
    app = FormApp(FirstVisitScreen(door))
    assert snap_compare(app, terminal_size=(120, 40), run_before=pressing(FIRST["decision"]))


@pytest.mark.parametrize(
    ("name", "typed"),
    [("tells", WHAT_IS_FOUND[:5]), ("found", WHAT_IS_FOUND), ("decides", [*WHAT_IS_FOUND, "n"])],
)
def test_review(name: str, typed: list[str], door: Door, snap_compare: Any) -> None:
    app = FormApp(ReviewScreen(door, door.standing("BY-018")))
    assert snap_compare(app, terminal_size=(80, 24), run_before=pressing(typed))


def test_measures(door: Door, snap_compare: Any) -> None:
    app = FormApp(MeasuresScreen(door, door.standing("BY-018")))
    typed = keys("<enter>", "3241", "150 300")
    assert snap_compare(app, terminal_size=(80, 24), run_before=pressing([*typed, "enter"]))


async def test_without_colour_the_fault_the_focus_and_the_warning_are_words(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with FormApp(FirstVisitScreen(door)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*HEAD, "y", "w"])
        said = painted(pilot)
    assert "POSSIBLE RED FLAG, SAME DAY" in said
    assert '! "w" is no answer' in said
    assert "> not asked unreduced dislocation or deformity" in said
