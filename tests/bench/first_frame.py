"""From the command to the first picture and to the rows, against an application that shows one word.

``python -m tests.bench.first_frame [RUNS]``

``armrise demo`` reads a caseload file, checks it and fills a store before there is anything to list, the
first time; later one that was made in spare time lies ready. ``armrise`` is measured too, opened on a store
that holds the same caseload: as on any morning, and where nothing but the store is there.

The programs run by turns in a real pseudo-terminal of 120 columns by 40 rows with true colour. What is looked
for is what a person would see: the painted letters, with the control sequences taken out of the stream. Told
are the processor time that the process and its threads had used by then, which others on the machine hardly
change, and beside it the clock, which starts before the process does. Ratios are of processor time.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import select
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from armrise.store.exchange.into.caseload_file import demo_path
from tests.bench.spread import Figure, ratio, rounds, spread

ROWS, COLUMNS = 40, 120
LONGEST = 30.0
"""Seconds after which a program is taken to be stuck."""

LEAVE = b"\x11"
"""Control and q, which every Textual application understands."""

EMPTY = """
from textual.app import App
from textual.widgets import Label
class Empty(App):
    def compose(self):
        yield Label("nothing-but-this")
Empty().run()
"""
_CONTROL = re.compile(
    rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|P[^\x1b]*\x1b\\|[@-Z\\-_=>78])"
)


class Program(NamedTuple):
    """What is run, and the letters waited for, in the order of their coming."""

    name: str
    command: tuple[str, ...]
    marks: tuple[bytes, ...]
    fresh: bool = False
    """True for one that finds nothing but the store, whatever was kept beside it."""


class Taken(NamedTuple):
    """How long it took until a mark was painted, in seconds."""

    processor: float
    clock: float


ALONE = Program("empty application", (sys.executable, "-c", EMPTY), (b"nothing-but-this",))
ARMRISE = (sys.executable, "-c", "from armrise.tui.command.main import main; main()")
_MARKS = (b"armrise", b"BY-003")
DEMO = Program("armrise demo", (*ARMRISE, "demo"), _MARKS)
FIRST_DEMO = Program("armrise demo, the first time", (*ARMRISE, "demo"), _MARKS, fresh=True)
READY = (sys.executable, "-c", "from armrise.tui.shell.played import *; make_ready(None, lambda: None)")
OWN = Program("armrise, own store", ARMRISE, _MARKS)
NEW = Program("armrise, nothing kept", ARMRISE, _MARKS, fresh=True)
PROGRAMS = (ALONE, OWN, NEW, DEMO, FIRST_DEMO)


def watch(program: Program, home: Path) -> list[Taken]:
    """How long it took from the start of the process until each mark was painted."""
    terminal, inner = pty.openpty()
    fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
    start = time.perf_counter()
    process = subprocess.Popen(
        program.command,
        stdin=inner,
        stdout=inner,
        stderr=inner,
        env=environment(home),
        start_new_session=True,
    )
    os.close(inner)
    try:
        return _seen(terminal, program, start, _processor_clock(process.pid))
    finally:
        _leave(process, terminal)


def environment(home: Path) -> dict[str, str]:
    """That of this process, its home and its terminal as they are to be."""
    kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "TERM_PROGRAM")}
    return kept | {
        "TERM": "xterm-256color",
        "COLORTERM": "truecolor",
        "LANG": "C.UTF-8",
        "XDG_DATA_HOME": str(home),
        "XDG_STATE_HOME": str(home / "state"),
        "XDG_CACHE_HOME": str(home / "caches"),
    }


def _processor_clock(process: int) -> Callable[[float], float]:
    """What tells the processor time of a running process; where that cannot be asked, the time it is given.

    A process has a clock of its own, whose number follows from that of the process (clock_getcpuclockid of
    POSIX, as Linux makes it).
    """
    if not sys.platform.startswith("linux"):
        return lambda clock: clock
    number = (~process << 3) | 2
    return lambda clock: time.clock_gettime(number)


def _seen(terminal: int, program: Program, start: float, processor: Callable[[float], float]) -> list[Taken]:
    times: list[Taken] = []
    stream = b""
    while len(times) < len(program.marks):
        wait = start + LONGEST - time.perf_counter()
        ready = wait > 0 and select.select([terminal], [], [], wait)[0]
        piece = _read(terminal) if ready else b""
        clock = time.perf_counter() - start
        now = Taken(processor(clock), clock)
        if not piece:
            told = _CONTROL.sub(b"", stream).decode(errors="replace")[-400:]
            raise TimeoutError(f"{program.name} never painted {program.marks[len(times)].decode()}: {told}")
        stream += piece
        painted = _CONTROL.sub(b"", stream)
        while len(times) < len(program.marks) and program.marks[len(times)] in painted:
            times.append(now)
    return times


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:  # nobody is at the other end any more
        return b""


def _leave(process: subprocess.Popen[bytes], terminal: int) -> None:
    """Ask it to leave and read on until it has, so that nothing of it is left behind."""
    end = time.perf_counter() + 5
    with contextlib.suppress(OSError):
        os.write(terminal, LEAVE)
        while process.poll() is None and time.perf_counter() < end:
            if select.select([terminal], [], [], 0.05)[0]:
                os.read(terminal, 65536)
    if process.poll() is None:
        process.kill()
    process.wait()
    os.close(terminal)


def fill(home: Path) -> None:
    """Give the user of this folder a store that holds the demo caseload."""
    _run((*ARMRISE, "load", str(demo_path())), home)


def _run(command: Sequence[str], home: Path) -> None:
    subprocess.run(command, env=environment(home), stdin=subprocess.DEVNULL, capture_output=True, check=True)


@contextlib.contextmanager
def _home(program: Program, home: Path) -> Iterator[Path]:
    """The home a program is run in: the one it was run in before, or a copy of how that was at first."""
    if not program.fresh:
        yield home / "used"
        return
    with tempfile.TemporaryDirectory() as folder:
        yield Path(shutil.copytree(home / "filled", Path(folder) / "home"))


def measure(programs: Sequence[Program], runs: int) -> list[list[list[Taken]]]:
    """For each program, for each of its marks, how long it took until it was painted, run after run."""
    took: list[list[list[Taken]]] = [[[] for _ in program.marks] for program in programs]
    with tempfile.TemporaryDirectory() as folder:
        fill(Path(folder) / "filled")
        shutil.copytree(Path(folder) / "filled", Path(folder) / "used")
        _run(READY, Path(folder) / "used")
        for counts in rounds(runs):
            for program, marks in zip(programs, took, strict=True):
                with _home(program, Path(folder)) as home:
                    seen = watch(program, home)
                for taken, kept in zip(seen, marks, strict=True):
                    if counts:
                        kept.append(taken)
    return took


def _ratio(taken: Sequence[Taken], against: Sequence[Taken]) -> float:
    return ratio([one.processor for one in taken], [one.processor for one in against])


def figures(runs: int = 15) -> list[Figure]:
    """The rows of the table: the frame; the rows on any morning, where nothing is kept, and of the demo."""
    (word,), (frame, rows), (_, first), (_, demo), (_, new) = measure(PROGRAMS, runs)
    return [
        Figure("first frame / empty application", _ratio(frame, word), 1.1),
        Figure("rows on any morning, 36 cases / empty application", _ratio(rows, word), 1.3),
        Figure("rows where nothing is kept, 36 cases / empty application", _ratio(first, word), 2.0),
        Figure("rows of `armrise demo`, its store lying ready / empty application", _ratio(demo, word), 2.5),
        Figure("the same the first time, its store made first / empty application", _ratio(new, word)),
    ]


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    took = measure(PROGRAMS, int(arguments[0]) if arguments else 15)
    word = took[0][0]
    print(f"{COLUMNS} x {ROWS}, true colour, by turns; processor time, then by the clock")
    for program, marks in zip(PROGRAMS, took, strict=True):
        for mark, taken in zip(program.marks, marks, strict=True):
            name = f"{program.name}, {mark.decode()} painted"
            print(f"{name:<44}{spread([one.processor for one in taken])}")
            print(f"{'':<44}{spread([one.clock for one in taken])}")
    for program, (frame, rows) in zip(PROGRAMS[1:], took[1:], strict=True):
        print(f"ratio {program.name}, first frame / empty  {_ratio(frame, word):.2f}")
        print(f"ratio {program.name}, rows / empty         {_ratio(rows, word):.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
