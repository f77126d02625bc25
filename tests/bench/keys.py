"""From a key to the repainted screen, against a Textual application that shows nothing but a list.

``python -m tests.bench.keys [ROUNDS] [CASES ...]``

The application runs as it is, over the standings of the demonstration, repeated under other codes where more
cases are asked for. Keys come the way the terminal's come; what would be written to the terminal is put
together and thrown away. Measured is the processor time of the whole process until it has nothing left to do,
so that a busy machine changes little. After each key the other application gets one, the cursor of Textual's
own list down: it fills the window, and has no more rows than that. A case is a screen of its own, and is
compared with an empty screen that the other application opens and closes.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import os
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

from textual import events
from textual.app import App, ComposeResult
from textual.drivers.headless_driver import HeadlessDriver
from textual.screen import Screen
from textual.widgets import OptionList, Static

from armrise.store.clinic.case.standing import Standing
from armrise.tui.app.app import ArmriseApp
from armrise.tui.app.starting import collect_garbage_again
from armrise.tui.shell.opening import Opening, demonstration
from armrise.tui.widgets.caselist import SEARCHED, CaseList
from tests.bench.spread import Figure, ratio, spread

SIZE = (160, 50)
TODAY = date(2026, 3, 2)
SLICE = 0.02
"""Seconds between two looks whether anything is computed still; longer than Textual waits to paint."""
STILL = 0.0006
"""Seconds of computing in a slice in which nothing happens but looking."""
SEVERAL = 3
"""Slices in a row without computing after which a key has been done."""
TERMINAL = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"}
AIM = 3.0
MOVES, LETTERS, SCREENS = "key to repaint", "letter of a search, digit of a number", "case opened, closed"


class Step(NamedTuple):
    """A key, the name it is counted under, "" for one that only leads on, and what it is compared with."""

    key: str
    name: str = ""
    of: str = MOVES
    against: str = "down"


LIST = (
    *(Step("down", "cursor down") for _ in range(6)),
    Step("home"),
    Step("pagedown", "page down"),
    Step("home"),
    Step("end", "end"),
    Step("home", "home"),
    Step("slash"),
    Step("o", "filter letter", LETTERS),
    Step("v", "filter letter", LETTERS),
    Step("backspace", "filter letter erased", LETTERS),
    Step("backspace"),
    Step("escape"),
    Step("0"),
    Step("2", "second digit", LETTERS),
    Step("1", "third digit", LETTERS),
    Step("escape"),
    Step("L", "compact view", LETTERS),
    Step("L", "compact view", LETTERS),
    Step("enter", "case opened", SCREENS, "enter"),
    Step("down", "in a case"),
    Step("down", "in a case"),
    Step("pagedown", "page of a case"),
    Step("right_square_bracket", "next case", SCREENS, "enter"),
    Step("escape", "case closed", SCREENS, "escape"),
    Step("home"),
)
"""One round: every key is pressed in the state in which the keys before it leave the list."""


class Swallowing(HeadlessDriver):
    """A terminal for which everything is put together, and that shows nothing."""

    @property
    def is_headless(self) -> bool:
        return False


class Empty(App[None]):
    """Nothing but a list, and a screen with nothing but a word in it."""

    BINDINGS = [("escape", "pop_screen", "back")]

    def compose(self) -> ComposeResult:
        """The list."""
        yield OptionList(*(f"row {number} of a list with nothing in it" for number in range(SIZE[1])))

    def on_option_list_option_selected(self) -> None:
        """The other screen."""
        screen = Screen[None]()
        screen.compose = lambda: [Static("nothing but this")]
        self.push_screen(screen)


class Prepared:
    """A door onto standings that are there already: what the list asks of one, and no store."""

    cannot_write, fictional, encrypted, author = "", True, False, "demo"
    rules: dict[str, int] = {}
    today = TODAY
    several_readings = staticmethod(contextlib.nullcontext)

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
        case._replace(code=f"BY-{number:04}", person=f"P-{number:04}")
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
    start = before = now = time.process_time()
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


async def compared(empty: App[Any], key: str) -> float:
    """The same of a key of the other application, which is left on its list."""
    if key == "escape":
        await pressed(empty, "enter")
    seconds = await pressed(empty, key)
    if key == "enter":
        await pressed(empty, "escape")
    return seconds


class Took(NamedTuple):
    """The seconds of the keys of one name, and of the other application's key after each."""

    of: str
    seconds: list[float]
    against: list[float]


async def measure(
    standings: Sequence[Standing], rounds: int, steps: Sequence[Step] = LIST
) -> dict[str, Took]:
    """By the names of the steps; a first round warms up what is imported when it is first asked for."""
    took: dict[str, Took] = {}
    door: Any = Prepared(standings)
    gc.disable()  # as the command line begins
    async with running(Empty()) as empty, running(ArmriseApp(Opening(prepare=lambda: door))) as app:
        await asyncio.sleep(SEARCHED)
        await quiet()
        if not app.query_one(CaseList).codes:
            raise RuntimeError("the list is not on the screen: nothing can be measured")
        collect_garbage_again()
        for number in range(rounds + 1):
            for step in steps:
                seconds, against = await pressed(app, step.key), await compared(empty, step.against)
                if number and step.name:
                    kept = took.setdefault(step.name, Took(step.of, [], []))
                    kept.seconds.append(seconds)
                    kept.against.append(against)
    return took


def measured(rounds: int, sizes: Sequence[int], folder: Path) -> dict[int, dict[str, Took]]:
    """What was measured at each number of cases."""
    known = of_the_demonstration(folder)
    with patch.dict(os.environ, TERMINAL), patch("armrise.tui.board.reader.POLL_SECONDS", 3600):
        return {cases: asyncio.run(measure(repeated(known, cases), rounds)) for cases in sizes}


def figures(rounds: int = 3, sizes: Sequence[int] = (36, 500), *, large: bool = False) -> list[Figure]:
    """The rows of the table: the middle over the keys of one kind."""
    with tempfile.TemporaryDirectory() as folder:
        found = measured(rounds, (*sizes, 5000) if large else sizes, Path(folder))
    return [
        Figure(f"{of} / an empty application's, {cases:,} cases", middle(took, of), AIM)
        for of in (MOVES, LETTERS, SCREENS)
        for cases, took in found.items()
    ]


def middle(took: dict[str, Took], of: str) -> float:
    """The median over the names of one kind, each of them a median."""
    return statistics.median(ratio(one.seconds, one.against) for one in took.values() if one.of == of)


def report(rounds: int, sizes: Sequence[int], folder: Path) -> None:
    """Measure the list at each number of cases, and print key by key."""
    for cases, took in measured(rounds, sizes, folder).items():
        print(f"{cases} cases, {SIZE[0]} by {SIZE[1]}, processor time from a key to the picture")
        print(f"an empty list, cursor down  {spread([one for t in took.values() for one in t.against])}")
        for name, (of, seconds, against) in took.items():
            print(f"{name:<22}{spread(seconds)}")
            print(
                f"ratio {name} / {'an empty screen' if of == SCREENS else 'an empty list'}"
                f"  {ratio(seconds, against):.1f}   (aim: at most {AIM:.0f})"
            )


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    rounds, *sizes = [int(given) for given in arguments] or [3]
    with tempfile.TemporaryDirectory() as folder:
        report(rounds, sizes or [36, 500, 5000], Path(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
