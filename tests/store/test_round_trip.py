"""What is written comes back as it was written, for every kind of entry and both ways of writing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.caseload import read as caseload
from armrise.store.caseload.recorded import data_version
from armrise.store.database.bulk import insert_entries
from armrise.store.database.place import Store
from armrise.store.record.case import FIELD_OF_KIND, KINDS
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem
from tests.store import drafts

CODE = "T-1"
MANY = 12
TRIES = settings(
    max_examples=MANY,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    database=None,
)


def read_back(store: Store, kind: str, *numbers: int) -> list[Entry]:
    """The entries of these numbers."""
    entries = getattr(caseload.case(store, CODE), FIELD_OF_KIND[kind])
    by_number = {entry.id: entry for entry in entries}
    return [by_number[number] for number in numbers]


def same(found: Any, written: Any) -> bool:
    """Equal, of the same types and with the same decimals (3 is not True, 12.5 is not 12.50)."""
    return found == written and repr(found) == repr(written)


def drawn(kind: str) -> list[Entry]:
    """Records of a kind, as many as are tried: they are written and read back together."""
    made: list[Entry] = []

    @given(draft=drafts.records(KINDS[kind]))
    @TRIES
    def draw(draft: Entry) -> None:
        made.append(draft)

    draw()
    assert len(made) >= MANY
    return made


@pytest.mark.parametrize("kind", list(FIELD_OF_KIND))
def test_every_kind_comes_back_from_the_ledger(store: Store, kind: str) -> None:
    made = drawn(kind)
    ledger = drafts.open_case(store)
    numbers = ledger.append(CODE, made, confirmed=True)
    found = read_back(store, kind, *numbers)
    stamps = {"recorded_at": ledger.now.at, "recorded_on": drafts.TODAY}
    for entry, draft, number in zip(found, made, numbers, strict=True):
        assert same(entry, replace(draft, id=number, **stamps | {"recorded_at": entry.recorded_at}))
        assert entry.recorded_at == ledger.now.at


@pytest.mark.parametrize("kind", list(FIELD_OF_KIND))
def test_every_kind_comes_back_from_a_bulk_load(store: Store, kind: str) -> None:
    drafts.open_case(store)
    first = data_version(store)
    made = [replace(draft, id=first + number) for number, draft in enumerate(drawn(kind))]
    with store.writing() as connection:
        insert_entries(connection, 1, made, batch=0)
    for entry, written in zip(read_back(store, kind, *(one.id for one in made)), made, strict=True):
        assert same(entry, written)


@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2099, 12, 31)),
    st.integers(-14 * 60, 14 * 60),
)
@TRIES
def test_an_instant_comes_back_to_the_microsecond_with_its_offset(
    store: Store, naive: datetime, minutes: int
) -> None:
    if not caseload.codes(store):
        drafts.open_case(store)
    zone = UTC if minutes == 0 else timezone(timedelta(minutes=minutes))
    entry = drafts.draft("visit", recorded_at=naive.replace(tzinfo=zone), id=data_version(store))
    with store.writing() as connection:
        insert_entries(connection, 1, [entry], batch=0)
    (found,) = read_back(store, "visit", entry.id)
    assert found.recorded_at == entry.recorded_at
    assert found.recorded_at.utcoffset() == entry.recorded_at.utcoffset()


@pytest.mark.parametrize("text", ["12.5", "12.50", "0", "-0.01", "-20", "200.00", "1E+2", "33.33"])
def test_decimals_come_back_exactly(store: Store, text: str) -> None:
    """A float would bring back 1.1 for 1.1 and 1.10 alike, and 0.1 + 0.2 for neither."""
    ledger = drafts.open_case(store)
    (number,) = ledger.append(CODE, [drafts.draft("measure", name="active_flexion", value=Decimal(text))])
    (found,) = read_back(store, "measure", number)
    assert found.value == Decimal(text)
    assert str(found.value) == ("100" if text == "1E+2" else text)


@pytest.mark.parametrize("absence", list(Absence))
def test_the_four_absences_are_four_values(store: Store, absence: Absence) -> None:
    """Practice notes 6.1: not measured, not asked, declined, prohibited; none of them zero."""
    ledger = drafts.open_case(store)
    ledger.append(
        CODE,
        [
            drafts.draft("session", during=absence, later=0, morning=absence),
            drafts.draft("measure", name="worst_pain", value=absence),
            drafts.draft("score", instrument="SPADI", total=absence),
            drafts.draft("score", instrument="SPADI", total=None),
        ],
    )
    record = caseload.case(store, CODE)
    assert (record.sessions[0].during, record.sessions[0].later) == (absence, 0)
    assert isinstance(record.sessions[0].during, Absence)
    assert record.measures[0].value is absence
    assert [score.total for score in record.scores] == [absence, None]


def test_exercises_keep_their_order_and_their_session(store: Store) -> None:
    ledger = drafts.open_case(store)
    rows = [DoneItem(exercise=f"row {n}", load_class="R1", load=Decimal("2.50"), sets=n) for n in range(3)]
    ledger.append(
        CODE,
        [
            drafts.draft("session", date(2026, 3, 1), items=tuple(rows)),
            drafts.draft("session", date(2026, 2, 28), items=tuple(reversed(rows))),
            drafts.draft("session", date(2026, 2, 27)),
        ],
    )
    found = caseload.case(store, CODE).sessions
    assert [session.items for session in found] == [(), tuple(reversed(rows)), tuple(rows)]


def test_recorded_late_at_night_belongs_to_the_clinics_own_date(store: Store) -> None:
    """22:30 UTC is 23:30 the same day in London in summer; 23:30 UTC is the day after (from memory)."""
    ledger = drafts.open_case(store, at=datetime(2026, 6, 1, 22, 29, 59, tzinfo=UTC))
    for minutes, expected in ((0, date(2026, 6, 1)), (60, date(2026, 6, 2))):
        ledger.now.at = datetime(2026, 6, 1, 22, 29, 59, tzinfo=UTC) + timedelta(minutes=minutes)
        (number,) = ledger.append(CODE, [drafts.draft("visit", date(2026, 6, 1))])
        (found,) = read_back(store, "visit", number)
        assert found.recorded_on == expected
        assert found.recorded_at.utcoffset() == timedelta(hours=1)
        assert found.days_late == (expected - date(2026, 6, 1)).days
