"""The clinic's clock: zones, the hours that the clocks take away and give twice, and the ends of days.

From memory: London's clocks go forward at 01:00 on 29 March 2026 and back at 02:00 on 25 October.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from armrise.store.record import clock

LONDON = clock.clinic_zone("Europe/London")
FORWARD, BACK = date(2026, 3, 29), date(2026, 10, 25)


@pytest.mark.parametrize(
    "name", ["localtime", "", "GMT0", "Europe", "Europe/Lodnon", "../Europe/London", "Etc"]
)
def test_a_name_that_is_no_region_is_no_zone(name: str) -> None:
    with pytest.raises(clock.UnknownZone, match="use a name such as Europe/London"):
        clock.clinic_zone(name)


def test_of_an_hour_that_comes_twice_the_second_is_meant() -> None:
    assert clock.instant_at(BACK, time(1, 30), LONDON) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert clock.instant_at(BACK, time(0, 30), LONDON) == datetime(2026, 10, 24, 23, 30, tzinfo=UTC)


def test_an_hour_that_is_left_out_is_no_time() -> None:
    with pytest.raises(clock.NoSuchTime, match="there was no 01:30 on 2026-03-29"):
        clock.instant_at(FORWARD, time(1, 30), LONDON)
    assert clock.instant_at(FORWARD, time(2, 0), LONDON) == datetime(2026, 3, 29, 1, 0, tzinfo=UTC)


@pytest.mark.parametrize(("day", "hours"), [(FORWARD, 23), (BACK, 25), (date(2026, 7, 1), 24)])
def test_a_day_ends_where_the_next_begins(day: date, hours: int) -> None:
    before, end = (clock.end_of_day(d, LONDON) for d in (day - timedelta(days=1), day))
    assert end - before == timedelta(hours=hours)
    assert clock.on_the_clock(end, LONDON).date() == day
    assert clock.on_the_clock(end + timedelta(microseconds=1), LONDON).date() == day + timedelta(days=1)


def test_what_comes_out_is_plain() -> None:
    """The database takes no dates and instants but these, and a subclass of them counts days otherwise."""
    shown = clock.on_the_clock(clock.utc_now(), LONDON)
    made = (shown, clock.instant_at(BACK, time(9), LONDON), clock.end_of_day(BACK, LONDON))
    assert {type(one) for one in made} == {datetime}
    assert {type(one) for one in (clock.today_in(LONDON), clock.machine_today(), shown.date())} == {date}
    assert shown.utcoffset() in (timedelta(0), timedelta(hours=1))


def test_the_zone_of_this_machine_is_a_region_or_utc() -> None:
    assert clock.clinic_zone(clock.machine_zone()).key == clock.machine_zone()
