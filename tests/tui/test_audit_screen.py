"""The audit page driven by keys over the demo caseload and over a store without a case; and its pictures."""

from __future__ import annotations

import asyncio
import threading
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from armrise.store.clinic.audit.facts import Period
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Share
from armrise.store.clinic.audit.sheet import Table
from armrise.store.database.place import Store
from armrise.tui.app.app import ArmriseApp
from armrise.tui.board.board import BoardScreen
from armrise.tui.pages.audit import AuditScreen
from armrise.tui.pages.audit_page import Lengths, stage_page
from armrise.tui.pages.audit_words import rows
from armrise.tui.shell.door import Door
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import case, rules
from tests.clinic.counted import audit
from tests.tui.case_store import press
from tests.tui.conftest import settled
from tests.tui.form_store import NOW, TODAY, app_on, painted

SMALL, WIDE = (80, 24), (120, 40)


async def opened(pilot: Any, *keys: str) -> str:
    """What the audit page shows after these keys."""
    await settled(pilot)
    await press(pilot, "M", *keys)
    return painted(pilot)


async def test_the_last_whole_month_is_counted_with_its_denominators(app: ArmriseApp) -> None:
    async with app.run_test(size=SMALL) as pilot:
        told = await opened(pilot)
        for text in (
            "Audit Sun 1 Feb to Sat 28 Feb",
            "FICTIONAL CASELOAD",
            "NOT SIGNED OFF",
            "whole clinic (1 of 7)",
            "being treated on Sat 28 Feb 35, 1 of them on hold",
            "RC Rotator-cuff- 18 4 1 2 of 18 5 of 18",
        ):
            assert text in told, text
        await press(pilot, "escape")
        assert isinstance(app.screen, BoardScreen)


async def test_arrows_step_through_months_and_stop_at_the_clinic_date(app: ArmriseApp) -> None:
    async with app.run_test(size=SMALL) as pilot:
        assert "Sun 1 Mar to Mon 2 Mar, so far" in await opened(pilot, "right")
        await press(pilot, "right")
        assert "Mon 2 Mar is the clinic date: nothing after it can be counted." in painted(pilot)
        await press(pilot, "escape", "left", "left")
        assert "Thu 1 Jan to Sat 31 Jan" in painted(pilot)
        await press(pilot, "left")
        assert "Mon 1 Dec 2025 to Wed 31 Dec 2025" in painted(pilot)


async def test_pathways_by_a_key_and_the_curve_of_a_stage_with_its_table(app: ArmriseApp) -> None:
    async with app.run_test(size=SMALL) as pilot:
        assert "RC Rotator-cuff-related shoulder pain (2 of 7)" in await opened(pilot, "p")
        await press(pilot, "P", "P")
        assert "FX Proximal humerus fracture (7 of 7)" in painted(pilot)
        await press(pilot, "p", "p", "2")
        told = painted(pilot)
        for text in (
            "RC1 Settle: how long stays last (1 of 4)",
            "usual 14",
            "long 28",
            "+ has not moved on",
            "12 of 17 stays moved on, 4 still there, 1 left otherwise. Median 15 days.",
            "Past usual 8 of 17, 2 not known yet",
        ):
            assert text in told, text
        await press(pilot, "T")
        assert "14 days 14 6 0.53" in painted(pilot)
        await press(pilot, "n")
        assert "RC2 Base load: how long stays last (2 of 4)" in painted(pilot)
        await press(pilot, "1")
        assert "CASES" in painted(pilot)


async def test_e_writes_the_page_beside_the_store(app: ArmriseApp, door: Door) -> None:
    async with app.run_test(size=WIDE) as pilot:
        told = await opened(pilot, "e")
        path = door.store.path.with_name("audit-2026-02-01-to-2026-02-28.html")
        assert "Audit written to" in told
        assert "Rotator-cuff-related" in path.read_text(encoding="utf-8")
        assert path.stat().st_mode & 0o777 == 0o600
        assert path.with_suffix(".pdf").read_bytes().startswith(b"%PDF")
        await press(pilot, "escape", "e")
        assert "Audit written to" in painted(pilot)


async def test_e_keeps_what_lies_there_and_is_no_page_of_ours(app: ArmriseApp, door: Door) -> None:
    path = door.store.path.with_name("audit-2026-02-01-to-2026-02-28.html")
    path.symlink_to(door.store.path)
    before = door.store.path.read_bytes()
    async with app.run_test(size=WIDE) as pilot:
        assert "cannot write the audit to" in await opened(pilot, "e")
    path.unlink()
    assert door.store.path.read_bytes() == before


async def test_a_period_with_nothing_in_it_and_an_empty_store_say_so(tmp_path: Path) -> None:
    store = Store.create(tmp_path / "empty.armrise", zone="Europe/London", fictional=True)
    app = ArmriseApp(Opening(prepare=lambda: StoreDoor(store, rules(), "TK", TODAY, lambda: NOW)))
    async with app.run_test(size=SMALL) as pilot:
        told = await opened(pilot)
        assert "there is nothing to count" in told
        await press(pilot, "2")
        assert "No stay in any stage is recorded yet." in painted(pilot)
        await press(pilot, "p", "n", "T", "e", "escape", "escape")
        assert isinstance(app.screen, BoardScreen)


async def test_leaving_stops_the_counting(
    app: ArmriseApp, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    going_on, ended = threading.Event(), threading.Event()

    def slow(period: Any, tell: Any) -> Audit:
        tell(0, 36)
        going_on.wait(10)
        try:
            tell(20, 36)
        finally:
            ended.set()
        raise AssertionError("nobody stopped it")

    monkeypatch.setattr(door, "audit", slow)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await pilot.press("M")
        for _ in range(50):
            await pilot.pause(0.02)
            if "Counting: 0 of 36 cases ... Esc stops." in painted(pilot):
                break
        assert "Counting: 0 of 36 cases ... Esc stops." in painted(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, BoardScreen)
        going_on.set()
        assert await asyncio.to_thread(ended.wait, 10)
        await pilot.pause()
        assert isinstance(app.screen, BoardScreen)


async def test_a_store_that_cannot_be_read_says_why(
    app: ArmriseApp, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:

    def broken(period: Any, tell: Any) -> Audit:
        raise OSError("the disk is gone")

    monkeypatch.setattr(door, "audit", broken)
    async with app.run_test(size=SMALL) as pilot:
        assert "The audit cannot be counted: the disk is gone" in await opened(pilot)


async def test_an_ascii_terminal_has_the_table_and_plain_letters_alone(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ARMRISE_ASCII", "1")
    async with app_on(door).run_test(size=SMALL) as pilot:
        told = await opened(pilot, "2")
        assert "This terminal shows no charts" in told
        assert "12 days 15 1 0.93" in told
        await press(pilot, "T", "1", "space", "space")
        assert (told + painted(pilot)).isascii()


# pure parts


def test_a_table_stands_in_columns_where_they_fit_and_in_sentences_where_not() -> None:
    table = Table("x", "X", ("stage", "stays", "moved on"), (("RC1 Settle", "17", "12 of 17"),))

    def told(width: int) -> list[str]:
        return [piece.text for piece in rows(table, width)]

    assert told(60) == ["stage       stays  moved on", "RC1 Settle  17     12 of 17"]
    assert told(25) == ["stage   stays  moved on", "RC1     17     12 of 17", "Settle"]
    assert told(18) == ["stays  moved on", "RC1 Settle", "17     12 of 17"], "the name above its numbers"
    assert told(16) == ["RC1 Settle", "stays 17, moved on 12 of 17"], "no number is cut"


def test_a_count_stays_beside_its_words() -> None:
    table = Table("x", "X", ("what", "count"), (("new", "9"), ("a" * 50, "1 of 4"), ("b" * 80, "2")))
    told = [p.text for p in rows(table, 80)]
    assert told[0] == "new" + " " * 53 + "9"
    assert told[1].endswith("  1 of 4")
    assert told[2] == "b" * 80 + ": 2"


def test_the_days_of_a_curve_are_round_numbers_apart_enough() -> None:
    ticks = Lengths.up_to(63).ticks(70)
    assert [word for _, word in ticks] == [
        "day 0",
        "day 10",
        "day 20",
        "day 30",
        "day 40",
        "day 50",
        "day 60",
    ]
    assert Lengths.up_to(0).ticks(70)[0] == (0.0, "day 0")


def test_a_stage_nobody_left_is_drawn_level_with_every_stay_on_the_line() -> None:
    record = case("RC1", day=20, code="C-1").record()
    stage = audit([record], rules(), Period(date(2026, 2, 1), TODAY, TODAY)).clinic.stages[0]
    page = stage_page(stage, "1 of 1", 20)
    assert (page.strokes[0].xs, page.strokes[0].ys) == ([0, 20], [1.0, 1.0])
    assert (page.marks[-1].xs, page.marks[-1].ys) == ([20.0], [1.0])
    assert stage.usual is not None
    assert stage.usual.past == Share(1, 1)
    assert "Median not reached." in page.notes[0]
    assert page.rows == []


# pictures


PICTURES = {
    "counts": (SMALL, ["p"]),
    "curve": (SMALL, ["p", "2", "n"]),
    "counts_wide": (WIDE, []),
    "curve_wide": (WIDE, ["p", "2"]),
}


@pytest.mark.parametrize("name", PICTURES)
def test_picture(name: str, snap_compare: Any, app: ArmriseApp) -> None:
    size, keys = PICTURES[name]

    async def before(pilot: Any) -> None:
        await opened(pilot, *keys)
        assert isinstance(pilot.app.screen, AuditScreen)

    assert snap_compare(app, terminal_size=size, run_before=before)


def test_picture_without_colour(snap_compare: Any, door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")

    async def before(pilot: Any) -> None:
        await opened(pilot, "p", "2")

    assert snap_compare(app_on(door), terminal_size=SMALL, run_before=before)
