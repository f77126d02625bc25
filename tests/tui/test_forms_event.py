"""A new injury or instability event by its keys.

Expected behaviour: sections 3.4, 4.13 (18) and rulings 8, 25, 43 and 53 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

import pytest

from armrise.store.record.kinds.safety import Event, Onset
from armrise.tui.forms.decisions.event import EventScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in


def form(door: Door, code: str) -> FormApp:
    return FormApp(EventScreen(door, door.standing(code)))


async def test_a_fall_is_a_new_injury_of_its_day(door: Door) -> None:
    before = newest(door)
    app = form(door, "BY-069")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "left", "enter", "n")
        await type_in(pilot, "off the slip")
        shown = painted(pilot)
        assert "new event: fall on Sun 1 Mar; off the slip" in shown
        assert "then NOT YET: new injury not assessed: fall on Sun 1 Mar" in shown
        assert "then new: new injury" in shown
        assert "then gone: ready to step forward" in shown
        assert "the red-flag screen anew" in shown
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-069", before)
    assert isinstance(stored, Event)
    assert (stored.event, stored.on, stored.combined) == ("fall", date(2026, 3, 1), False)
    assert (stored.note, stored.source) == ("off the slip", "patient reported")
    assert door.standing("BY-069").placing.code == "INJ"  # type: ignore[union-attr]


async def test_a_second_dislocation_is_said_to_end_in_a_referral(door: Door) -> None:
    """Ruling 43: in AD, severity 2 gives REFER "second event"."""
    app = form(door, "BY-075")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        assert "then REFER: second event: dislocation on Mon 2 Mar" in painted(pilot)


async def test_combined_movement_in_a_barred_time_is_a_broken_limit_too(door: Door) -> None:
    """Ruling 53: combined abduction with external rotation is a breach in AD1."""
    before = newest(door)
    async with form(door, "BY-105").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "enter", "y")
        assert "healing limit broken" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-105", before)
    assert isinstance(stored, Event)
    assert stored.combined
    assert {"INJ", "LIM"} <= {r.code for r in door.standing("BY-105").reasons}


async def test_healing_is_counted_anew_only_on_an_explicit_yes(door: Door) -> None:
    """Practice note 4.13, case 18."""
    before = newest(door)
    async with form(door, "BY-015").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "left", "enter", "y", "enter")
        assert "healing goes on counting from the dislocation of Sat 3 Jan 2026" in painted(pilot)
        await press(pilot, "y")
        shown = painted(pilot)
        assert "onset: dislocation on Sun 1 Mar" in shown
        assert "healing counts from that day, Sun 1 Mar 2026" in shown
        assert "AD2 opens Sat 10 Jan (day 7) -> Sun 8 Mar (day 7), template" in shown
        await press(pilot, "f2")
    event, onset = new_entries(door, "BY-015", before)
    assert isinstance(event, Event)
    assert isinstance(onset, Onset)
    assert (onset.what, onset.on) == ("dislocation", date(2026, 3, 1))
    assert door.standing("BY-015").days_since_onset == 1


async def test_left_unanswered_the_clock_runs_on(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-015").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "f2")
    (stored,) = new_entries(door, "BY-015", before)
    assert isinstance(stored, Event)
    assert door.standing("BY-015").days_since_onset == 58


@pytest.mark.parametrize("code", ["BY-069", "BY-003"])
async def test_no_restart_is_offered_where_healing_counts_from_no_injury(door: Door, code: str) -> None:
    """A fall after a repair is no new operation, and stage RC2 counts no healing days."""
    async with form(door, code).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert not pilot.app.screen.query_one("#restart").display
        assert "count healing anew" not in painted(pilot)


async def test_without_a_choice_nothing_is_written(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "what happened: choose 1 to 8" in painted(pilot)
        await press(pilot, "9")
        assert '"9" is not 1 to 8' in painted(pilot)
    assert new_entries(door, "BY-069", before) == []


async def test_an_event_older_than_the_form_takes_is_refused(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        await type_in(pilot, "2025-11-01")
        await press(pilot, "f2")
        assert "more than 60 days back" in painted(pilot)
    assert new_entries(door, "BY-069", before) == []


async def test_a_day_typed_and_not_entered_is_the_day_that_is_written(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        await type_in(pilot, "-20")
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-069", before)
    assert stored.on == date(2026, 2, 10)
