"""Texts pasted into the fields of every form, and onto the list, in an application without a terminal.

What a paste brings, and what a key does after it, is looked at as the terminal would get it: the lines of the
compositor. The store is a copy that a form may write to.
"""

from __future__ import annotations

import asyncio
import contextlib
import random
import shutil
from collections.abc import Callable, Iterator
from functools import partial
from importlib import import_module
from inspect import signature
from pathlib import Path
from typing import Any

from textual import events
from textual.app import App
from textual.pilot import Pilot

from armrise.store.database.place import Store
from armrise.tui.app.app import ArmriseApp
from armrise.tui.app.screens import SCREENS
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import StoreDoor
from tests.soak.batches import Faults, Result
from tests.soak.doors.fields import line
from tests.soak.hostile import raw
from tests.soak.works.kind import NOW, TODAY, rules

KIND = "texts pasted into forms and the list"
CODE = "BY-003"
KEYS = ("tab", "down", "enter", "right", "backspace", "f2", "end", "space")
"""Pressed after a paste: to the next field, take it, write it. What is refused says so on the screen."""
PASTES = 8
"""So many texts are pasted into one form before it is left; each counts."""
A_BATCH = 12
"""So many forms are opened in a batch, which makes as many texts as other doors get in one."""


def opened_by_a_case() -> list[str]:
    """The screens that are made from a door and a standing alone."""
    found = []
    for name, module in SCREENS.items():
        made = getattr(import_module(module), name)
        needed = [p for p in signature(made).parameters.values() if p.default is p.empty]
        if len(needed) == 2:
            found.append(name)
    return found


def trials(draw: random.Random, room: Path, small: Path) -> Iterator[tuple[str, Callable[[], Result]]]:
    """Forms by turns, several texts pasted into each; the list in between. One batch of them."""
    names = [*opened_by_a_case(), ""]
    path = Path(shutil.copy(small, room / "pasted.armrise"))
    for _ in range(A_BATCH):
        name = draw.choice(names)
        texts = [(line(draw), draw.choice(KEYS)) for _ in range(PASTES)]
        about = f"{name or 'the list'}: {texts!a}"
        yield about, partial(_paste, path, name, texts)


def _paste(path: Path, name: str, texts: list[tuple[str, str]]) -> Result:
    return Result(asyncio.run(_pasted(path, name, texts)), len(texts))


async def _pasted(path: Path, name: str, texts: list[tuple[str, str]]) -> Faults:
    door = StoreDoor(Store.open(path), rules(), "TK", TODAY, lambda: NOW)
    app = ArmriseApp(Opening(prepare=lambda: door))
    faults: Faults = {}
    async with app.run_test(size=(80, 24)) as pilot:
        await _settled(pilot)
        if name:
            screen = getattr(import_module(SCREENS[name]), name)(door, door.standing(CODE))
            await app.push_screen(screen)
            await _settled(pilot)
        for text, key in texts:
            (app.focused or app.screen).post_message(events.Paste(text))
            await pilot.press(key)
            await _settled(pilot)
            if found := raw(_shown(app)):
                faults["a raw sign"] = f"{', '.join(found[:5])} after {text!a}"
        if app._exception is not None:
            faults["traceback"] = repr(app._exception)
    return faults


async def _settled(pilot: Pilot[Any]) -> None:
    """Workers have ended, and what they brought is laid out."""
    for _ in range(3):
        with contextlib.suppress(Exception):  # of a worker that was cancelled with its screen
            await pilot.app.workers.wait_for_complete()
        await pilot.pause(0)


def _shown(app: App[Any]) -> str:
    return "\n".join(strip.text for strip in app.screen._compositor.render_strips())
