"""The demonstration's calendar: working days, slots, the one question, each day's programme (ruling 90)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, time, timedelta

import pytest

from armrise.store.record.kinds.care import Appointment, Attendance, Contact, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure, Score
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.plan import Orders, Step
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.kinds.safety import SCREEN_ITEMS, Event, Onset, Screen
from tests.clinic.demo_records import demo

TODAY = date(2026, 3, 2)
CODES = [case.head.code for case in demo().cases]
STARTS = {
    *("08:40", "09:20", "10:00", "10:40", "11:20", "12:00"),
    *("13:40", "14:20", "15:00", "15:40"),
}
"""Slots of 40 minutes from 08:40 to 16:20, none between 12:40 and 13:40."""
BOOKED_TODAY = {
    "08:40": "BY-057",
    "09:20": "BY-018",
    "10:00": "BY-060",
    "10:40": "BY-069",
    "11:20": "BY-084",
    "14:20": "BY-100",
    "15:40": "BY-078",
}
OVERNIGHT = {"BY-007": time(6, 50), "BY-096": time(6, 20)}


def days_ago(on: date) -> int:
    return (TODAY - on).days


def entries(code: str) -> tuple[Entry, ...]:
    return next(case.entries for case in demo().cases if case.head.code == code)


def clinic_days(code: str) -> Iterator[tuple[date, Entry]]:
    """Every date on which the clinic had to be open, with the entry that says so."""
    all_of_it = entries(code)
    visits = {e.on for e in all_of_it if isinstance(e, Visit)}
    placed_on_the_injury = {e.on for e in all_of_it if isinstance(e, Onset)}
    for entry in all_of_it:
        if isinstance(entry, (Appointment, Attendance)):
            yield entry.booked_for, entry
        at_home = isinstance(entry, (Session, Morning, Event, Onset))
        told = isinstance(entry, (Measure, Score)) and entry.source == "patient reported"
        placing = (
            isinstance(entry, Step) and entry.direction == "placing" and entry.on in placed_on_the_injury
        )
        ordered = isinstance(entry, Orders) and entry.on in placed_on_the_injury
        if not (at_home or placing or ordered or (told and entry.on not in visits)):
            yield entry.on, entry


@pytest.mark.parametrize("code", CODES)
def test_90_the_clinic_is_open_from_monday_to_friday(code: str) -> None:
    # ruling 90: working days only; home sessions, mornings and falls stay where they are
    assert [(on.isoformat(), entry.KIND) for on, entry in clinic_days(code) if on.weekday() > 4] == []


def test_90_a_clinician_has_one_booking_at_one_time() -> None:
    # ruling 90: slots of 40 minutes from 08:40 to 16:20, lunch 12:40-13:40
    slots = Counter(
        (case.head.clinician, entry.booked_for, entry.at)
        for case in demo().cases
        for entry in case.entries
        if isinstance(entry, Appointment)
    )
    assert {at for _, _, at in slots} <= STARTS
    assert [slot for slot, number in slots.items() if number > 1] == []


def test_90_an_attendance_answers_a_slot_that_was_booked() -> None:
    # ruling 90: appointment and attendance name the same hour
    for code in CODES:
        booked = {(e.booked_for, e.at) for e in entries(code) if isinstance(e, Appointment)}
        assert {(e.booked_for, e.at) for e in entries(code) if isinstance(e, Attendance)} <= booked


def test_90_booked_today() -> None:
    # ruling 90, "Booked today"
    found = {
        entry.at: code
        for code in CODES
        for entry in entries(code)
        if isinstance(entry, Appointment) and entry.booked_for == TODAY
    }
    assert found == BOOKED_TODAY


def test_90_messages_came_overnight() -> None:
    # ruling 90, "Messages overnight"; both are in the record before the day begins at 08:00
    found = {
        code: entry.recorded_at.time()
        for code in CODES
        for entry in entries(code)
        if isinstance(entry, Contact) and entry.outcome == "message received" and entry.on == TODAY
    }
    assert found == OVERNIGHT


@pytest.mark.parametrize("code", CODES)
def test_90_every_visit_of_twelve_weeks_answers_the_one_question(code: str) -> None:
    # ruling 90: every visit from D-84 answers "no"
    answers = [(days_ago(e.on), e.anything_new) for e in entries(code) if isinstance(e, Visit)]
    assert [row for row in answers if row[1] != ("no" if row[0] <= 84 else "not asked")] == []


@pytest.mark.parametrize("code", [c for c in CODES if c not in ("BY-045", "BY-039")])
def test_90_a_full_screen_is_not_older_than_twelve_weeks(code: str) -> None:
    # ruling 90: another at the last visit; BY-045 was last seen on D-116, BY-039 owes two items
    full = [days_ago(e.on) for e in entries(code) if isinstance(e, Screen) and e.item == "all"]
    assert min(full) <= 84


def test_90_the_full_screens_that_were_repeated() -> None:
    # ruling 90: a case whose full screen is older than D-84 gets another at its last visit, BY-033 at D-31
    found: dict[str, int] = {}
    for code in CODES:
        full = sorted(days_ago(e.on) for e in entries(code) if isinstance(e, Screen) and e.item == "all")
        if len(full) > 1 and code != "BY-093":  # reopened, and asked again for that
            found[code] = full[0]
    assert found == {
        **{"BY-033": 31, "BY-042": 59, "BY-045": 116, "BY-054": 24, "BY-057": 38},
        **{"BY-066": 40, "BY-078": 10, "BY-081": 10, "BY-087": 5, "BY-099": 10},
    }


def test_85_the_screen_is_answered_by_its_present_names() -> None:
    # ruling 85: three old names are retired; ruling 90: BY-012 has two items at D-5
    told = {(c, days_ago(e.on), e.item) for c in CODES for e in entries(c) if isinstance(e, Screen)}
    assert {item for _, _, item in told} <= {"all", *SCREEN_ITEMS}
    assert ("BY-012", 5, "unrelenting night pain") in told
    assert ("BY-012", 5, "cancer in the past") in told


@pytest.mark.parametrize("code", CODES)
def test_90_what_is_done_is_on_the_programme_of_that_day(code: str) -> None:
    # ruling 90: items of sessions are programme items of that day, but the band rows of BY-003
    mine = entries(code)
    strange: set[tuple[int, str]] = set()
    for session in (e for e in mine if isinstance(e, Session)):
        newest = {
            e.exercise: e
            for e in sorted((e for e in mine if isinstance(e, ProgrammeItem)), key=lambda e: e.on)
            if e.on <= session.on
        }
        in_force = {(e.exercise, e.load_class) for e in newest.values() if e.stopped is None}
        done = {(i.exercise, i.load_class) for i in session.items}
        strange |= {(days_ago(session.on), exercise) for exercise, _ in done - in_force}
    assert strange == ({(1, "band row")} if code == "BY-003" else set())


def test_95_the_silent_rows_kept_a_diary_before_they_fell_silent() -> None:
    # ruling 95, row "90": a session of a day that is neither a visit's nor the day before one, in the 42 days
    # up to the newest datum
    for code in ("BY-024", "BY-042", "BY-048", "BY-063", "BY-066"):
        mine = entries(code)
        visits = {e.on for e in mine if isinstance(e, Visit)}
        newest = max(e.on for e in mine if isinstance(e, (Visit, Session)))
        home = [
            e.on
            for e in mine
            if isinstance(e, Session)
            and not {e.on, e.on + timedelta(days=1)} & visits
            and days_ago(e.on) - days_ago(newest) <= 42
        ]
        assert home, code


def test_94_the_stiff_rows_carry_a_range_value_within_two_intervals() -> None:
    # ruling 94, row "90"
    for code in ("BY-003", "BY-024", "BY-060", "BY-081"):
        mine = entries(code)
        interval = max((e for e in mine if isinstance(e, Visit)), key=lambda e: e.on).interval
        passive = [days_ago(e.on) for e in mine if isinstance(e, Measure) and e.name.startswith("passive")]
        assert interval is not None
        assert min(passive) <= 2 * interval, code
