"""A write that the screen never hears of: cancelled, or the program left, between the commit and the answer.

Common practice, no source: what is written is never called unwritten, nor offered to be written again.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.caseload.write import Ledger
from armrise.store.record.kinds.pain import Session
from armrise.tui.forms.kit.kept import Keeper
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import (
    NOW,
    TODAY,
    new_entries,
    newest,
    open_copy,
    painted,
    press,
    settle,
    until,
)

CODE = "BY-069"


@pytest.fixture
def door(made: Path, tmp_path: Path) -> Door:
    return open_copy(made, tmp_path / "copy.armrise")


class Pause:
    """Holds the writer at one moment: ``reached`` once it is there, and it goes on after ``go``."""

    def __init__(self) -> None:
        self.reached = threading.Event()
        self.go = threading.Event()

    def here(self) -> None:
        self.reached.set()
        assert self.go.wait(20)


@contextmanager
def after_commit(monkeypatch: pytest.MonkeyPatch) -> Iterator[Pause]:
    """The writer is held when the entry is in the store and nobody has been told."""
    pause, real = Pause(), Ledger.append

    def append(self: Ledger, *given: Any, **named: Any) -> Any:
        done = real(self, *given, **named)
        pause.here()
        return done

    with monkeypatch.context() as patched:
        patched.setattr(Ledger, "append", append)
        try:
            yield pause
        finally:
            pause.go.set()


async def reached(pilot: Pilot[Any], pause: Pause) -> None:
    for _ in range(1000):
        if pause.reached.is_set():
            return
        await pilot.pause(0.01)
    raise AssertionError("the writer never came there")


def sessions(door: Door, before: int) -> list[Session]:
    return [e for e in new_entries(door, CODE, before) if isinstance(e, Session)]


async def begin(pilot: Pilot[Any], *, kept: bool) -> None:
    """Type a check-in, which is kept as a draft by then or not yet, and ask for it to be written."""
    await settle(pilot)
    await press(pilot, "n", "4", "2")
    if kept:
        pilot.app.screen.keep_now()  # type: ignore[attr-defined]
        await settle(pilot)
    await pilot.press("f2")


async def offered(door: Door) -> str:
    """What the form says when it is opened again."""
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        return painted(pilot)


@pytest.mark.parametrize("kept", [True, False], ids=["draft kept", "draft not kept yet"])
async def test_a_worker_cancelled_after_the_commit_says_written_and_writes_once(
    kept: bool, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = newest(door)
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        with after_commit(monkeypatch) as pause:
            await begin(pilot, kept=kept)
            await until(pause.reached.is_set)
            (writing,) = [worker for worker in app.workers if worker.group == "write"]
            writing.cancel()
            await pilot.pause(0.6)  # longer than a draft waits to be kept
            assert "Writing ..." in painted(pilot)
            await pilot.press("f2", "escape", "f2")  # neither again nor away while it is being written
            assert app.screen is app.form
            assert "not written" not in painted(pilot).lower()
        await until(lambda: app.result != "not dismissed")
        assert app.result.startswith("Written: ")
    assert len(sessions(door, before)) == 1
    assert door.unwritten() == []
    assert "F5 brings it back" not in await offered(door)


@pytest.mark.parametrize("kept", [True, False], ids=["draft kept", "draft not kept yet"])
@pytest.mark.parametrize("how", ["the program is left", "the form is taken away"])
async def test_nobody_there_to_be_told_and_still_no_draft_of_what_is_written(
    how: str, kept: bool, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = newest(door)
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    with after_commit(monkeypatch) as pause:
        async with app.run_test(size=(80, 24)) as pilot:
            await begin(pilot, kept=kept)
            await until(pause.reached.is_set)
            if how == "the form is taken away":
                app.pop_screen()
                await pilot.pause(0.1)
            else:
                app.exit()
        assert len(door.unwritten()) == 1  # kept when the form was closed: it might have been refused
    await until(lambda: door.unwritten() == [])
    assert len(sessions(door, before)) == 1
    assert "F5 brings it back" not in await offered(door)


async def test_a_process_killed_before_the_draft_is_dropped_does_not_call_it_unwritten(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The draft is older than the entry, although it was kept after it: the typing is what counts."""
    clock = iter(NOW + timedelta(seconds=n) for n in range(10_000))
    door = StoreDoor(door.store, door.rules, "TK", TODAY, lambda: next(clock))
    monkeypatch.setattr(CheckInScreen, "end_keeping", lambda self: None)
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    with after_commit(monkeypatch) as pause:
        async with app.run_test(size=(80, 24)) as pilot:
            await begin(pilot, kept=False)
            await until(pause.reached.is_set)
            app.exit()
        assert len(door.unwritten()) == 1
    told = await offered(door)
    assert "You have written about this case since" in told
    assert "Not written" not in told


def test_a_keeping_that_comes_after_the_write_is_too_late(door: Door) -> None:
    """The draft is kept half a second after the last key: that may be while it is being written."""
    keeper = Keeper(door, CODE, "CheckInScreen")
    ticket = keeper.ticket()
    keeper.end(held=False)
    keeper.keep(ticket, {"during": "4"})
    assert door.unwritten() == []


async def test_a_keeping_under_way_while_the_answer_comes_leaves_no_draft(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = newest(door)
    late = Pause()
    real = Keeper.keep

    def keep(self: Keeper, *given: Any) -> None:
        late.here()
        real(self, *given)

    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        monkeypatch.setattr(Keeper, "keep", keep)
        form: Any = app.form
        await pilot.press("n", "4", "2")
        form._kept = {}
        form.keep_now()
        await until(late.reached.is_set)
        form._kept = {}  # as the thread that writes still sees it
        await pilot.press("f2")
        await until(lambda: app.result != "not dismissed")
        late.go.set()
        await settle(pilot)
    assert len(sessions(door, before)) == 1
    assert door.unwritten() == []


async def test_words_that_fail_are_made_before_the_write_so_that_nothing_written_is_right(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = newest(door)
    real, failing = Door.words, [True, True]

    def words(self: Door, entry: Any) -> str:
        if failing and failing.pop():
            raise RuntimeError("no words")
        return real(self, entry)

    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "4", "2")
        monkeypatch.setattr(Door, "words", words)
        for _ in range(2):
            await press(pilot, "f2")
            said = painted(pilot)
            assert ("nothing was written" in said) == (sessions(door, before) == [])
        await press(pilot, "f2")
        await until(lambda: app.result != "not dismissed")
    assert len(sessions(door, before)) == 1
