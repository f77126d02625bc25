"""What was written is said whole at 60 columns, names its undo, and goes at the next key."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from textual.screen import ModalScreen

from armrise.tui.app.screens import SCREENS
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.confirmation import confirmed_lines
from tests.tui.conftest import FakeDoor, a_standing, an_app, settled
from tests.tui.form_store import painted, press

TEXTS = Path(__file__).parents[1] / "golden" / "texts"
NARROW = 58
"""Columns for words in a window of 60."""


def written_by_forms() -> list[str]:
    """What each form of the demonstration writes, and every kind of entry, as the store words it."""
    forms = (TEXTS / "forms.txt").read_text().split("##### ")[1:]
    told = ["; ".join(re.findall(r"^  written: (.*)$", form, re.M)) for form in forms]
    for kind in sorted(TEXTS.glob("entry-*.txt")):
        told += re.findall(r"^  dated: (.*)$", kind.read_text(), re.M)[:3]
    return [f"Written: BY-066 {words}." for words in told if words]


@pytest.mark.parametrize("undo", ["U undo", ""])
def test_nothing_that_is_written_is_cut_at_60_columns(undo: str) -> None:
    said = written_by_forms()
    assert len(said) > 80
    for told in said:
        lines = confirmed_lines(told, undo, NARROW)
        rows = ["".join(span.text for span in line) for line in lines]
        assert max(map(len, rows)) <= NARROW
        assert " ".join(" ".join(rows).split()) == " ".join(f"{told} {undo}".split())
        assert lines[0][0] == ("Written:", "strong")


@pytest.mark.parametrize(("room", "rows"), [(25, 1), (24, 2)])
def test_the_undo_takes_a_row_of_its_own_only_where_it_must(room: int, rows: int) -> None:
    assert len(confirmed_lines("Written: letter.", "U undo", room)) == rows


async def test_a_long_confirmation_stands_over_the_foot_until_the_next_key(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """U takes back what is said there, also where the cursor is on another case by then."""
    told = "Written: NV-121 contact on Mon 2 Mar: spoke, load cut; " + "then " * 20 + "the very end."
    opened: list[tuple[str, str]] = []

    def form(name: str) -> Any:
        class Form(ModalScreen[str]):
            def on_mount(self) -> None:
                self.dismiss(told if name == "ContactScreen" else f"Undone: {opened[-1][1]} contact.")

        def make(_: Any, standing: Any) -> Any:
            opened.append((name, standing.code))
            return Form()

        return make

    for name in ("ContactScreen", "UndoScreen"):
        monkeypatch.setattr(f"{SCREENS[name]}.{name}", form(name))
    app = an_app(FakeDoor())
    async with app.run_test(size=(60, 20)) as pilot:
        await settled(pilot)
        await press(pilot, "down", "p")
        assert told in painted(pilot)
        assert "the very end. U undo" in painted(pilot)
        app.screen.query_one(CaseList).go_to("NV-110")
        await press(pilot, "U")
        assert opened == [("ContactScreen", "NV-121"), ("UndoScreen", "NV-121")]
        assert "Undone: NV-121 contact." in painted(pilot)
        assert "U undo" not in painted(pilot).partition("Undone:")[2].partition("check-in")[0]
        await press(pilot, "down")
        assert "Undone" not in painted(pilot)
        await press(pilot, "down", "U")  # said no more: about the case in view
        assert opened[-1] != ("UndoScreen", "NV-121")
        await press(pilot, "enter", "p")
        assert told in painted(pilot)
        # what was written may take the case off the list: the undo is still about it
        standing = a_standing(opened[-1][1])
        monkeypatch.setattr(FakeDoor, "standing", lambda *_: standing, raising=False)
        app.screen_stack[0].listing.sort([a_standing("NV-500")])  # type: ignore[attr-defined]
        await press(pilot, "U")
        assert opened[-1] == ("UndoScreen", standing.code)
