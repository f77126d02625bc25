"""The diary strip by its keys: what is listed, stored and refused (ruling 74)."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from armrise.store.record.kinds.pain import Morning, Session
from armrise.tui.app.app import BURST, ArmriseApp
from armrise.tui.forms.visit.diary import DiaryLine, DiaryScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import NOW, burst, new_entries, newest, painted, press, type_in
from tests.tui.test_forms_draft import kept, later

LONG = "-7: 221/231*2/-2/?/322/.1./2 2 .; whole"
CODE = "BY-024"
"""On record up to Thu 12 February."""


def diary(door: Door) -> FormApp:
    return FormApp(DiaryScreen(door, door.standing(CODE)))


async def test_74_each_day_is_listed_before_the_key_that_saves(door: Door) -> None:
    before = newest(door)
    app = diary(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "On record up to the session of Thu 12 Feb, 18 days ago." in painted(pilot)
        await type_in(pilot, LONG)
        for said in (
            "Mon 23 Feb 2 2 1 whole dose",
            "Tue 24 Feb 2 3 1 2 times, whole dose",
            "Wed 25 Feb rest day 2",
            "Thu 26 Feb not told: nothing is written",
            "Sat 28 Feb not told 1 not told",
            "Sun 1 Mar 2 2 not told whole dose",
            "Will write: 5 sessions, 1 morning, typed 1 to 7 days later",
            "sets as asked: hand, wrist and elbow exercises, pendular swing",
            "gone: nothing recorded",
        ):
            assert said in painted(pilot)
        assert new_entries(door, CODE, before) == []
        await press(pilot, "f2")
    stored = new_entries(door, CODE, before)
    assert [(type(e), e.on.day) for e in stored] == [
        *((Session, 23), (Session, 24), (Morning, 26), (Session, 27), (Session, 28), (Session, 1)),
    ]
    assert len({e.recorded_at for e in stored}) == 1
    assert {(e.author, e.source) for e in stored} == {("TK", "patient reported")}
    assert app.result == "BY-024: diary of Mon 23 Feb to Sun 1 Mar written, 6 entries."


async def test_74_a_refused_line_stays_marked_and_writes_nothing(door: Door) -> None:
    before = newest(door)
    async with diary(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "-7: 221/33")
        assert 'Not yet: cell 2, Tue 24 Feb: "33" has 2 values' in painted(pilot)
        assert "Mon 23 Feb 2 2 1" in painted(pilot)  # the days before the one half typed
        await press(pilot, "enter", "f2")
        assert '! cell 2, Tue 24 Feb: "33" has 2 values, needed are three' in painted(pilot)
        assert new_entries(door, CODE, before) == []
        await press(pilot, "2", "f2")
    assert [e.on.day for e in new_entries(door, CODE, before)] == [23, 24]


async def test_74_days_on_record_are_skipped_or_refuse_the_line(door: Door) -> None:
    held = door.record(CODE).sessions[-1]
    before = newest(door)
    async with diary(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, f"-18: {held.during}{held.later}{held.morning}")
        assert "Nothing to write: 1 day on record already, skipped." in painted(pilot)
        await press(pilot, "f2")
        await press(pilot, "backspace", "9")
        assert "Not yet: cell 1, Thu 12 Feb:" in painted(pilot)
        await press(pilot, "f2")
    assert new_entries(door, CODE, before) == []


async def test_74_what_is_kept_of_the_line_says_the_same_days_on_another_day(door: Door) -> None:
    async with diary(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "-2: 221/3")
        await kept(pilot)
    on_wednesday = later(door, NOW + timedelta(days=2))
    async with diary(on_wednesday).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f5")
        assert pilot.app.screen.query_one(DiaryLine).value == "2026-02-28: 221/3"
        assert "Sat 28 Feb 2 2 1" in painted(pilot)


async def test_74_a_long_line_is_listed_to_its_last_day(door: Door) -> None:
    async with diary(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, f"-17: {'/'.join(['222'] * 17)}")
        assert "Sun 1 Mar" not in painted(pilot)
        await press(pilot, "pagedown", "pagedown")
        assert "Sun 1 Mar 2 2 2" in painted(pilot)


async def test_the_key_of_the_diary_and_a_key_that_wakes(app: ArmriseApp) -> None:
    """A key that wakes the screen opens nothing, nor do those that come with it."""
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "x")
        await burst(pilot, "r", "r")
        assert len(app.screen_stack) == 1
        await pilot.pause(2 * BURST)
        await press(pilot, "r")
        assert isinstance(app.screen, DiaryScreen)
        await press(pilot, "escape", "enter", "r")
        assert isinstance(app.screen, DiaryScreen)


@pytest.mark.parametrize("colour", [True, False])
async def test_without_colour_the_refusal_and_the_focus_are_seen(
    colour: bool, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not colour:
        monkeypatch.setenv("NO_COLOR", "1")
    async with diary(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "-0: 221")
        await press(pilot, "enter")
        assert "> days" in painted(pilot)
        assert "! cell 1, Mon 2 Mar: its waking value is that of tomorrow, Tue 3 Mar" in painted(pilot)
        assert "FICTIONAL CASELOAD" in painted(pilot)


async def _typed(pilot: Any) -> None:
    await settle(pilot)
    await type_in(pilot, LONG)


def test_picture(door: Door, snap_compare: Any) -> None:
    assert snap_compare(diary(door), terminal_size=(80, 24), run_before=_typed)


def test_a_date_is_a_date_whatever_day_it_is_read_on() -> None:
    from armrise.store.entries.strip import from_date

    assert from_date("Mon: 22", date(2026, 3, 4)) == "2026-03-02: 22"
    assert from_date("Mon", date(2026, 3, 4)) == "Mon"
    assert from_date("noon: 22", date(2026, 3, 4)) == "noon: 22"
