"""The memory of the application with its list on the screen, against an empty Textual application.

``python -m tests.bench.memory [CHECK_INS] [CASES ...]``

Each runs in a process of its own, in a terminal of the same size, and is asked for the memory it holds (the
resident set) once nothing is computed any more. The stores are invented, the same every time.
"""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.bench.spread import Figure

SIZE = (120, 40)
CHECK_INS = 200
AIMS = {36: 1.5, 500: 1.7}
AT_LEAST = 2.0
"""Seconds after the rows: what is imported and worked out in spare time is in memory then too."""


def held() -> int:
    """Bytes of memory that this process holds."""
    pages = Path("/proc/self/statm").read_text().split()[1]
    return int(pages) * os.sysconf("SC_PAGE_SIZE")


async def empty() -> int:
    """What an application with one word in it holds."""
    from textual.app import App
    from textual.widgets import Label

    class Empty(App[None]):
        def compose(self):
            yield Label("nothing but this")

    async with Empty().run_test(size=SIZE) as pilot:
        await pilot.pause(AT_LEAST)
        return held()


async def listed(store: Path) -> int:
    """What the application holds with the list of this store on the screen."""
    from armrise.tui.app.app import ArmriseApp
    from armrise.tui.board.board import BoardScreen
    from armrise.tui.shell.opening import Opening

    app = ArmriseApp(Opening(store))
    async with app.run_test(size=SIZE) as pilot:
        board = app.screen_stack[0]
        assert isinstance(board, BoardScreen)
        while not board.listing.cases():
            await pilot.pause(0.1)
        await pilot.pause(AT_LEAST)
        return held()


def asked(*store: str) -> int:
    """The memory of a process of its own: with the list of a store, or of an empty application."""
    command = (sys.executable, "-m", "tests.bench.memory", "--child", *store)
    told = subprocess.run(command, capture_output=True, check=True, text=True, cwd=Path(__file__).parents[2])
    return int(told.stdout)


def figures(check_ins: int = CHECK_INS, sizes: Sequence[int] = tuple(AIMS)) -> list[Figure]:
    """The rows of the table."""
    from tests.bench.large_store import make

    alone, found = asked(), list[Figure]()
    with tempfile.TemporaryDirectory() as folder:
        for cases in sizes:
            store = make(Path(folder) / f"{cases}.armrise", cases, check_ins)
            what = f"memory / an empty application, {cases:,} cases x {check_ins} check-ins"
            found.append(Figure(what, asked(str(store.path)) / alone, AIMS.get(cases)))
    return found


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    if arguments[:1] == ["--child"]:
        print(asyncio.run(listed(Path(arguments[1])) if arguments[1:] else empty()))
        return
    check_ins, *sizes = [int(given) for given in arguments] or [CHECK_INS]
    made = figures(check_ins, sizes or tuple(AIMS))
    print(*(figure.row for figure in made), sep="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
