"""The demonstration is moved by whole weeks, and everything of the run goes by the clock of that Monday.

A Monday stays a Monday (practice note 90: visits on working days only).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from armrise.store.caseload.recorded import newest_recorded
from armrise.store.database.instants import EPOCH, MICROSECOND
from armrise.store.database.place import Store
from armrise.store.record import clock
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.opening import Opening, demonstration
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.widgets.caselist import CaseList
from tests.tui.conftest import settled
from tests.tui.form_store import new_entries, newest, painted, press

SATURDAY = datetime(2026, 11, 28, 2, 0, tzinfo=UTC)
MONDAY = date(2026, 11, 23)
CODE = "BY-069"
IN_TODAY = {"BY-018", "BY-057", "BY-060", "BY-069", "BY-078", "BY-084", "BY-100"}
"""Practice note 90."""


def opened(folder: Path, as_of: date | None = None) -> StoreDoor:
    """The door that `armrise demo` opens."""
    folder.mkdir(exist_ok=True)
    asked = Opening(None, True, as_of, lambda: demonstration(folder, as_of))
    door = asked.door(lambda _: None)
    assert isinstance(door, StoreDoor)
    return door


@pytest.mark.parametrize(
    ("now", "as_of", "played"),
    [
        (datetime(2026, 11, 23, 9, 0, tzinfo=UTC), None, MONDAY),
        (datetime(2026, 11, 29, 23, 59, tzinfo=UTC), None, MONDAY),
        (datetime(2026, 7, 5, 23, 30, tzinfo=UTC), None, date(2026, 7, 6)),
        (SATURDAY, date(2026, 3, 5), date(2026, 3, 5)),
    ],
    ids=["a Monday", "Sunday 23:59", "Monday by the clinic's clock already", "a date asked for"],
)
def test_clinic_date_clock_and_what_is_written_are_of_one_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, now: datetime, as_of: date | None, played: date
) -> None:
    monkeypatch.setattr(clock, "utc_now", lambda: now)
    door = opened(tmp_path / "demo", as_of)
    before = newest(door)
    assert (door.today, door.local(door.now()).date()) == (played, played)
    assert door.header()["plays"] == (played != door.store.local(now).date())
    told = newest_recorded(door.store)
    assert told is not None
    assert f"{door.local(told):%F %R}" == f"{played} 07:55"
    door.append(CODE, [door.draft("contact", outcome="spoke")], seen=door.open(CODE).seen)
    (stored,) = new_entries(door, CODE, before)
    assert {stored.on, stored.recorded_on, door.local(stored.recorded_at).date()} == {played}
    assert stored.recorded_at >= told
    assert door.last_look(CODE) == door.store.end_of_day(played - timedelta(days=1))
    door.looked(CODE)
    assert "Undone" in door.undo(CODE)
    until = door.header()["data_until"]
    assert until is not None
    assert door.local(until).date() == played


def test_on_a_saturday_who_comes_in_today_comes_in_on_monday(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "utc_now", lambda: SATURDAY)
    door = opened(tmp_path / "demo")
    booked = {standing.code: standing.review.booked for standing in door.standings()}
    assert {code for code, on in booked.items() if on == MONDAY} == IN_TODAY
    assert all(on.isoweekday() <= 5 for on in booked.values() if on)
    assert door.news() == {"BY-003", "BY-007", "BY-015", "BY-021", "BY-069", "BY-096"}


async def test_a_check_in_written_on_a_saturday_is_of_monday(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By keys, at two in the night: the head, the poll, the history and undo all stay on the Monday."""
    monkeypatch.setattr(clock, "utc_now", lambda: SATURDAY)
    stores: list[Store] = []

    def prepare() -> Store:
        stores.append(demonstration(tmp_path, None))
        return stores[0]

    app = ArmriseApp(Opening(None, True, None, prepare))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        assert "FICTIONAL CASELOAD plays Mon 23 Nov 2026, data to 07:55" in painted(pilot)
        app.screen.query_one(CaseList).go_to(CODE)
        await press(pilot, "c", "n", "2", "1", "f2")
        assert "session of Sun 22 Nov" in painted(pilot)
        monkeypatch.setattr(clock, "utc_now", lambda: SATURDAY + timedelta(days=2))
        app.screen.poll()
        await settled(pilot)
        shown = painted(pilot)
        assert "plays Mon 23 Nov 2026, data to 07:55" in shown
        await press(pilot, "enter", "h", "enter")
        assert "recorded Mon 23 Nov 2026 07:55 by demo" in painted(pilot)
        await press(pilot, "escape", "escape")
        await press(pilot, "U")
        await press(pilot, "y")
    with stores[0].reading() as connection:
        typed = connection.execute("SELECT kind, recorded_at_utc FROM entry WHERE batch > 0").fetchall()
    assert [kind for kind, _ in typed] == ["session", "correction"]
    assert [f"{EPOCH + at * MICROSECOND:%F %R}" for _, at in typed] == ["2026-11-23 07:55"] * 2
