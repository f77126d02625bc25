"""The look every few seconds whether somebody else wrote, beside a reading of the list."""

from __future__ import annotations

from threading import Event
from typing import Any

from textual.worker import WorkerState

from armrise.store.clinic.case.standing import Standing
from armrise.tui.app.app import ArmriseApp
from tests.tui.conftest import FakeDoor, a_reason, an_app, settled
from tests.tui.form_store import painted

SIZE = (120, 40)


class SlowDoor(FakeDoor):
    """Reads the list at once and hands it over when the first of ``gates`` opens."""

    def __init__(self) -> None:
        super().__init__()
        self.gates: list[Event] = []

    def standings(self) -> list[Standing]:
        gate = self.gates.pop(0) if self.gates else None
        found = super().standings()
        if gate is not None:
            assert gate.wait(10)
        return found


def slowly(door: SlowDoor) -> Event:
    """Hold the next reading until what is given back is set."""
    gate = Event()
    door.gates = [gate]
    return gate


async def begun(pilot: Any, door: SlowDoor) -> None:
    """Wait until the reading that is held has begun."""
    for _ in range(400):
        if not door.gates:
            return
        await pilot.pause(0.01)
    raise AssertionError("no reading began")


def board(app: ArmriseApp) -> Any:
    return app.screen_stack[0]


async def test_a_poll_leaves_a_reading_in_progress_alone() -> None:
    door = SlowDoor()
    app = an_app(door)
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        before, gate = door.readings, slowly(door)
        reading = board(app).read_again("Written.")
        await begun(pilot, door)
        door.was_changed = True
        board(app).poll()
        gate.set()
        await settled(pilot)
        assert reading.state is WorkerState.SUCCESS
        assert door.readings == before + 1
        assert "Written." in painted(pilot)
        board(app).poll()  # what changed meanwhile is seen by the next one
        await settled(pilot)
        assert door.readings == before + 2


async def test_a_reading_overtakes_a_poll_and_the_next_poll_makes_it_good() -> None:
    """What the poll read is older: the list must not fall back to it, nor lose what only the poll noticed."""
    door = SlowDoor()
    app = an_app(door)
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        gate, door.was_changed = slowly(door), True
        board(app).poll()
        await begun(pilot, door)
        since = door.cases[0]._replace(reasons=(a_reason("new injury", "fell since"),))
        door.cases = [since, *door.cases[1:]]
        await board(app).read_again("Written.").wait()
        gate.set()
        await settled(pilot)
        assert "fell since" in painted(pilot)
        assert "Written." in painted(pilot)
        before = door.readings
        board(app).poll()
        await settled(pilot)
        board(app).poll()
        await settled(pilot)
        assert door.readings == before + 1
