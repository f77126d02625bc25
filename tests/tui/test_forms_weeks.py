"""The weeks since the last visit in one line of the review and of a contact (ruling 73)."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from armrise.store.clinic.actions.summing_up import period_asked
from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.care import Contact, Visit
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.forms.visit.review import ReviewScreen
from tests.clinic.build import TODAY, Builder, case, on, rules, standing_of
from tests.quiet import settle
from tests.tui.form_fakes import FakeDoor, FormApp
from tests.tui.form_store import of_kind, painted, press, type_in
from tests.tui.visit_keys import haste, keys

USUAL_REVIEW = [
    *keys("n", "3211"),  # nothing new, the triple and nights woken
    *keys("9 4 3 1 w", "<enter>", "a"),  # the weeks, all sets as asked
    *keys("412", "45 150", "<pagedown>"),  # pain, range
    *keys("1", "<enter>", "<enter>", "<f2>"),  # no step, interval, next visit
]
"""A review where no diary is kept."""
BUDGET = 30


def no_diary() -> Builder:
    """RC2, seen 14 days ago, exercises daily, no session recorded since."""
    return case("RC2", day=40, last_visit=14).programme(-40, "R1", per_week=7)


def door_on(built: Builder) -> FakeDoor:
    return FakeDoor(built.record(), standing_of(built))


def app_of(form: Any, door: FakeDoor) -> FormApp:
    return FormApp(form(door, door.given))


async def test_73_a_usual_review_with_the_weeks_takes_at_most_thirty_keys() -> None:
    assert len(USUAL_REVIEW) <= BUDGET
    print(f"review with the weeks: {len(USUAL_REVIEW)} keys")
    door = door_on(no_diary())
    async with app_of(ReviewScreen, door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, USUAL_REVIEW)
    (told,) = of_kind(door.written, PeriodSummary)
    assert (told.since, told.on, told.days_done, told.days_asked) == (on(-14), TODAY, 9, 14)
    assert (told.worst_during, told.worst_later, told.mornings_worse) == (4, 3, 1)
    assert (told.dose, told.settled, told.source) == ("whole", None, "patient reported")
    assert of_kind(door.written, Visit)


async def test_73_the_line_is_read_back_in_words_as_it_is_typed() -> None:
    async with app_of(ReviewScreen, door_on(no_diary())).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "weeks since Mon 16 Feb" in painted(pilot)
        assert "9 alone is 9 of 14 days asked" in painted(pilot)
        await haste(pilot, keys("n", "3211", "9/12 4 3 2 p n"))
        assert "9 of 12 days, worst during 4, worst later 3, 2 mornings worse than" in painted(pilot)
        assert "usual, part of the dose, not settled" in painted(pilot)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("15", "days done 15 is more than days asked 14"),
        ("9/15", "days asked 15 is more than the 14 days"),
        ("9 11", 'worst during: "11" is not allowed, allowed is 0 to 10'),
        ("9 4 3 1 x", 'dose: "x" is not allowed, allowed is w whole, p part, m more'),
        ("9 . . 15", "mornings worse 15 is more than the 14 days"),
    ],
)
async def test_73_what_cannot_be_is_refused_at_the_field(line: str, said: str) -> None:
    door = door_on(no_diary())
    async with app_of(ReviewScreen, door).run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("n", "3211", line))
        assert "not yet: weeks since Mon 16 Feb:" in painted(pilot)
        await haste(pilot, keys("<enter>"))
        assert "! weeks since Mon 16 Feb:" in painted(pilot)
        assert said in painted(pilot)
        await haste(pilot, keys("<pagedown>", "<pagedown>", "1", "<f2>"))
    assert door.written == []


async def test_73_left_empty_nothing_is_summed_up() -> None:
    door = door_on(no_diary())
    async with app_of(ReviewScreen, door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("n", "3211", "<enter>", "a", "<pagedown>", "1", "<f2>"))
    assert of_kind(door.written, PeriodSummary) == []
    assert of_kind(door.written, Visit)


async def test_73_a_contact_takes_the_line_where_somebody_was_spoken_to() -> None:
    door = door_on(no_diary())
    async with app_of(ContactScreen, door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        assert "weeks since" not in painted(pilot)
        await press(pilot, "up", "s", *("up",) * 3)
        assert "weeks since Mon 16 Feb" in painted(pilot)
        await type_in(pilot, "9 4 3 1 w s")
        assert "9 of 14 days, worst during 4, worst later 3, 1 morning worse" in painted(pilot)
        await press(pilot, "f2")
    assert [(s.since, s.on, s.settled) for s in of_kind(door.written, PeriodSummary)] == [
        (on(-14), TODAY, "yes")
    ]
    assert len(of_kind(door.written, Contact)) == 1


async def test_73_the_weeks_end_on_the_day_of_the_contact() -> None:
    door = door_on(no_diary())
    async with app_of(ContactScreen, door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", *("up",) * 4, "left", "left")
        assert "12 days asked" in painted(pilot)
        await press(pilot, "enter")
        await type_in(pilot, "9 4 3 1 w")
        await press(pilot, "f2")
    (told,) = of_kind(door.written, PeriodSummary)
    assert (told.since, told.on, told.days_asked) == (on(-14), date(2026, 2, 28), 12)


@pytest.mark.parametrize(
    ("built", "since"),
    [
        (case("RC2", day=40, last_visit=5), -5),
        (case("RC2", day=40, last_visit=4), None),
        (case("RC2", day=60, last_visit=45), -28),
        (case("RC2", day=40, last_visit=14).summary(-6, -13, "4 3 3 1 w"), -6),
        (case("RC2", day=40, last_visit=14).summary(0, -13, "4 3 3 1 w"), None),
        (case("RC2", day=40, last_visit=14).good(2), -14),
        (case("RC2", day=40, last_visit=14).good(3), None),
        (case("RC2", day=0, last_visit=None), None),
    ],
)
def test_73_since_when_the_weeks_are_asked_for(built: Builder, since: int | None) -> None:
    """Five days at least, twenty-eight at most, and no line where three sessions are recorded."""
    asked = period_asked(View.of(built.record(), rules(), TODAY))
    assert asked == (None if since is None else on(since))
