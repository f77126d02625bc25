"""The caseload as known at an earlier instant: at "now" it is the list, and every way of reading it agrees.

Source: practice notes 4 and 6.2, ruling 39.
"""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.caseload import trial
from armrise.store.caseload.recorded import data_version, newest_recorded
from armrise.store.caseload.stays import ever_in
from armrise.store.caseload.timeline import read_timeline
from armrise.store.caseload.write import Ledger
from armrise.store.clinic.standing.stand import stand
from armrise.store.database.place import Store, StoreError
from tests.clinic.build import TODAY, rules
from tests.demo_store import NOW
from tests.store.drafts import draft
from tests.store.test_board import put
from tests.store.test_list_agrees import random_case

pytestmark = pytest.mark.usefixtures("worked_out_once")


@pytest.fixture(scope="module")
def random_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Twelve random histories; in three of them something was withdrawn, in one a withdrawal too."""
    store = Store.create(tmp_path_factory.mktemp("random") / "s", zone="UTC")
    first = 1
    for seed in range(12):
        made = random_case(seed)
        entries = list(made.entries)
        if seed % 4 == 0:
            gone = first + len(entries) - 2
            entries.append(draft("correction", TODAY, corrects=gone, reason="wrong case"))
        if seed == 4:
            undone = first + len(entries) - 1
            entries.append(draft("correction", TODAY, corrects=undone, reason="was right"))
        put(
            store, f"C-{seed}", entries, **{k: made.head[k] for k in ("pathway", "registered_on", "age_band")}
        )
        first += len(entries)
    return store


@pytest.mark.parametrize("which", ["demo", "random_store"])
def test_the_list_as_known_now_is_the_list(which: str, request: pytest.FixtureRequest):
    store: Store = request.getfixturevalue(which)
    now = newest_recorded(store)
    listed = caseload.standings(store, rules(), TODAY)
    assert caseload.standings(store, rules(), TODAY, known_at=now) == listed
    assert caseload.standings(store.as_known(now), rules(), TODAY) == listed
    assert caseload.standings(store.as_known(None), rules(), TODAY) == listed


@pytest.mark.parametrize("which", ["demo", "random_store"])
@pytest.mark.parametrize("back", [0, 1, 3, 12, 40])
def test_a_trial_reads_of_a_day_what_a_replay_of_its_end_reads(
    which: str, back: int, request: pytest.FixtureRequest
):
    store: Store = request.getfixturevalue(which)
    day = TODAY - timedelta(days=back)
    for code in caseload.codes(store):
        assert trial.everything(store, [code])[0].known_by(day) == caseload.case(
            store, code, known_at=store.end_of_day(day)
        )


@pytest.mark.parametrize("which", ["demo", "random_store"])
def test_cases_read_together_for_a_trial_are_read_as_each_by_itself(
    which: str, request: pytest.FixtureRequest
):
    store: Store = request.getfixturevalue(which)
    codes = caseload.codes(store)
    assert trial.everything(store, codes) == [
        one for code in codes for one in trial.everything(store, [code])
    ]


def test_a_store_as_known_shows_nothing_later_by_any_way(demo: Store):
    instant = datetime(2026, 2, 20, 12, 0, tzinfo=UTC)
    then = demo.as_known(instant)
    newest = newest_recorded(then)
    assert newest is not None
    assert newest <= instant
    for code in caseload.codes(then):
        record = caseload.case(then, code)
        assert record == caseload.case(demo, code, known_at=instant)
        timeline = read_timeline(then, code, rules(), instant.date())
        assert all(one.entry.recorded_at <= instant for one in timeline.told)
    assert ever_in(then, "RC2") == ever_in(demo, "RC2", instant)
    assert caseload.in_full(then, ["BY-018"]) == [caseload.case(demo, "BY-018", known_at=instant)]
    by_list = {s.code: s for s in caseload.standings(then, rules(), instant.date())}
    for code, standing in by_list.items():
        assert standing == stand(caseload.case(then, code), rules(), instant.date())


def test_a_trial_on_a_store_as_known_reads_nothing_later(demo: Store):
    instant = datetime(2026, 2, 20, 12, 0, tzinfo=UTC)
    told = trial.everything(demo.as_known(instant), ["BY-018"])[0]
    assert max(told.recorded_on) <= instant.date()
    assert told.known_by(TODAY) == caseload.case(demo, "BY-018", known_at=instant)


def test_every_reader_asks_how_far_the_store_is_known():
    """No earlier list shows what was recorded later: a reader takes the instant of its store too."""
    readers = Path(caseload.__file__).parent.glob("*.py")
    assert [p.name for p in readers if "if known_at is None else" in p.read_text(encoding="utf-8")] == []


def test_of_two_limits_the_earlier_holds(demo: Store):
    early, late = datetime(2026, 2, 10, tzinfo=UTC), datetime(2026, 2, 20, tzinfo=UTC)
    wanted = caseload.case(demo, "BY-018", known_at=early)
    assert caseload.case(demo.as_known(early), "BY-018", known_at=late) == wanted
    assert caseload.case(demo.as_known(late), "BY-018", known_at=early) == wanted


def test_a_store_as_known_cannot_be_written_to(demo: Store):
    then = demo.as_known(datetime(2026, 2, 20, tzinfo=UTC))
    before = data_version(demo)
    with pytest.raises(StoreError, match="cannot be written"):
        Ledger(then, "TK", lambda: NOW).append("BY-018", [draft("visit", TODAY)])
    with pytest.raises(sqlite3.OperationalError):
        then.connect().execute("DELETE FROM setting")
    assert data_version(demo) == before


def test_a_letter_sent_later_was_still_owed_then(tmp_path: Path):
    """A case closed over a year ago is off the list only once its letter was known to be sent."""
    store = Store.create(tmp_path / "s", zone="UTC")
    closed = TODAY - timedelta(days=450)
    old = {"recorded_on": closed, "recorded_at": datetime.combine(closed, NOW.timetz())}
    entries = [
        draft("visit", closed, **old),
        draft("step", closed, stage="RC1", direction="placing", **old),
        draft("discharge", closed, outcome="goal met", letter=True, **old),
        draft("letter", TODAY, about="discharge", state="sent"),
    ]
    put(store, "C-1", entries, registered_on=closed)
    yesterday = TODAY - timedelta(days=1)
    (then,) = caseload.standings(store, rules(), yesterday, known_at=store.end_of_day(yesterday))
    assert [r.name for r in then.reasons] == ["letter owed"]
    assert caseload.standings(store, rules(), TODAY) == []
