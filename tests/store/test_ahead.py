"""One entry recorded with the clock a month ahead, and everything after it (practice note 4.13, case 43)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.caseload.ahead import AHEAD, noted
from armrise.store.caseload.news import news
from armrise.store.caseload.recorded import newest_recorded
from armrise.store.caseload.refusal import Refused
from armrise.store.caseload.write import Ledger
from armrise.store.clinic.case.view import View
from armrise.store.database import desk
from armrise.store.database.place import Store, StoreError, remember
from tests.clinic.build import rules
from tests.store.drafts import MORNING, TODAY, draft, open_case

CODE = "T-1"
MONTH = timedelta(days=30)
ASKED = "the clock says 2026-03-02 .*, before the newest entry was recorded"


@pytest.fixture
def ledger(store: Store) -> Ledger:
    """A store in which one visit was recorded right, and one with the clock a month ahead."""
    store.created = (MORNING - MONTH).isoformat()
    made = open_case(store)
    made.append(CODE, [draft("visit")])
    made.now.at += MONTH
    made.append(CODE, [draft("contact", outcome="spoke")])
    made.now.at -= MONTH
    return made


def confirm(ledger: Ledger) -> None:
    """The clock is set right, and the first entry under it confirmed."""
    with pytest.raises(Refused, match=ASKED):
        ledger.append(CODE, [draft("visit")])
    ledger.append(CODE, [draft("visit")], confirmed=True)


def test_after_one_confirmation_nobody_is_asked_again(ledger: Ledger) -> None:
    confirm(ledger)
    for _ in range(3):
        ledger.append(CODE, [draft("visit")])
    ledger.correct(2, "typed with a wrong clock")
    ledger.append(CODE, [draft("visit")])


def test_a_withdrawal_confirmed_is_a_confirmation(ledger: Ledger) -> None:
    ledger.correct(2, "typed with a wrong clock", confirmed=True)
    ledger.append(CODE, [draft("visit")])


def test_what_was_written_on_a_day_to_come_is_corrected_and_not_undone(ledger: Ledger) -> None:
    with pytest.raises(Refused, match="was written on Wed 1 Apr 2026, undo is for the same day: correct it"):
        ledger.undo(CODE)


def test_a_clock_that_falls_back_afterwards_is_noticed(ledger: Ledger) -> None:
    confirm(ledger)
    ledger.now.at -= timedelta(hours=2)
    with pytest.raises(Refused, match=ASKED):
        ledger.append(CODE, [draft("visit")])


def test_a_second_time_ahead_is_noticed_as_the_first(ledger: Ledger) -> None:
    confirm(ledger)
    ledger.now.at += MONTH
    ledger.append(CODE, [draft("visit")])
    ledger.now.at -= MONTH
    confirm(ledger)
    ledger.append(CODE, [draft("visit")])


def test_a_clock_before_the_making_of_the_store_marks_nothing(ledger: Ledger) -> None:
    store = ledger.store
    store.created = MORNING.isoformat()
    ledger.now.at = datetime(2020, 1, 1, tzinfo=UTC)
    ledger.append(CODE, [draft("visit", on=ledger.now.at.date())], confirmed=True)
    with store.reading() as connection:
        assert noted(connection) == ()


def test_what_is_recorded_stays_and_what_follows_from_it_is_in_order(ledger: Ledger) -> None:
    confirm(ledger)
    record = caseload.case(ledger.store, CODE)
    view = View.of(record, rules(), TODAY)
    (first, later), (told,) = record.visits, record.contacts
    assert [e.id for e in sorted((first, told, later), key=lambda e: (e.recorded_at, e.id))] == [1, 2, 3]
    assert view.answers(later, told), "what is written after it answers it"
    assert not view.answers(told, later), "and it answers nothing that was told later"
    with ledger.store.reading() as connection:
        on_record = connection.execute("SELECT recorded_at_utc FROM entry WHERE id = 2").fetchone()[0]
    assert on_record > later.recorded_at.timestamp() * 1e6 + MONTH.total_seconds() * 0.9e6


def test_the_data_are_of_today_again(ledger: Ledger) -> None:
    ahead = newest_recorded(ledger.store)
    confirm(ledger)
    now = newest_recorded(ledger.store)
    assert ahead is not None
    assert now is not None
    assert ahead - now > timedelta(days=29)
    assert now == ledger.now.at


def test_news_come_and_go_again(ledger: Ledger) -> None:
    desk.looked(ledger.store, "MB", CODE, MORNING - timedelta(minutes=1))
    confirm(ledger)
    at = ledger.now.at + timedelta(minutes=1)
    assert news(ledger.store, "MB", at) == {CODE}
    desk.looked(ledger.store, "MB", CODE, at)
    assert news(ledger.store, "MB", at) == frozenset()


def test_a_look_with_a_wrong_clock_hides_nothing(store: Store) -> None:
    ledger = open_case(store)
    desk.looked(store, "MB", CODE, MORNING + MONTH)
    ledger.append(CODE, [draft("visit")])
    assert news(store, "MB", ledger.now.at) == {CODE}


@pytest.mark.parametrize(
    "kept", ["{", "[7]", "[[1, 2]]", '[["a", "b", "c"]]', "[[1, 2, null]]", b"\xff", "7"], ids=str
)
def test_what_is_noted_and_damaged_is_named(store: Store, kept: str | bytes) -> None:
    """Whoever reads the list, writes, or asks for the news gets one sentence."""
    ledger = open_case(store)
    with store.writing() as connection:
        remember(connection, {AHEAD: "[]"})
        connection.execute("UPDATE remembered SET value = CAST(? AS TEXT)", (kept,))
    row = "^remembered recorded ahead of the store cannot be read.*: armrise verify, then restore a backup$"
    for attempt in (
        lambda: caseload.case(store, CODE),
        lambda: newest_recorded(store),
        lambda: ledger.append(CODE, [draft("visit")]),
        lambda: news(store, "MB", ledger.now.at),
    ):
        with pytest.raises(StoreError, match=row):
            attempt()
