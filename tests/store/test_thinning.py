"""Which backups are kept. Weeks are those of ISO 8601: a Monday begins one, and 2026 has 53."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.exchange.backup.thin import surplus

TODAY = date(2026, 11, 30)  # a Monday
DAY = timedelta(days=1)


def at(day: date, hour: int = 18) -> datetime:
    return datetime.combine(day, time(hour))


def kept(taken: Iterable[datetime], today: date = TODAY) -> list[datetime]:
    copies = list(taken)
    return sorted(set(copies) - surplus(copies, today))


def test_of_today_every_copy_is_kept_and_of_a_day_before_the_newest() -> None:
    today = [at(TODAY, hour) for hour in (8, 12, 18)]
    yesterday = [at(TODAY - DAY, hour) for hour in (8, 12, 18)]
    assert kept([*yesterday, *today]) == [yesterday[-1], *today]


def test_a_fortnight_by_the_day_then_eight_weeks_by_the_week_then_by_the_month() -> None:
    """A copy a day for a year and a half: what is left is what the days on both sides of each span say."""
    days = [TODAY - number * DAY for number in range(550)]
    left = [copy.date() for copy in kept(map(at, days))]
    daily = [day for day in left if day >= date(2026, 11, 16)]
    assert daily == [date(2026, 11, 16) + number * DAY for number in range(15)]  # today and 14 days before
    weekly = [day for day in left if date(2026, 10, 5) <= day < date(2026, 11, 16)]
    assert weekly == [date(2026, 10, 11) + number * 7 * DAY for number in range(6)]  # each week's Sunday
    monthly = [day for day in left if day < date(2026, 10, 5)]
    assert monthly[-3:] == [date(2026, 8, 31), date(2026, 9, 30), date(2026, 10, 4)]
    assert [(day.year, day.month) for day in monthly if day < date(2026, 9, 1)] == [
        (year, month)
        for year in (2025, 2026)
        for month in range(1, 13)
        if (2025, 5) <= (year, month) <= (2026, 8)
    ]


def test_the_week_at_the_end_of_a_year_is_one() -> None:
    """28 December 2026 to 3 January 2027 is week 53 of 2026."""
    days = [date(2026, 12, 28), date(2026, 12, 31), date(2027, 1, 1), date(2027, 1, 3)]
    newest = at(date(2027, 2, 1))
    assert kept([*map(at, days), newest], date(2027, 2, 1)) == [at(date(2027, 1, 3)), newest]


def test_a_date_ahead_is_kept() -> None:
    """A clock that was wrong for a day must not cost a copy, and a copy ahead stands for none of before."""
    ahead = at(TODAY + 400 * DAY)
    assert kept([at(TODAY - 20 * DAY), ahead]) == [at(TODAY - 20 * DAY), ahead]


copies = st.lists(
    st.datetimes(datetime(2024, 1, 1), datetime(2027, 1, 1)).map(lambda d: d.replace(microsecond=0)),
    max_size=60,
)


@given(copies, st.dates(date(2026, 1, 1), date(2027, 6, 1)))
@settings(max_examples=150, deadline=None)
def test_what_goes_has_a_newer_copy_of_its_own_period_beside_it(taken: list[datetime], today: date) -> None:
    gone = surplus(taken, today)
    left = set(taken) - gone
    assert not gone or max(taken) in left
    assert surplus(left, today) == set()  # thinning twice takes nothing more
    for copy in gone:
        assert copy.date() < today
        assert any(copy < other and other.date() - copy.date() < 31 * DAY for other in left)


def test_years_of_daily_copies_thinned_every_day_keep_one_of_every_month() -> None:
    """What is thinned today is what tomorrow thins again: nothing that a later span needs is gone by then."""
    held: set[datetime] = set()
    first = date(2024, 1, 1)
    for number in range(900):
        today = first + number * DAY
        held.add(at(today))
        held -= surplus(held, today)
        assert len(held) <= 15 + 9 + 1 + number // 28
    months = {(copy.year, copy.month) for copy in held}
    assert months == {(d.year, d.month) for d in (first + n * DAY for n in range(900))}
