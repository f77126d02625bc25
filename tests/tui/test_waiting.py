"""Referrals awaiting a first visit, and the forms that were left unwritten, from the list."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.caseload.read import case
from armrise.store.database.place import Store
from armrise.store.entries.words import CaseHead
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.forms.first_visit.screen import FirstVisitScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.widgets.rowlist import RowList
from tests.clinic.build import rules
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_store import app_on, painted, press, type_in

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)
FLAG = "mass, cancer history, weight loss or unrelenting night pain"


def made_with_referrals(path: Path) -> Path:
    """Three referrals: one flagged by its letter, one booked, one neither, the longest waiting."""
    store = Store.create(path, zone="Europe/London", clinic_date=TODAY)
    door = StoreDoor(store, rules(), "TK", TODAY, lambda: NOW)
    head = CaseHead(
        code="NV-1",
        person="P-1",
        side="LEFT",
        pathway="RC",
        registered_on=date(2026, 2, 2),
        clinician="TK",
        referrer="practice",
    )
    door.begin(head, ())
    flagged = {"item": FLAG, "answer": "yes", "source": "referral letter", "on": date(2026, 2, 23)}
    door.begin(
        replace(head, code="NV-2", person="P-2", side="RIGHT", registered_on=date(2026, 2, 23), referrer=""),
        [door.draft("screen", **flagged)],
    )
    door.begin(
        replace(head, code="NV-3", person="P-3", pathway="FS", registered_on=date(2026, 2, 16)),
        [door.draft("appointment", booked_for=date(2026, 3, 5), on=date(2026, 2, 16))],
    )
    return path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made_with_referrals(tmp_path_factory.mktemp("store") / "three.armrise")


async def waiting(pilot: Pilot[Any], *keys: str) -> None:
    """The list of referrals, and some keys."""
    await settled(pilot)
    await press(pilot, "A", *keys)


async def test_who_waits_is_shown_with_everything_known(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await waiting(pilot)
        shown = painted(pilot)
        assert "Referrals awaiting a first visit: 3" in shown
        assert "NV-2 RIGHT none booked Rotator-cuff-related shoulder pain" in shown
        assert "shoulder pain registered Mon 23 Feb, 7 days ago; referrer not recorded" in shown
        assert f"TODAY: {FLAG}"[:40] in shown
        assert "registered Mon 2 Feb, 28 days ago; from practice" in shown
        assert "booked Thu 5 Mar Frozen shoulder" in shown
        assert [key for key, _ in pilot.app.screen.query_one(RowList).rows] == ["NV-2", "NV-1", "NV-3"]


async def test_the_flagged_one_is_on_the_morning_list_too(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "NV-2" in painted(pilot)
        assert door.standing("NV-2").tier == "today"


async def test_the_row_under_the_cursor_is_marked_without_colour(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await waiting(pilot)
        assert "> NV-2" in painted(pilot)
        await press(pilot, "down")
        shown = painted(pilot)
        assert "> NV-1" in shown
        assert "> NV-2" not in shown


async def test_a_referral_is_registered_with_what_its_letter_warns_of(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 40)) as pilot:
        await waiting(pilot, "R")
        await press(pilot, "f2")
        assert "code: needed to register a case." in painted(pilot)
        await type_in(pilot, "NV-9")
        await press(pilot, "enter")
        await type_in(pilot, "P-9")
        await press(pilot, "enter", "r", "5", "l", "1")
        await type_in(pilot, "walk-in")
        await press(pilot, "enter", "left", "enter", "4")
        assert "NV-9" not in [s.code for s in door.standings()]
        await press(pilot, "f2")
        assert "Referrals awaiting a first visit: 4" in painted(pilot)
    record = case(door.store, "NV-9")
    assert (record.person, record.side, record.referrer) == ("P-9", "RIGHT", "walk-in")
    assert (record.age_band, record.dominance) == ("50s", "left")
    assert record.registered_on == date(2026, 3, 1)
    (answer,) = record.screens
    assert (answer.answer, answer.source, answer.on) == ("yes", "referral letter", date(2026, 3, 1))
    standing = door.standing("NV-9")
    assert (standing.status, standing.tier) == ("waiting", "today")


async def test_the_next_free_codes_are_proposed(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 40)) as pilot:
        await waiting(pilot, "R", "enter", "enter", "l", "enter", "enter", "2", "f2")
        assert "Referrals awaiting a first visit: 4" in painted(pilot)
    record = case(door.store, "NV-4")
    assert (record.person, record.side, record.screens) == ("P-4", "LEFT", ())


async def test_enter_opens_the_first_visit_of_that_referral(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 40)) as pilot:
        await waiting(pilot, "down", "enter")
        assert isinstance(pilot.app.screen, FirstVisitScreen)
        assert pilot.app.screen.standing.code == "NV-1"


async def test_b_books_a_slot_for_that_referral(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 40)) as pilot:
        await waiting(pilot, "down", "b")
        assert isinstance(pilot.app.screen, BookingScreen)
        assert pilot.app.screen.standing.code == "NV-1"


async def test_a_code_that_is_taken_is_refused_and_nothing_is_lost(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 40)) as pilot:
        await waiting(pilot, "R")
        await type_in(pilot, "NV-1")
        await press(pilot, "enter")
        await type_in(pilot, "P-9")
        await press(pilot, "enter", "r", "enter", "enter", "1", "f2")
        assert "NV-1" in painted(pilot)
        assert "exists" in painted(pilot) or "taken" in painted(pilot) or "already" in painted(pilot)
        assert pilot.app.screen.query_one("#code").value == "NV-1"  # type: ignore[attr-defined]
    assert len(door.standings()) == 3


async def test_nobody_waiting_says_what_next(tmp_path: Path) -> None:
    store = Store.create(tmp_path / "empty.armrise", zone="Europe/London", clinic_date=TODAY)
    door = StoreDoor(store, rules(), "TK", TODAY, lambda: NOW)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await waiting(pilot)
        assert "No referral waits for a first visit. R registers one." in painted(pilot)


def test_the_list_of_referrals_as_a_picture(snap_compare: Any, door: Door) -> None:
    assert snap_compare(app_on(door), terminal_size=(80, 24), run_before=waiting)


# forms not written


async def left_unwritten(door: Door) -> None:
    """A call about one referral, and a new one, both left open."""
    door.keep_unwritten("NV-1", "ContactScreen", {"outcome": "spoken", "day": "2026-03-02"})
    door.keep_unwritten("", "RegisterScreen", {"code": "NV-9", "day": "2026-03-02"})


async def test_the_head_counts_what_waits_and_the_list_opens_it(door: Door) -> None:
    await left_unwritten(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        shown = painted(pilot)
        assert "2 forms unwritten: N" in shown
        assert "NOT SIGNED OFF" in shown
        await press(pilot, "N")
        shown = painted(pilot)
        assert "NV-1 Contact typed Mon 2 Mar 2026 20:00, today" in shown
        assert "new case Register a referral typed Mon 2 Mar 2026 20:00, today" in shown
        await press(pilot, "enter", "f5")
        assert pilot.app.screen.query_one("#code").value == "NV-9"  # type: ignore[attr-defined]
        await press(pilot, "escape")
        shown = painted(pilot)
        assert "> new case Register a referral typed" in shown
        assert "Kept unwritten: Register a referral, new case. N on the list shows it." in shown
        await press(pilot, "enter", "f5", "f6")
        assert "F6 again leaves this form and drops what is typed in it." in painted(pilot)
        await press(pilot, "f6")
        assert "new case" not in painted(pilot)
        await press(pilot, "enter", "f6", "escape")
        assert "No form waits unwritten." in painted(pilot)
        await press(pilot, "escape")
        await settle(pilot)
        assert "unwritten" not in painted(pilot)


async def test_what_a_crash_of_another_day_left_is_counted_in_a_new_start(door: Door) -> None:
    screen = CheckInScreen(door, door.standing("NV-1"))
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.app.push_screen(screen)
        await settle(pilot)
        await press(pilot, "n", "4")
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "1 form unwritten: N" in painted(pilot)
