"""The hour of a slot by its keys: optional, read as it is typed, stored as HH:MM (ruling 93)."""

from __future__ import annotations

from datetime import date

import pytest

from armrise.store.record.kinds.care import Appointment, Attendance
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.shell.door import Door
from armrise.tui.words.entries import read_time
from armrise.tui.words.standing import booked_shortly
from tests.clinic.build import case, standing_of
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import TODAY, new_entries, newest, of_kind, painted, press, type_in


@pytest.mark.parametrize(
    ("text", "time"),
    [
        *(("09:20", "09:20"), ("9:20", "09:20"), ("9.20", "09:20"), ("0920", "09:20"), (" 00:00 ", "00:00")),
        *(("23:59", "23:59"), ("24:00", None), ("9:60", None), ("9", None), ("", None), ("92", None)),
        *(("920", "09:20"), ("1200", "12:00"), ("960", None), ("2400", None), ("00920", None)),
    ],
)
def test_a_time_of_day_as_it_is_typed(text: str, time: str | None) -> None:
    assert read_time(text) == time


async def test_an_hour_may_be_given_and_stands_where_the_booking_stands(door: Door) -> None:
    before = newest(door)
    async with FormApp(BookingScreen(door, door.standing("BY-048"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "at what time" not in painted(pilot)
        await type_in(pilot, "+3")
        await press(pilot, "enter")
        assert "at what time" in painted(pilot)
        await type_in(pilot, "25")
        await press(pilot, "f2")
        assert 'at what time: "25" is no time of day; say 09:20.' in painted(pilot)
        assert new_entries(door, "BY-048", before) == []
        await press(pilot, "backspace", "backspace")
        await type_in(pilot, "9.20")
        assert "for Thu 5 Mar at 09:20" in painted(pilot)
        await press(pilot, "f2")
    (slot,) = of_kind(new_entries(door, "BY-048", before), Appointment)
    assert (slot.booked_for, slot.at) == (date(2026, 3, 5), "09:20")
    async with FormApp(BookingScreen(door, door.standing("BY-048"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "booked Thu 5 Mar 09:20" in painted(pilot)
        assert "slot of Thu 5 Mar 09:20" in painted(pilot)


async def test_without_an_hour_a_booking_is_what_it_was(door: Door) -> None:
    before = newest(door)
    async with FormApp(BookingScreen(door, door.standing("BY-048"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "+3")
        await press(pilot, "f2")
    assert [s.at for s in of_kind(new_entries(door, "BY-048", before), Appointment)] == [None]


async def test_what_became_of_a_slot_keeps_its_hour(door: Door) -> None:
    door.append("BY-048", [door.draft("appointment", booked_for=TODAY, at="08:40")])
    before = newest(door)
    async with FormApp(BookingScreen(door, door.standing("BY-048"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "slot of Mon 2 Mar 08:40" in painted(pilot)
        await press(pilot, "a", "f2")
    (told,) = of_kind(new_entries(door, "BY-048", before), Attendance)
    assert (told.at, told.outcome) == ("08:40", "attended")


@pytest.mark.parametrize(
    ("ahead", "at", "short"),
    [
        *((0, "09:20", "today 09:20"), (0, None, "booked today"), (3, "09:20", "Thu 5 Mar")),
        *((3, None, "Thu 5 Mar"), (None, None, "none booked")),
    ],
)
def test_a_narrow_list_has_the_hour_of_today_alone(ahead: int | None, at: str | None, short: str) -> None:
    built = case("RC2", day=20)
    standing = standing_of(built if ahead is None else built.booked(ahead, at=at))
    assert booked_shortly(standing) == short
