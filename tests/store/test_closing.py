"""Closing days move what is proposed, and no count. Public holidays: the library ``holidays``.

The check value of England, one working day after 24 December 2026, is 29 December (Boxing Day 2026 is a
Saturday, kept on Monday 28): gov.uk/bank-holidays, and numpy.busday_offset with the same days.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import pytest

from armrise.store.caseload import closing_days as of
from armrise.store.caseload import read as caseload
from armrise.store.database.place import Store, StoreError
from armrise.store.record.closing import Closing, Span
from armrise.store.rules.read import load
from armrise.tui.command.main import run

T = date(2026, 3, 2)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store.create(tmp_path / "closing.armrise", zone="Europe/London")


def test_one_working_day_after_christmas_eve_in_england(store: Store) -> None:
    of.say_region(store, "gb/ENG")
    closed = of.closing(store, T)
    assert closed.next_open(date(2026, 12, 25)) == date(2026, 12, 29)
    assert closed.moved_words(date(2026, 12, 25)) == "Tue 29 Dec; Fri 25 Dec is a holiday"
    assert [closed.why(date(2026, 12, day)) for day in (24, 25, 26, 27, 28, 29)] == [
        *("", "public holiday", "public holiday", "closed on Sundays", "public holiday", ""),
    ]


def test_without_anything_said_the_clinic_is_closed_at_weekends(store: Store) -> None:
    closed = of.closing(store, T)
    assert closed == Closing()
    assert closed.next_open(date(2026, 12, 5)) == date(2026, 12, 7)
    assert closed.moved_words(date(2026, 12, 5)) == "Mon 7 Dec; Sat 5 Dec is closed"
    assert closed.moved_words(date(2026, 12, 7)) == ""


def test_days_of_its_own_go_over_a_year(store: Store) -> None:
    of.add_days(store, "2026-12-24..2027-01-01")
    of.add_days(store, "2026-12-23")
    closed = of.closing(store, T)
    said = closed.moved_words(date(2026, 12, 23))
    assert said == "Mon 4 Jan 2027; Wed 23 Dec 2026 is closed"
    of.drop_days(store, "2026-12-24..2027-01-01")
    assert of.closing(store, T).next_open(date(2026, 12, 23)) == date(2026, 12, 24)


def test_a_clinic_closed_for_long_proposes_the_day_itself() -> None:
    closed = Closing(spans=(Span(date(2026, 1, 1), date(2026, 12, 31)),))
    assert closed.next_open(date(2026, 3, 4)) == date(2026, 3, 4)


@pytest.mark.parametrize(
    ("say", "text", "told"),
    [
        (of.say_weekdays, "Sat Holiday", '"Holiday" is no day of the week, allowed are Mon Tue'),
        (of.say_weekdays, "T", "is no day of the week"),
        (of.say_weekdays, "mon tue wed thu fri sat sun", "open on some day of the week"),
        (of.say_region, "England", "say a country and a part of it"),
        (of.say_region, "ZZ", "allowed is a country of ISO 3166"),
        (of.say_region, "GB/XYZ", "allowed of GB: ENG"),
        (of.add_days, "24 Dec", '"24 Dec" is no date'),
        (of.add_days, "2026-12-24..2026-12-20", "lies before 2026-12-24"),
        (of.drop_days, "2026-12-24", "is no closing day that was added, there are: none"),
    ],
)
def test_what_is_not_understood_is_one_sentence_and_changes_nothing(
    say: object, text: str, told: str, store: Store
) -> None:
    with pytest.raises(StoreError) as refused:
        say(store, text)  # type: ignore[operator]
    assert told in str(refused.value)
    assert of.kept(store) == of.Kept()


def test_without_the_library_it_is_said(
    store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    of.say_region(store, "DE/BY")
    monkeypatch.setitem(sys.modules, "holidays", None)
    of.public_holidays.cache_clear()
    assert of.closing(store, T) == Closing()
    assert run(["closing-days", "--store", str(store.path)]) == 0
    assert (
        "public holidays: not known here, DE/BY needs one extra library: pip install"
        in capsys.readouterr().out
    )
    assert run(["closing-days", "--store", str(store.path), "--holidays", "GB"]) == 1
    assert "pip install 'armrise[holidays]'" in capsys.readouterr().err
    of.public_holidays.cache_clear()


def test_the_command_says_and_prints(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--weekdays", "wed, sun", "--add", "2026-12-24", "--holidays", "gb/SCT"]
    assert run(["closing-days", "--store", str(store.path), *words]) == 0
    assert capsys.readouterr().out == (
        "closed each week: Wed Sun\nclosed besides: 2026-12-24\npublic holidays: GB/SCT\n"
    )


def test_no_count_of_days_knows_it(demonstration: Path, tmp_path: Path) -> None:
    """Due dates, days overdue and days in stage are the same however long the clinic is closed."""
    path = tmp_path / "closed.armrise"
    path.write_bytes(demonstration.read_bytes())
    store, rules = Store.open(path), load()
    before = caseload.standings(store, rules, T)
    of.say_weekdays(store, "mon tue wed sat sun")
    of.add_days(store, "2026-02-01..2026-05-01")
    assert caseload.standings(store, rules, T) == before
