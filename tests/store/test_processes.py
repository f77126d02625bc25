"""Long work shared out among processes: the same answers in the same order, whatever becomes of a helper.

Source: what one process gives is compared with what several give. No other source.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from armrise.store.caseload import audit as auditing
from armrise.store.caseload import trial
from armrise.store.caseload.audit import Tell, audit_store
from armrise.store.caseload.processes import shared
from armrise.store.clinic.audit.period import Audit, Period, last_full_month
from armrise.store.clinic.audit.trial import Trial
from armrise.store.database.place import Store
from armrise.store.database.sqlite_file import SqliteMemory
from armrise.store.rules.pathway import Rules
from tests.bench.distinct_store import TODAY, make
from tests.clinic.build import rules

PERIOD = Period(*last_full_month(TODAY), TODAY)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return make(tmp_path_factory.mktemp("processes") / "caseload.armrise", 10, 8)


@pytest.fixture(scope="module")
def alone(store: Store) -> Audit:
    return audit_store(store, rules(), PERIOD)


Started = list[subprocess.Popen[bytes]]


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> Started:
    """The helpers that were started, two at a time, by work that is said to pay."""
    found: Started = []
    start: Callable[[], shared._Helper] = shared._started

    def noted() -> shared._Helper:
        helper = start()
        found.append(helper.process)
        return helper

    monkeypatch.setattr(shared, "_started", noted)
    monkeypatch.setattr(shared, "_processors", lambda: 2)
    monkeypatch.setattr(auditing, "PAYS_FROM", 1)
    monkeypatch.setattr(auditing, "AT_ONCE", 3)
    monkeypatch.setattr(trial, "PAYS_FROM", 1)
    monkeypatch.setattr(trial, "AT_ONCE", 1)
    return found


def test_several_processes_count_what_one_does(store: Store, alone: Audit, started: Started) -> None:
    told: list[tuple[int, int]] = []
    sessions: set[int] = set()

    def tell(done: int, of: int) -> None:
        told.append((done, of))
        sessions.update(os.getsid(one.pid) for one in started if one.poll() is None)

    made = audit_store(store, rules(), PERIOD, tell=tell)
    assert made == alone
    assert repr(made) == repr(alone)
    assert told == sorted(told)
    assert {(0, 10), (3, 10), (6, 10), (9, 10)} == set(told)
    assert len(started) == 2
    assert all(one.poll() is not None for one in started), "they end with the work"
    assert os.getsid(0) not in sessions, "Ctrl+C reaches only who asked"


def test_whoever_stops_it_ends_every_helper(store: Store, started: Started) -> None:
    class StoppedError(Exception):
        pass

    def stop(done: int, of: int) -> None:
        if started:
            raise StoppedError

    with pytest.raises(StoppedError):
        audit_store(store, rules(), PERIOD, tell=stop)
    assert [one.poll() is not None for one in started] == [True, True]


def killing(started: Started) -> Tell:
    """Kills the helpers one after the other as soon as there are any."""

    def tell(done: int, of: int) -> None:
        for one in started[: 1 + done // 3]:
            one.kill()

    return tell


def test_others_do_what_a_killed_helper_left(store: Store, alone: Audit, started: Started) -> None:
    assert audit_store(store, rules(), PERIOD, tell=killing(started)) == alone
    assert len(started) == 2


def test_without_helpers_one_process_does_it(
    store: Store, alone: Audit, started: Started, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", str(Path(os.devnull) / "python"))
    assert audit_store(store, rules(), PERIOD) == alone
    assert started == []


def test_a_helper_of_another_program_helps_nobody(
    store: Store, alone: Audit, started: Started, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shared, "program", lambda: "replaced meanwhile")
    assert audit_store(store, rules(), PERIOD) == alone
    assert len(started) == 2


def test_a_store_that_is_no_plain_file_is_counted_here(started: Started) -> None:
    store = Store.create(SqliteMemory(), zone="UTC", clinic_date=TODAY)
    assert audit_store(store, rules(), PERIOD).clinic.empty
    assert shared._task(store, auditing.Counting(rules(), PERIOD, None)) is None


def test_what_goes_wrong_is_said_where_it_was_asked(store: Store, started: Started) -> None:
    broken = replace(rules(), figures={})
    with pytest.raises(KeyError, match="days"):
        audit_store(store, broken, PERIOD)
    assert len(started) == 2


def tried(store: Store, new: Rules) -> Trial:
    *_, (made, read, total) = trial.run(store, rules(), new, since=None, until=TODAY)
    assert read == total
    return made


def test_several_processes_try_what_one_does(
    store: Store, started: Started, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours = rules()
    figure = replace(ours.figures["flare.horizon_days"], value=Decimal(9))
    new = replace(ours, figures={**ours.figures, "flare.horizon_days": figure})
    both = tried(store, new)
    assert len(started) == 2
    monkeypatch.setattr(trial, "PAYS_FROM", 10**9)
    assert tried(store, new) == both
    assert [case.code for case in both.cases] == sorted(case.code for case in both.cases)
