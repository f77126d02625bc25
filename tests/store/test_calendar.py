"""Slots and due reviews as a calendar: read back by the icalendar library, and held against RFC 5545."""

from __future__ import annotations

import re
import sys
from datetime import UTC, date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from armrise.store.caseload import read as caseload
from armrise.store.database.place import Store
from armrise.store.exchange.calendar.events import Event, events
from armrise.store.exchange.calendar.file import MARK, as_calendar
from armrise.store.record.kinds.care import Appointment, Attendance
from armrise.store.rules.read import load
from armrise.tui.command.main import run
from tests.clinic.build import Builder, case, rules, standing_of

T = date(2026, 3, 2)
LONDON = ZoneInfo("Europe/London")


@pytest.fixture(scope="module")
def found(demonstration: Path) -> list[Event]:
    store, loaded = Store.open(demonstration), load()
    standings = caseload.standings(store, loaded, T)
    records = caseload.in_full(store, [standing.code for standing in standings])
    return events(records, standings, loaded, T)


@pytest.fixture(scope="module")
def text(found: list[Event]) -> str:
    return as_calendar(found, "Europe/London", fictional=True, minutes=40)


def test_it_comes_back_event_by_event(found: list[Event], text: str) -> None:
    back = list(Calendar.from_ical(text).walk("VEVENT"))
    assert len(back) == len(found) > 36
    for event, read in zip(found, back, strict=True):
        assert (str(read["uid"]), str(read["summary"])) == (event.uid, f"{event.code} {event.what}")
        start = read.decoded("dtstart")
        if event.at is None:
            assert type(start) is date
            assert start == event.day
        else:
            assert start == datetime.combine(event.day, event.at, LONDON)
            assert read["dtstart"].params["TZID"] == "Europe/London"
            assert read.decoded("duration").total_seconds() == 40 * 60
        assert read.decoded("dtstamp") == event.changed.replace(microsecond=0)


def test_every_booking_and_every_due_review_of_the_list_is_in_it(
    found: list[Event], demonstration: Path
) -> None:
    listed = [s for s in caseload.standings(Store.open(demonstration), load(), T)
              if s.status in ("active", "on hold")]  # fmt: skip
    reviews = {(e.code, e.day) for e in found if e.what == "review due"}
    assert reviews == {(s.code, s.review.due) for s in listed if s.review.due}
    slots = {(e.code, e.day) for e in found if e.what == "booked" and not e.cancelled}
    assert slots >= {(s.code, s.review.booked) for s in listed if s.review.booked}


def test_it_is_what_rfc_5545_asks_for(text: str, found: list[Event]) -> None:
    """3.1: CRLF and lines of at most 75 octets; 3.6.1: UID and DTSTAMP; 3.2.19: a VTIMEZONE for each TZID."""
    assert text.startswith(MARK)
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert text.count("BEGIN:VEVENT") == text.count("\r\nUID:") == text.count("\r\nDTSTAMP:")
    assert "BEGIN:VTIMEZONE\r\nTZID:Europe/London" in text
    assert re.search(r"DTSTART;VALUE=DATE:\d{8}\r\n", text)
    uids = [event.uid for event in found]
    assert len(set(uids)) == len(uids)


def test_it_names_codes_alone(text: str) -> None:
    said = {line for line in text.split("\r\n") if line.startswith(("SUMMARY", "DESCRIPTION", "ATTENDEE"))}
    assert all(re.fullmatch(r"SUMMARY:BY-\d{3} (booked|review due)", line) for line in said)
    assert "NAME:FICTIONAL shoulder caseload" in text


def test_two_exports_are_alike_to_the_letter(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "one.ics"
    words = ["--store", str(demonstration), "--as-of", "2026-03-02"]
    assert run(["calendar", str(file), *words]) == 0
    assert capsys.readouterr().out.startswith(f"Calendar written to {file}. Not encrypted")
    assert run(["calendar", "-", *words]) == 0
    assert capsys.readouterr().out.encode() == file.read_bytes()
    assert run(["calendar", str(file), *words]) == 0  # over its own
    assert "DURATION" not in file.read_text()


def of_case(made: Builder) -> list[Event]:
    return events([made.record()], [standing_of(made)], rules(), T)


def test_a_slot_keeps_its_identifier_and_says_that_it_was_cancelled() -> None:
    slot = date(2026, 3, 6)
    made = case("RC2").add(Appointment, -2, booked_for=slot, at="09:20")
    before = of_case(made)[0]
    after = of_case(made.add(Attendance, 0, booked_for=slot, outcome="cancelled by patient"))[0]
    assert (before.what, before.at, before.cancelled, after.cancelled) == ("booked", time(9, 20), False, True)
    assert before.uid == after.uid
    assert "STATUS:CANCELLED" in as_calendar([after], "UTC", fictional=False)


def test_a_review_keeps_its_identifier_when_it_moves() -> None:
    made = case("RC2")
    (before,), (after,) = of_case(made), of_case(made.visit(0, 30))
    assert before.uid == after.uid
    assert before.day < after.day == date(2026, 4, 1)


def test_an_hour_that_comes_twice_or_never_is_written_as_it_stands() -> None:
    """The night the clocks change: 25 October 2026 has two 01:30, 29 March 2026 none."""
    for day in (date(2026, 10, 25), date(2026, 3, 29)):
        event = Event("u", "C-1", "booked", day, time(1, 30), datetime(2026, 3, 1, tzinfo=UTC))
        assert f"DTSTART;TZID=Europe/London:{day:%Y%m%d}T013000" in as_calendar(
            [event], "Europe/London", fictional=False
        )


def test_without_the_library_one_sentence_says_what_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "icalendar", None)
    with pytest.raises(Exception, match=re.escape("pip install 'armrise[calendar]'")):
        as_calendar([], "UTC", fictional=False)
