"""A trial run on the screen: the bar, a stop that keeps what was read, the report; nothing is written."""

from __future__ import annotations

import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from threading import Event

import pytest

from armrise.store.caseload import trial
from armrise.store.rules.pathway import Rules
from armrise.store.rules.read import SHIPPED
from armrise.tui.app.app import ArmriseApp
from armrise.tui.pages.trial import TrialScreen
from armrise.tui.shell.door import Door
from tests.clinic.build import rules
from tests.clinic.test_trial import with_stage
from tests.tui.case_store import at_case, press
from tests.tui.form_store import newest, painted, type_in


@pytest.fixture
def app(app: ArmriseApp, monkeypatch: pytest.MonkeyPatch) -> ArmriseApp:
    """The application on the demo; a trial reads the six cases around the ones that change, to be quick."""
    every = trial.plan
    monkeypatch.setattr(trial, "plan", lambda store, **days: every(store, **days)[14:20])
    return app


def changed() -> Rules:
    """RC2 needs ten days instead of fourteen, as version 2."""
    minimum = rules().pathways["RC"].stage("RC2").minimum  # type: ignore[union-attr]
    return replace(with_stage("RC2", minimum=replace(minimum, value=Decimal(10))), version="2")


async def test_the_report_says_days_cases_alarms_and_verdicts(app: ArmriseApp, door: Door) -> None:
    before = newest(door)
    async with app.run_test(size=(80, 50)) as pilot:
        await at_case(pilot, "BY-018")
        await app.push_screen(TrialScreen(door, changed()))
        await press(pilot, "j")
        told = painted(pilot)
        assert "new: version 2, NOT SIGNED OFF" in told
        assert "4 case-days would have read differently, on 4 dates, in 1 case" in told
        assert "BY-051: 4 days of 41 read differently" in told
        assert "Sun 22 Feb 2026 to Wed 25 Feb 2026, 4 days: verdict NOT YET -> UNKNOWN" in told
        assert "PARTIAL" not in told
        await press(pilot, "escape")
        assert len(app.screen_stack) == 1
    assert newest(door) == before


async def test_esc_stops_and_what_was_read_is_said_to_be_partial(
    app: ArmriseApp, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, go_on, read = trial.everything, Event(), []

    def slow(*given: object) -> object:
        read.append(given)
        if len(read) == 2:
            go_on.wait(20)
        return one(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(trial, "everything", slow)
    monkeypatch.setattr(trial, "AT_ONCE", 1)
    async with app.run_test(size=(80, 50)) as pilot:
        await at_case(pilot, "BY-018")
        await app.push_screen(TrialScreen(door, changed()))
        while len(read) < 2:
            await pilot.pause(0.01)
        await pilot.press("escape")
        await pilot.pause()
        assert "Stopping after this case" in painted(pilot)
        go_on.set()
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "PARTIAL: stopped after 2 of 6 cases" in painted(pilot)
        await press(pilot, "escape")
        assert len(app.screen_stack) == 1


async def test_the_rules_are_asked_for_and_a_folder_that_holds_none_is_refused(
    app: ArmriseApp, tmp_path: Path
) -> None:
    shutil.copytree(SHIPPED, tmp_path / "r")
    async with app.run_test(size=(80, 50)) as pilot:
        await at_case(pilot, "BY-018", "T")
        await type_in(pilot, "nowhere")
        await press(pilot, "enter")
        assert "nowhere" in painted(pilot)
        assert len(app.screen_stack) == 2
        await press(pilot, *["backspace"] * 7)
        await type_in(pilot, str(tmp_path / "r"))
        await press(pilot, "enter")
        assert "no day of any case would have read differently" in painted(pilot)
