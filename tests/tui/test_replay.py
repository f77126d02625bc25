"""The list, a case and the reason for its place as known at an earlier instant, with real keys.

Source: practice notes 4, 6.2 and 8.12, ruling 39. Nothing may be written there, whatever the key.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.caseload import read as caseload
from armrise.store.database.place import StoreError
from armrise.store.exchange.out.listing import on_list
from armrise.tui.app.app import ArmriseApp
from armrise.tui.earlier.instants import Then, a_day, end_of, read_then, words_then
from armrise.tui.earlier.replay import ReplayDoor
from armrise.tui.shell.door import Door
from armrise.tui.shell.say import BlankScreen
from tests.clinic.build import rules
from tests.tui.case_store import at_case, press
from tests.tui.form_store import newest, painted, type_in

INSTANT = datetime(2026, 2, 27, 8, 5, tzinfo=UTC)
MARK = "AS KNOWN Fri 27 Feb 2026 08:05, nothing can be written"
DAY = date(2026, 2, 27)


async def look_back(pilot: Pilot[Any], text: str = "27 Feb 08:05", code: str = "BY-018") -> None:
    await at_case(pilot, code, "Z")
    await type_in(pilot, text)
    await press(pilot, "enter")


async def test_the_list_then_is_the_list_of_that_instant_and_esc_is_now(app: ArmriseApp, door: Door) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot)
        wanted = caseload.standings(door.store, rules(), DAY, known_at=INSTANT)
        board: Any = app.screen_stack[0]
        assert [s.code for s in board.listing.cases()] == [s.code for s in on_list(wanted)]
        assert MARK in painted(pilot)
        assert "data to Thu 26 Feb 18:00" in painted(pilot)
        assert isinstance(app.door, ReplayDoor)
        await press(pilot, "escape")
        assert app.door is door
        assert "AS KNOWN" not in painted(pilot)
        now = caseload.standings(door.store, rules(), door.today)
        assert [s.code for s in board.listing.cases()] == [s.code for s in on_list(now)]


async def test_every_screen_says_that_it_is_not_now(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot)
        for key in ("enter", "g", "t", "h", "question_mark", "w", "W"):
            await press(pilot, key)
            assert len(app.screen_stack) == 2, key
            assert MARK in painted(pilot), key
            await press(pilot, "escape")
            assert len(app.screen_stack) == 1, key
            assert MARK in painted(pilot), key


async def test_no_sheet_is_handed_over_of_an_earlier_list(app: ArmriseApp) -> None:
    """A colleague would take what was known then for what is known now."""
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot)
        await press(pilot, "G")
        assert "A handover is of now" in painted(pilot)


async def test_the_blank_screen_tells_nothing_of_it(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot)
        await press(pilot, "x")
        assert isinstance(app.screen, BlankScreen)
        assert "27 Feb" not in painted(pilot)


async def test_no_key_writes_there(app: ArmriseApp, door: Door) -> None:
    refused = "as known Fri 27 Feb 2026 08:05: nothing can be written"
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot)
        before = newest(door)
        for key in ("c", "p", "i", "F", "a", "U", "e", "o", "l", "b", "r", "d", "R", "E"):
            assert refused not in painted(pilot), key
            await press(pilot, key)
            assert refused in painted(pilot), key
            await press(pilot, "1", "f2")
            assert newest(door) == before, key
            assert len(app.screen_stack) == 1, key


def test_the_door_to_then_refuses_what_no_screen_asked(door: Door) -> None:
    then = ReplayDoor(door, Then(DAY, INSTANT))
    before = newest(door)
    with pytest.raises(StoreError):
        then.append("BY-018", [then.draft("visit")])
    with pytest.raises(StoreError):
        then.undo("BY-018")
    then.keep_unwritten("BY-018", "CheckInScreen", {"during": "3"})
    assert then.unwritten() == []
    assert newest(door) == before


async def test_why_it_stood_there_and_what_is_known_since(app: ArmriseApp) -> None:
    async with app.run_test(size=(80, 40)) as pilot:
        await look_back(pilot)
        await press(pilot, "w")
        told = painted(pilot)
        assert "It stood 23rd of 35, with nothing asked." in told
        assert "BY-015 is above BY-018" in told
        assert "BY-018 is above BY-021" in told
        assert "Fri 27 Feb 2026, recorded 1 day later: session, during" in told
        await press(pilot, "escape")
        assert len(app.screen_stack) == 1


async def test_a_day_earlier_and_later_keeps_the_time_of_day_and_ends_at_now(
    app: ArmriseApp, door: Door
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot, "28 Feb 08:05")
        await press(pilot, "less_than_sign", "less_than_sign")
        assert "AS KNOWN Thu 26 Feb 2026 08:05" in painted(pilot)
        await press(pilot, "greater_than_sign", "greater_than_sign", "greater_than_sign")
        assert "AS KNOWN Sun 1 Mar 2026 08:05" in painted(pilot)
        await press(pilot, "greater_than_sign")
        assert app.door is door
        await press(pilot, "greater_than_sign")
        assert "This is now" in painted(pilot)
        await press(pilot, "escape", "less_than_sign")
        assert "AS KNOWN Sun 1 Mar 2026, end of day" in painted(pilot)


async def test_a_case_that_was_not_there_yet_is_not_shown_as_it_is_now(app: ArmriseApp, door: Door) -> None:
    registered = {code: door.record(code).registered_on for code in caseload.codes(door.store)}
    code = max(registered, key=lambda c: registered[c])
    async with app.run_test(size=(80, 24)) as pilot:
        await at_case(pilot, code, "enter", "Z")
        await type_in(pilot, "2025-06-01")
        await press(pilot, "enter")
        assert "not on the list then" in painted(pilot)
        assert "limits" not in painted(pilot)
        await press(pilot, "w")
        assert f"{code} was registered on" in painted(pilot)


async def test_what_lies_ahead_and_what_is_no_instant_is_refused_and_kept(
    app: ArmriseApp, door: Door
) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot, "3 Mar 2026")
        assert "lies ahead: choose an instant that is past" in painted(pilot)
        assert "3 Mar 2026" in painted(pilot)
        await type_in(pilot, "whenever")
        await press(pilot, "enter")
        assert "names no instant, allowed is a day" in painted(pilot)
        await press(pilot, "escape")
        assert app.door is door


@pytest.mark.parametrize("typed", ["", "today"])
async def test_today_and_nothing_typed_are_now(app: ArmriseApp, door: Door, typed: str) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await look_back(pilot)
        await press(pilot, "Z")
        await type_in(pilot, typed)
        await press(pilot, "enter")
        assert app.door is door


@pytest.mark.parametrize(
    ("typed", "day", "known"),
    [
        ("27 Feb 08:05", DAY, INSTANT),
        ("fri 8.05", DAY, INSTANT),
        ("2026-02-27T08:05", DAY, INSTANT),
        ("2026-02-27T10:05+02:00", DAY, INSTANT),
        ("2026-02-27", DAY, datetime(2026, 2, 27, 23, 59, 59, 999999, tzinfo=UTC)),
        ("2025-07-01 08:05", date(2025, 7, 1), datetime(2025, 7, 1, 7, 5, tzinfo=UTC)),
        # 01:30 comes twice on 26 October in London: the second is meant, when more was known
        ("2025-10-26 01:30", date(2025, 10, 26), datetime(2025, 10, 26, 1, 30, tzinfo=UTC)),
    ],
)
def test_an_instant_as_it_is_typed(door: Door, typed: str, day: date, known: datetime) -> None:
    assert read_then(typed, door.store, door.today) == Then(day, known)


def test_a_step_over_the_hour_that_was_left_out_lands_at_the_end_of_its_day(
    door: Door,
) -> None:
    store = door.store
    then = read_then("2025-03-31 01:30", store, date(2026, 3, 2))
    assert a_day(store, then, -1) == end_of(store, date(2025, 3, 30))
    assert words_then(store, a_day(store, then, -2)) == "Sat 29 Mar 2025 01:30"


def test_both_dates_are_told_where_they_differ(door: Door) -> None:
    store = door.store
    assert words_then(store, Then(date(2026, 2, 20), INSTANT)) == (
        "Fri 20 Feb 2026 with what was known Fri 27 Feb 2026 08:05"
    )
