"""From a key to the repainted screen, against a Textual application that shows nothing but a list.

``python -m tests.bench.keys [ROUNDS] [CASES ...]``

The application runs as it is, over the standings of the demonstration, repeated under other codes where more
cases are asked for. Keys come the way the terminal's come; what would be written to the terminal is put together
and thrown away. Measured is the computing of the whole process until it has nothing left to do, so that a busy
machine changes little. After each key the other application gets one: the cursor of Textual's own list of as
many rows, one line each, down. Every key of the list is compared with that one.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

from textual import events
from textual.app import App, ComposeResult
from textual.drivers.headless_driver import HeadlessDriver
from textual.widgets import OptionList

from armrise.store.clinic.case.standing import Standing
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.opening import Opening, demonstration
from tests.bench.spread import ratio, spread

SIZE = (160, 50)
TODAY = date(2026, 3, 2)
SLICE = 0.02
"""Seconds between two looks whether anything is computed still; longer than Textual waits to paint."""
STILL = 0.0004
"""Seconds of computing in a slice in which nothing happens but looking."""
SEVERAL = 3
"""Slices in a row without computing after which a key has been done."""
TERMINAL = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"}
AIM = 3.0


class Step(NamedTuple):
    """A key, and under which name it is counted; "" for one that only leads on."""

    key: str
    name: str = ""


LIST = (
    *(Step("down", "cursor down") for _ in range(6)),
    Step("home"),
    Step("pagedown", "page down"),
    Step("home"),
    Step("end", "end"),
    Step("home", "home"),
    Step("slash"),
    Step("o", "filter letter"),
    Step("v", "filter letter"),
    Step("backspace", "filter letter erased"),
    Step("backspace"),
    Step("escape"),
    Step("0"),
    Step("2", "second digit"),
    Step("1", "third digit"),
    Step("escape"),
    Step("L", "compact view"),
    Step("L", "compact view"),
    Step("enter", "case opened"),
    Step("down", "in a case"),
    Step("down", "in a case"),
    Step("pagedown", "page of a case"),
    Step("right_square_bracket", "next case"),
    Step("escape", "case closed"),
    Step("home"),
)
"""One round: every key is pressed in the state in which the keys before it leave the list."""


class Swallowing(HeadlessDriver):
    """A terminal for which everything is put together, and that shows nothing."""

    @property
    def is_headless(self) -> bool:
        return False


class Empty(App[None]):
    """Nothing but a list."""

    def __init__(self, rows: int) -> None:
        super().__init__()
        self.rows = rows

    def compose(self) -> ComposeResult:
        """The list."""
        yield OptionList(*(f"row {number} of a list with nothing in it" for number in range(self.rows)))


class Prepared:
    """A door onto standings that are there already: what the list asks of one, and no store."""

    cannot_write, fictional, encrypted, author = "", True, False, "demo"
    rules: dict[str, int] = {}
    today = TODAY

    def __init__(self, standings: Sequence[Standing]) -> None:
        self.cases = standings

    def standings(self) -> Sequence[Standing]:
        """Every case."""
        return self.cases

    def header(self) -> dict[str, Any]:
        """A head like any other."""
        at = datetime(2026, 3, 2, 8, 5, tzinfo=UTC)
        stamped = {
            "rules": "v1",
            "signed_off": "NOT SIGNED OFF",
            "verified": None,
            "unsound": "",
            "views": [],
        }
        backup = {"backup_age": timedelta(hours=2), "backup_owed": True}
        return {"fictional": True, "as_of": TODAY, "plays": False, "data_until": at, **stamped, **backup}

    def changed(self) -> bool:
        """Never."""
        return False

    def local(self, instant: datetime) -> datetime:
        """The same."""
        return instant

    def unwritten(self) -> list[Any]:
        """None."""
        return []

    def news(self) -> frozenset[str]:
        """None."""
        return frozenset()

    marked = news

    def warm(self) -> None:
        """Nothing to import."""

    tidy = warm


def of_the_demonstration(folder: Path) -> list[Standing]:
    """The standings of the demonstration on one clinic date."""
    store = demonstration(folder, TODAY)
    return list(Opening(prepare=lambda: store, as_of=TODAY).door(lambda _: None).standings())


def repeated(standings: Sequence[Standing], cases: int) -> list[Standing]:
    """So many cases, in the order of a list: each of those given again and again under another code."""
    times = [range(number, cases, len(standings)) for number in range(len(standings))]
    return [
        replace(case, code=f"BY-{number:04}", person=f"P-{number:04}")
        for case, numbers in zip(standings, times, strict=True)
        for number in numbers
    ]


@contextlib.asynccontextmanager
async def running(app: App[Any]) -> AsyncIterator[App[Any]]:
    """The application in a terminal of the size that everything is measured in."""
    app.driver_class = Swallowing
    async with app.run_test(headless=False, size=SIZE):
        await quiet()
        yield app


async def quiet() -> float:
    """Wait until nothing is computed any more; the seconds of computing up to then."""
    start = before = time.process_time()
    idle = 0
    while idle < SEVERAL:
        await asyncio.sleep(SLICE)
        now = time.process_time()
        idle = idle + 1 if now - before < STILL else 0
        before = now
    return now - start


async def pressed(app: App[Any], key: str) -> float:
    """Press a key; the seconds of computing until the screen is as it then stays."""
    driver = app._driver  # pyright: ignore[reportPrivateUsage]
    assert driver is not None
    driver.process_message(events.Key(key, key if len(key) == 1 else None))
    return await quiet()


async def measure(standings: Sequence[Standing], rounds: int) -> dict[str, tuple[list[float], list[float]]]:
    """For each name the seconds of its keys, and those of the other application's key after each."""
    took: dict[str, tuple[list[float], list[float]]] = {}
    door: Any = Prepared(standings)
    async with (
        running(Empty(len(standings))) as empty,
        running(ArmriseApp(Opening(prepare=lambda: door))) as app,
    ):
        for _ in range(rounds):
            for step in LIST:
                seconds, against = await pressed(app, step.key), await pressed(empty, "down")
                if step.name:
                    kept = took.setdefault(step.name, ([], []))
                    kept[0].append(seconds)
                    kept[1].append(against)
    return took


def report(rounds: int, sizes: Sequence[int], folder: Path) -> None:
    """Measure the list at each number of cases, and print."""
    known = of_the_demonstration(folder)
    for cases in sizes:
        with patch.dict(os.environ, TERMINAL), patch("armrise.tui.board.reader.POLL_SECONDS", 3600):
            took = asyncio.run(measure(repeated(known, cases), rounds))
        alone = [seconds for _, against in took.values() for seconds in against]
        print(f"{cases} cases, {SIZE[0]} by {SIZE[1]}, computing from a key to the picture")
        print(f"{'an empty list, cursor down':<28}{spread(alone)}")
        for name, (seconds, against) in took.items():
            print(f"{name:<28}{spread(seconds)}")
            print(f"ratio {name} / empty list  {ratio(seconds, against):.1f}")
        print(f"(aim: at most {AIM:.0f} each)")


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    rounds, *sizes = [int(given) for given in arguments] or [5]
    with tempfile.TemporaryDirectory() as folder:
        report(rounds, sizes or [36, 500, 5000], Path(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
