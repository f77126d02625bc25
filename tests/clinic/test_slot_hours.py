"""The hour of a booked slot wherever the booking is said; without one it stays as it was (ruling 93)."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from armrise.store.clinic.actions import needs
from armrise.store.clinic.actions.sweep import booked_words
from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.words import booked
from armrise.store.clinic.time import clocks, slots
from armrise.store.exchange.out import listing
from tests.clinic.build import TODAY, Builder, case, on, rules, standing_of


def view(built: Builder) -> View:
    return View.of(built.record(), rules(), TODAY)


@pytest.mark.parametrize(("at", "said"), [("09:20", "Thu 5 Mar 09:20"), (None, "Thu 5 Mar")])
def test_93_the_hour_stands_with_the_booking(at: str | None, said: str) -> None:
    built = case("RC2", day=20).booked(3, at=at)
    standing = standing_of(built)
    assert (standing.review.booked, standing.review.booked_at) == (on(3), at)
    assert booked(standing) == said
    assert booked_words(view(built)) == said.replace("Mar", "Mar 2026").join(["booked ", ""])
    assert listing.as_json([standing])[0]["review"]["booked_at"] == at
    assert sheet(view(built)).next_visit == f"{said}, in 3 days"


def test_93_today_too() -> None:
    assert booked(standing_of(case("RC2", day=20).booked(0, at="08:05"))) == "booked today 08:05"


def test_93_the_overdue_review_says_when_the_slot_is() -> None:
    built = case("RC2", day=60, last_visit=40).booked(3, made=-1, at="14:00")
    (overdue,) = [r for r in standing_of(built).reasons if r.code.startswith("OVD")]
    assert "overdue, of 21, booked Thu 5 Mar 14:00" in overdue.sentence


def test_93_of_one_date_the_hour_told_last_holds() -> None:
    built = (
        case("RC2", day=20).booked(3, made=-5).booked(3, made=-2, at="09:20").booked(9, made=-1, at="10:00")
    )
    assert clocks.review(view(built)).booked_at == "09:20"
    assert slots.hour_of(view(built), on(3)) == "09:20"
    assert slots.hour_of(view(built), on(4)) is None


def test_93_a_date_is_booked_again_only_to_say_its_hour() -> None:
    seen = view(case("RC2", day=20).booked(3, at="09:20"))
    for at, met in ((None, False), ("09:20", False), ("10:00", True)):
        assert needs.rebook(seen, on(3), "", earliest=TODAY, at=at).met is met
    assert asdict(needs.rebook(seen, on(4), "", earliest=TODAY)) == asdict(needs.Needs())
