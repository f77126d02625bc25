"""Waiting until an application has nothing left to do, where Textual's pilot waits for an idle machine.

The pilot sleeps in slices of 20 ms until one has cost no computing: 40 ms for each key in which nothing
happens, and on a busy machine a slice may end before the work has begun. Here the event loop itself is asked.
"""

from __future__ import annotations

import asyncio
import time
from typing import Any

import textual.app
import textual.pilot
from textual._context import active_app
from textual._wait import wait_for_idle as idle_machine
from textual.pilot import Pilot
from textual.worker import Worker


async def quiet(min_sleep: float = 0, max_sleep: float = 1) -> None:
    """Wait until no callback is due and every change is painted; a running worker is given until it idles.

    Timers are not waited for. Gives up after ``max_sleep`` seconds, as the pilot does.
    """
    ready: Any = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
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
            await idle_machine(min_sleep, max_sleep)
            given |= running
        elif not ready:
            return


async def settle(pilot: Pilot[Any]) -> None:
    """Let workers finish and the screen be painted; a worker that closes its own screen is cancelled."""
    await pilot.pause()
    await asyncio.gather(*(worker.wait() for worker in pilot.app.workers), return_exceptions=True)
    await pilot.pause()


def wait_for_quiet() -> None:
    """Let every pilot of this process wait so."""
    textual.app.wait_for_idle = textual.pilot.wait_for_idle = quiet
