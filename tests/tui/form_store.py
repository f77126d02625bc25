"""The demo caseload in a store of its own for each test, and an application that shows one form on it."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from textual.events import Key
from textual.pilot import Pilot

from armrise.store.caseload.read import case
from armrise.store.database.place import Store
from armrise.store.record.kinds.head import Entry
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.door import Door, every_entry
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import rules
from tests.demo_store import NOW
from tests.quiet import in_one_go, settle

TODAY = date(2026, 3, 2)


def open_copy(made: Path, to: Path) -> StoreDoor:
    """A door onto a copy of a made store."""
    shutil.copy(made, to)
    return StoreDoor(Store.open(to), rules(), "TK", TODAY, lambda: NOW)


def app_on(door: Door) -> ArmriseApp:
    """The whole application over a door."""
    return ArmriseApp(Opening(prepare=lambda: door))


def new_entries(door: Door, code: str, before: int) -> list[Entry]:
    """What has been recorded in a case since entry ``before``, read back from the file."""
    return [e for e in every_entry(case(door.store, code)) if e.id > before]


def of_kind(entries: list[Entry], kind: type) -> list[Any]:
    """Those of one kind."""
    return [entry for entry in entries if isinstance(entry, kind)]


def newest(door: Door) -> int:
    """The newest entry id of the whole store."""
    with door.store.reading() as connection:
        return connection.execute("SELECT max(id) FROM entry").fetchone()[0]


async def press(pilot: Pilot[Any], *keys: str) -> None:
    """Press keys and settle."""
    await pilot.press(*keys)
    await settle(pilot)


async def until(holds: Callable[[], bool]) -> None:
    """Wait for what a worker brings about."""
    for _ in range(1000):
        if holds():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("never came true")


async def burst(pilot: Pilot[Any], *keys: str) -> None:
    """All keys before the program has seen to the first, as a slow line delivers them."""
    assert pilot.app._driver is not None
    for key in keys:
        character = {"enter": "\r", "slash": "/"}.get(key, key if len(key) == 1 else None)
        event = Key(key, character)
        event.set_sender(pilot.app)
        pilot.app._driver.send_message(event)
    await settle(pilot)
    await pilot.pause(0.05)
    await settle(pilot)


async def type_in(pilot: Pilot[Any], words: str) -> None:
    """Type a line of text."""
    named = {" ": "space", "-": "minus", "+": "plus", ",": "comma", ".": "full_stop", "@": "at"}
    await in_one_go(pilot, [named.get(c, c) for c in words])


def painted(pilot: Pilot[Any]) -> str:
    """The text on the screen, folded lines joined."""
    screen = pilot.app.screen
    width, height = pilot.app.size
    lines = [strip.text[:width] for strip in screen._compositor.render_strips()][:height]
    return " ".join(" ".join(lines).replace("│", " ").split())
