"""Waiting until an application has nothing left to do, where Textual's pilot waits for an idle machine.

The pilot sleeps in slices of 20 ms until one has cost no computing: 40 ms for each key in which nothing
happens, and on a busy machine a slice may end before the work has begun. Here the event loop itself is asked.

What is painted is what a test looks at, and what an application leaves at its end. A screen in the midst of
its work is neither laid out nor painted, as on a machine that is faster than the eye. Nor is a screen laid
out again for the size it has just been laid out for, which Textual does with each that is opened and with
those beneath it.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterable
from typing import Any
from weakref import WeakSet

import textual.app
import textual.pilot
from textual._compositor import Compositor
from textual._context import active_app
from textual._wait import wait_for_idle as idle_machine
from textual.app import App
from textual.geometry import Size
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.screen import Screen
from textual.strip import Strip
from textual.worker import Worker

_on_timer = Screen._on_timer_update
_paint = Screen._compositor_refresh
_wait_for_all = Pilot._wait_for_screen
_look = Compositor.render_strips
_shut_down = App._shutdown
_resized = Screen._screen_resized
GIVEN = 0.25
"""Seconds a thread is waited for at a key, before it is taken to wait for something itself."""
IN_A_ROW = 10
"""Workers, each started by the one before, that are waited for at most."""
OWED: WeakSet[App[Any]] = WeakSet()
"""The applications whose screen has changed since it was last painted."""
HASTE: WeakSet[App[Any]] = WeakSet()
"""The applications that are typed into faster than they lay their screen out."""


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
        running = {worker for worker in app.workers if worker.is_running} - given
        if running:
            if await _still_at_work(running):
                await idle_machine(min_sleep, max_sleep)
            given |= running
            continue
        if app not in HASTE or not (app.focused and app.focused.size):
            for screen in app.screen_stack[-1:]:
                screen._on_timer_update()
        if not ready:
            return


async def in_one_go(pilot: Pilot[Any], keys: Iterable[str]) -> None:
    """Press keys as fast hands do: the screen is laid out once the last is pressed, or for a new field."""
    HASTE.add(pilot.app)
    try:
        await pilot.press(*keys)
    finally:
        HASTE.discard(pilot.app)
    await settle(pilot)


async def _still_at_work(running: set[Worker[Any]]) -> bool:
    """Whether a worker is at work after its time: on a busy machine a thread may look idle that is not."""
    tasks = [worker._task for worker in running if worker._task and worker._thread_worker]
    if tasks:
        await asyncio.wait(tasks, timeout=GIVEN)
    return any(worker.is_running for worker in running)


async def settle(pilot: Pilot[Any]) -> None:
    """Let workers finish, and those they start, and the screen be laid out.

    A worker that closes its own screen is cancelled.
    """
    await pilot.pause()
    for _ in range(IN_A_ROW):
        at_work = [worker.wait() for worker in pilot.app.workers if not worker.is_finished]
        await asyncio.gather(*at_work, return_exceptions=True)
        await pilot.pause()
        if not at_work:
            return


def _paint_when_seen(screen: Screen[Any]) -> None:
    if screen is screen.app.screen:
        OWED.add(screen.app)
        screen._dirty_widgets.clear()
    else:
        _paint(screen)


def _paint_owed(app: App[Any]) -> None:
    """Paint what has changed; an error in it is raised."""
    if app in OWED:
        OWED.discard(app)
        if app.is_running and app.screen_stack:
            _paint(app.screen)


def _paint_and_look(compositor: Compositor, size: Size | None = None) -> list[Strip]:
    if compositor.root is not None:
        _paint_owed(compositor.root.app)
    return _look(compositor, size)


async def _paint_and_shut_down(app: App[Any]) -> None:
    try:
        _paint_owed(app)
    finally:
        await _shut_down(app)


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
    Screen._screen_resized = _lay_out_anew  # type: ignore[method-assign]
    Screen._compositor_refresh = _paint_when_seen  # type: ignore[method-assign]
    Compositor.render_strips = _paint_and_look  # type: ignore[method-assign]
    App._shutdown = _paint_and_shut_down  # type: ignore[method-assign]
    Screen._update_timer = property(_update_timer)  # type: ignore[assignment]
