"""The clinic's clock: zones, the hours that the clocks take away and give twice, and the ends of days.

From memory: London's clocks go forward at 01:00 on 29 March 2026 and back at 02:00 on 25 October.
"""

from __future__ import annotations

import calendar
import re
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest

from armrise.store.caseload.timeline import Told
from armrise.store.database.chain import Link, head_words
from armrise.store.exchange.backup.contents import instant_words
from armrise.store.exchange.out.plain_text import Heading, headline
from armrise.store.record import clock
from armrise.store.record.words import time_words
from armrise.tui.case.history_words import whole_entry
from armrise.tui.forms.kit.kept import Left, offer
from armrise.tui.words.standing import data_until
from tests.clinic.build import rules
from tests.store.drafts import draft

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


PASSES = {
    "01:30 (first time)": datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
    "01:30 (second time)": datetime(2026, 10, 25, 1, 30, tzinfo=UTC),
}
WORDED = {
    "the head of the list": lambda at: data_until(at, BACK),
    "the head of the list on another day": lambda at: data_until(at, BACK + timedelta(days=1)),
    "the head of a plain listing": lambda at: "\n".join(headline(Heading(BACK, False, at, rules()))),
    "an entry of the history": lambda at: str(whole_entry(Told(draft("visit"), 1), rules(), at)),
    "the head of the chain": lambda at: head_words(Link(1, 0, "made", 0, 0, "a" * 64), at),
    "a backup": instant_words,
    "a form left unwritten": lambda at: offer(Left(at, {}), at, None, "TK"),
}
"""Where the time at which something was recorded, or last typed, is shown."""


@pytest.mark.parametrize("where", WORDED)
@pytest.mark.parametrize("said", PASSES)
def test_of_an_hour_that_comes_twice_it_is_said_which_is_meant(where: str, said: str) -> None:
    told = WORDED[where](clock.on_the_clock(PASSES[said], LONDON))
    assert said in told
    assert told.count("time)") == 1


@pytest.mark.parametrize(
    ("instant", "said"),
    [
        (datetime(2026, 10, 24, 23, 59, tzinfo=UTC), "00:59"),
        (datetime(2026, 10, 25, 0, 0, tzinfo=UTC), "01:00 (first time)"),
        (datetime(2026, 10, 25, 1, 59, tzinfo=UTC), "01:59 (second time)"),
        (datetime(2026, 10, 25, 2, 0, tzinfo=UTC), "02:00"),
        (datetime(2026, 3, 29, 0, 59, tzinfo=UTC), "00:59"),
        (datetime(2026, 3, 29, 1, 0, tzinfo=UTC), "02:00"),
    ],
)
def test_in_no_other_hour_is_anything_said(instant: datetime, said: str) -> None:
    assert time_words(clock.on_the_clock(instant, LONDON)) == said
    assert time_words(instant) == f"{instant:%H:%M}", "UTC has no such hour"


def test_times_of_day_are_worded_in_one_place() -> None:
    root = Path(__file__).parents[2]
    by_hand = re.compile(r"%H:%M|\.hour:0?2")
    found = {
        path.name
        for room in ("store", "tui")
        for path in (root / room).rglob("*.py")
        if by_hand.search(path.read_text())
    }
    assert found == {"clock.py", "words.py"}, "clock.py: a time that was left out; words.py: time_words"


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


MONDAY = date(2026, 3, 2)
TODAYS = {
    "the day itself": MONDAY,
    "a Monday": date(2026, 11, 23),
    "a Saturday": date(2026, 11, 28),
    "a Sunday": date(2026, 11, 29),
    "the Sunday the clocks go forward": FORWARD,
    "the Sunday the clocks go back": BACK,
    "before the day": date(2026, 2, 28),
    "years before": date(2019, 12, 31),
    "a leap day": date(2028, 2, 29),
}


@pytest.mark.parametrize("today", TODAYS.values(), ids=TODAYS)
def test_whole_weeks_on_a_monday_stays_the_monday_of_the_week(today: date) -> None:
    """The week is that of ISO 8601, which begins on Monday: the module `calendar` counts it."""
    moved = clock.whole_weeks_on(MONDAY, today)
    assert moved == today - timedelta(days=calendar.weekday(today.year, today.month, today.day))


def test_whole_weeks_keep_any_day_of_the_week() -> None:
    for day in (MONDAY + timedelta(days=n) for n in range(7)):
        for today in (FORWARD + timedelta(days=n) for n in range(14)):
            moved = clock.whole_weeks_on(day, today)
            assert moved.isoweekday() == day.isoweekday()
            assert timedelta() <= today - moved < timedelta(weeks=1)


NEWEST = time(7, 55)
BEGUN = {
    "in the day": (datetime(2026, 11, 28, 14, 20, tzinfo=UTC), time(14, 20)),
    "in summer time": (datetime(2026, 7, 4, 14, 20, tzinfo=UTC), time(15, 20)),
    "by night": (datetime(2026, 11, 28, 2, 0, tzinfo=UTC), NEWEST),
    "before midnight": (datetime(2026, 11, 29, 23, 59, tzinfo=UTC), time(23, 59)),
    "at midnight": (datetime(2026, 11, 30, 0, 0, tzinfo=UTC), NEWEST),
    "as the clocks go forward": (datetime(2026, 3, 29, 1, 0, tzinfo=UTC), NEWEST),
    "after they went forward": (datetime(2026, 3, 29, 8, 0, tzinfo=UTC), time(9, 0)),
    "in the hour that comes twice": (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), NEWEST),
    "after they went back": (datetime(2026, 10, 25, 8, 0, tzinfo=UTC), time(8, 0)),
}


@pytest.mark.parametrize("day", [MONDAY, date(2026, 7, 6), FORWARD, BACK], ids=str)
@pytest.mark.parametrize(("began", "shown"), BEGUN.values(), ids=BEGUN)
def test_the_clock_of_a_day_shows_the_time_of_day_never_before_what_is_recorded_and_stays_on_it(
    began: datetime, shown: time, day: date
) -> None:
    now = [began]
    newest = clock.instant_at(day, NEWEST, LONDON)
    of_day = clock.DayClock(day, LONDON, newest, lambda: now[0])
    assert of_day().astimezone(LONDON) == datetime.combine(day, shown, LONDON)
    read = [newest]
    for minutes in (0, 1, 59, 600, 1440, 3000):
        now[0] = began + timedelta(minutes=minutes)
        read.append(of_day())
        assert read[-1].astimezone(LONDON).date() == day
        assert read[-1].utcoffset() == timedelta()
    assert read == sorted(read)
    assert read[2] - read[1] in (timedelta(minutes=1), clock.end_of_day(day, LONDON) - read[1])
    assert read[-1] == clock.end_of_day(day, LONDON)


def test_the_clock_of_a_day_neither_goes_back_nor_asks_for_anything_recorded() -> None:
    now = [datetime(2026, 11, 28, 10, 0, tzinfo=UTC)]
    of_day = clock.DayClock(MONDAY, LONDON, None, lambda: now[0])
    assert of_day() == datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
    now[0] -= timedelta(hours=3)
    assert of_day() == datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
    later = datetime(2026, 11, 28, 9, 0, tzinfo=UTC)
    assert clock.DayClock(MONDAY, LONDON, later, lambda: now[0])() == later, "recorded by another clock"
