"""The memory of the application with its list on the screen, against an empty Textual application.

``python -m tests.bench.memory [CHECK_INS] [CASES ...]``

Each runs in a process of its own, in a terminal of the same size, and is asked for the memory it holds (the
resident set) once nothing is computed any more. The stores are invented, the same every time.
``--large`` measures 5,000 cases too, whose list is kept.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from tests.bench.spread import Figure

SIZE = (120, 40)
CHECK_INS = 200
AIMS = {36: 1.5, 500: 1.7}
LARGE = 5000
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


def figures(
    check_ins: int = CHECK_INS, sizes: Sequence[int] = tuple(AIMS), *, large: bool = False
) -> list[Figure]:
    """The rows of the table."""
    from tests.bench.large_store import make

    alone, found = asked(), list[Figure]()
    with tempfile.TemporaryDirectory() as folder:
        for cases in sizes:
            store = make(Path(folder) / f"{cases}.armrise", cases, check_ins)
            found.append(_figure(cases, check_ins, store.path, alone))
    return found + ([_figure(LARGE, check_ins, _kept(check_ins), alone)] if large else [])


def _figure(cases: int, check_ins: int, store: Path, alone: int) -> Figure:
    what = f"memory / an empty application, {cases:,} cases x {check_ins} check-ins"
    return Figure(what, asked(str(store)) / alone, AIMS.get(cases))


def _kept(check_ins: int) -> Path:
    """The largest store, its list kept beside it."""
    from armrise.store.files.beside import kept_beside
    from tests.bench.distinct_store import made_once
    from tests.bench.kept_list import KEEP, run

    path = made_once(LARGE, check_ins)
    if not kept_beside(path).exists():
        run(KEEP, str(path))
    return path


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    if arguments[:1] == ["--child"]:
        if arguments[1:]:  # it decides how asyncio is imported, so it is imported first, as by the command
            import_module("armrise.tui.app.app")
        import asyncio

        print(asyncio.run(listed(Path(arguments[1])) if arguments[1:] else empty()))
        return
    large, numbers = "--large" in arguments, [int(given) for given in arguments if given.isdecimal()]
    check_ins, *sizes = numbers or [CHECK_INS]
    made = figures(check_ins, sizes or tuple(AIMS), large=large)
    print(*(figure.row for figure in made), sep="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
