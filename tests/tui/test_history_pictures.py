"""The history, an entry opened, a correction, the kinds and a generated form as pictures."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.safety import Onset
from armrise.tui.case.history import HistoryScreen
from armrise.tui.case.history_list import EntryList
from armrise.tui.case.record import RecordScreen
from armrise.tui.forms.kit.correct import CorrectScreen
from armrise.tui.forms.kit.entry import EntryScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import press

Make = Callable[[Door], Any]


def first(door: Door, code: str, kind: type[Entry], value: int | None = None) -> Entry:
    return next(
        told.entry
        for told in door.timeline(code).told
        if type(told.entry) is kind and (value is None or told.entry.value == value)  # type: ignore[attr-defined]
        and (value is None or told.withdrawn_by is not None)
    )  # fmt: skip


def screen(of: type[Any], code: str, *more: Any) -> Make:
    return lambda door: of(door, door.standing(code), *more)


def onset(door: Door) -> CorrectScreen:
    return CorrectScreen(door, door.standing("BY-003"), first(door, "BY-003", Onset))


SMALL, WIDE = (80, 24), (120, 40)
PICTURES: dict[str, tuple[Make, tuple[int, int], tuple[str, ...]]] = {
    "timeline-80x24": (screen(HistoryScreen, "BY-027"), SMALL, ("@withdrawn",)),
    "timeline-120x40": (screen(HistoryScreen, "BY-027"), WIDE, ("@withdrawn",)),
    "entry-80x24": (screen(HistoryScreen, "BY-027"), SMALL, ("@withdrawn", "enter")),
    "correction-80x24": (onset, SMALL, ("2", *"wrong", "enter", *"3", "space", *"feb")),
    "kinds-80x24": (screen(RecordScreen, "BY-027"), SMALL, ()),
    "finding-80x24": (screen(EntryScreen, "BY-027", "finding"), SMALL, tuple("sling")),
    "orders-120x40": (screen(EntryScreen, "BY-003", "orders"), WIDE, ("tab", "tab")),
}


def pressing(door: Door, keys: tuple[str, ...]) -> Callable[[Pilot[Any]], Any]:
    async def run(pilot: Pilot[Any]) -> None:
        await settle(pilot)
        for key in keys:
            if key == "@withdrawn":
                wrong = first(door, "BY-027", Measure, 65)
                pilot.app.screen.query_one(EntryList).go_to(wrong.id)
                await settle(pilot)
            else:
                await press(pilot, key)

    return run


@pytest.mark.parametrize("name", PICTURES)
def test_picture(name: str, door: Door, snap_compare: Any) -> None:
    make, size, keys = PICTURES[name]
    assert snap_compare(FormApp(make(door)), terminal_size=size, run_before=pressing(door, keys))


async def test_without_colour_a_withdrawn_entry_says_so(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = FormApp(HistoryScreen(door, door.standing("BY-027")))  # type: ignore[arg-type]
    async with app.run_test(size=SMALL) as pilot:
        await pressing(door, ("@withdrawn",))(pilot)
        rows = app.screen.query_one(EntryList)._rows
        wrong = first(door, "BY-027", Measure, 65)
        assert any("WITHDRAWN" in row.text for row in rows if row.entry == wrong.id)


async def test_an_ascii_terminal_gets_ascii_alone(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ARMRISE_ASCII", "1")
    app = FormApp(HistoryScreen(door, door.standing("BY-027")))  # type: ignore[arg-type]
    async with app.run_test(size=SMALL) as pilot:
        await settle(pilot)
        entries = app.screen.query_one(EntryList)
        for line in range(entries.size.height):
            assert entries.render_line(line).text.isascii()
