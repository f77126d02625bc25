"""Waiting until an application has nothing left to do, where Textual's pilot waits for an idle machine.

The pilot sleeps in slices of 20 ms until one has cost no computing: 40 ms for each key in which nothing
happens, and on a busy machine a slice may end before the work has begun. Here the event loop itself is asked.

What is laid out and painted is what somebody may look at: the state in which nothing is due any more, and of
several keys pressed at once the state after the last. A screen in the midst of its work is not painted, as
on a machine that is faster than the eye. Nor is a screen laid out again for the size it has just been laid
out for, which Textual does with each that is opened and with those beneath it.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import textual.app
import textual.pilot
from textual._context import active_app
from textual._wait import wait_for_idle as idle_machine
from textual.app import App
from textual.geometry import Size
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.screen import Screen
from textual.worker import Worker

_on_timer = Screen._on_timer_update
_paint = Screen._compositor_refresh
_wait_for_all = Pilot._wait_for_screen
_press = Pilot.press
_resized = Screen._screen_resized
GIVEN = 0.25
"""Seconds a thread is waited for at a key, before it is taken to wait for something itself."""
IN_A_ROW = 10
"""Workers, each started by the one before, that are waited for at most."""
UNSEEN: dict[App[Any], bool] = {}
"""The applications nobody looks at just now, and whether their screen has changed since."""


def _due() -> Any:
    """What the event loop is about to do."""
    return asyncio.get_running_loop()._ready  # type: ignore[attr-defined]


async def quiet(min_sleep: float = 0, max_sleep: float = 1) -> None:
    """Wait until no callback is due and every change is painted; a running worker is given some time.

    Timers are not waited for. Gives up after ``max_sleep`` seconds, as the pilot does.
    """
    ready = _due()
    app = active_app.get()
    end = time.monotonic() + max_sleep
    given: set[Worker[Any]] = set()
    while time.monotonic() < end:
        await asyncio.sleep(0)
        if ready:
            continue
        for screen in app.screen_stack[-1:]:
            screen._on_timer_update()
        running = {worker for worker in app.workers if worker.is_running} - given
        if running:
            if await _still_at_work(running):
                await idle_machine(min_sleep, max_sleep)
            given |= running
        elif not ready:
            return


async def _still_at_work(running: set[Worker[Any]]) -> bool:
    """Whether a worker is at work after its time: on a busy machine a thread may look idle that is not."""
    tasks = [worker._task for worker in running if worker._task and worker._thread_worker]
    if tasks:
        await asyncio.wait(tasks, timeout=GIVEN)
    return any(worker.is_running for worker in running)


async def settle(pilot: Pilot[Any]) -> None:
    """Let workers finish, and those they start, and the screen be painted.

    A worker that closes its own screen is cancelled.
    """
    with unseen(pilot.app):
        await pilot.pause()
        for _ in range(IN_A_ROW):
            at_work = [worker.wait() for worker in pilot.app.workers if not worker.is_finished]
            await asyncio.gather(*at_work, return_exceptions=True)
            await pilot.pause()
            if not at_work:
                return


@contextmanager
def unseen(app: App[Any]) -> Iterator[None]:
    """Nothing is painted meanwhile; what has changed is painted at the end, and an error in it raised."""
    if app in UNSEEN:
        yield
        return
    UNSEEN[app] = False
    try:
        yield
    finally:
        changed = UNSEEN.pop(app)
    if changed and app.is_running and app.screen_stack:
        _paint(app.screen)


def _paint_when_seen(screen: Screen[Any]) -> None:
    if screen.app in UNSEEN and screen is screen.app.screen:
        UNSEEN[screen.app] = True
    else:
        _paint(screen)


def _lay_out_anew(screen: Screen[Any], size: Size) -> None:
    """What an event of its size asks of a screen, unless it is laid out for that size."""
    if screen._compositor.size != size or screen._compositor.root is not screen:
        _resized(screen, size)


def _update_when_idle(screen: Screen[Any]) -> None:
    """What the timer of a screen asks for, left to its next tick while other work is due."""
    if not _due():
        screen._on_timer_update()


def _update_timer(screen: Any) -> Any:
    """The timer of a screen, which asks for :func:`_update_when_idle`."""
    if screen._Screen__update_timer is None:
        screen._Screen__update_timer = screen.set_interval(
            textual.screen.UPDATE_PERIOD, lambda: _update_when_idle(screen), name="screen_update", pause=True
        )
    return screen._Screen__update_timer


async def _press_unseen(pilot: Pilot[Any], *keys: str) -> None:
    with unseen(pilot.app):
        await _press(pilot, *keys)


def _waits(pump: MessagePump) -> bool:
    """Whether a widget has read every message and waits for the next."""
    came = pump._message_queue.ready_event
    return bool(came._waiters) and not came.is_set() and pump._pending_message is None  # type: ignore[attr-defined]


async def _wait_for_those_at_work(pilot: Pilot[Any], timeout: float = 30.0) -> bool:
    """As Textual, which sends each widget a message and waits for all answers; none where all are waiting."""
    app = pilot.app
    if app.screen_stack and all(map(_waits, (app, *app.screen.walk_children(with_self=True)))):
        return not app._exception_event.is_set()
    return await _wait_for_all(pilot, timeout)


def wait_for_quiet() -> None:
    """Let every pilot of this process wait so."""
    textual.app.wait_for_idle = textual.pilot.wait_for_idle = quiet
    Pilot._wait_for_screen = _wait_for_those_at_work
    Pilot.press = _press_unseen
    Screen._screen_resized = _lay_out_anew  # type: ignore[method-assign]
    Screen._compositor_refresh = _paint_when_seen  # type: ignore[method-assign]
    Screen._update_timer = property(_update_timer)  # type: ignore[assignment]
