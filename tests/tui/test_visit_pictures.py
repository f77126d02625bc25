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


ROOM = (80, 24)

FIRST: dict[str, list[str]] = {
    "identity": HEAD[:-1],
    "red-flag screen": [*HEAD, "y", "n"],
    "mechanism": keys("1", "-16", "<enter>", "cuff repair", "<enter>", "-15"),
    "irritability": BLOCKS["irritability"][:-1],
    "range": BLOCKS["range"][:-1],
    "strength": BLOCKS["strength"][:-1],
    "neck and nerves": keys("nyy"),
    "outcome": keys("1", "58", "<enter>", "34"),
    "context": BLOCKS["context"][:-1],
    "decision": keys("<enter>", "<enter>", "<enter>", "<enter>"),
}
"""What is typed in each block; from the third on the form is paged to it first."""
BEFORE = {"decision": GRADUAL}
WHAT_IS_FOUND = keys("n", "3241", "a", "412", "45 90p", "<enter>", "<enter>", "<enter>", "5")


def pressing(typed: list[str]) -> Callable[[Pilot[Any]], Any]:
    """Press keys, once the case has been read."""

    async def run(pilot: Pilot[Any]) -> None:
        await settle(pilot)
        await haste(pilot, typed)

    return run


def visiting(block: str) -> Callable[[Pilot[Any]], Any]:
    """Go to a block of the first visit and type in it; what is pictured is the block that is named."""

    async def run(pilot: Pilot[Any]) -> None:
        await settle(pilot)
        form, at = pilot.app.screen, NAMES.index(block)
        assert isinstance(form, FirstVisitScreen)
        if at > NAMES.index("red-flag screen"):
            await haste(pilot, BEFORE.get(block, HEAD))
            while form.at < at:  # a block longer than the screen takes more than one page
                await pilot.press("pagedown")
                await settle(pilot)
        await haste(pilot, FIRST[block])
        assert form.at == at

    return run


@pytest.mark.parametrize("block", FIRST)
def test_first_visit(block: str, door: Door, snap_compare: Any) -> None:
    app = FormApp(FirstVisitScreen(door))
    assert snap_compare(app, terminal_size=ROOM, run_before=visiting(block))


def test_first_visit_where_there_is_room(door: Door, snap_compare: Any) -> None:
    app = FormApp(FirstVisitScreen(door))
    assert snap_compare(app, terminal_size=(120, 40), run_before=visiting("decision"))


@pytest.mark.parametrize(
    ("name", "typed"),
    [("tells", WHAT_IS_FOUND[:5]), ("found", WHAT_IS_FOUND), ("decides", [*WHAT_IS_FOUND, "n"])],
)
def test_review(name: str, typed: list[str], door: Door, snap_compare: Any) -> None:
    app = FormApp(ReviewScreen(door, door.standing("BY-018")))
    assert snap_compare(app, terminal_size=ROOM, run_before=pressing(typed))


def test_measures(door: Door, snap_compare: Any) -> None:
    app = FormApp(MeasuresScreen(door, door.standing("BY-018")))
    typed = keys("3241", "150 300")
    assert snap_compare(app, terminal_size=ROOM, run_before=pressing([*typed, "enter"]))


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
