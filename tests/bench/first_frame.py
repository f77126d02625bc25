"""From the command to the first picture and to the rows, against an application that shows one word.

``python -m tests.bench.first_frame [RUNS]``

``armrise demo`` reads a caseload file, checks it and fills a store before there is anything to list; so
``armrise`` is measured too, opened on a store that holds the same caseload.

The programs run by turns in a real pseudo-terminal of 120 columns by 40 rows with true colour. The clock
starts before the process does. What is looked for is what a person would see: the painted letters, with the
control sequences taken out of the stream.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from armrise.store.exchange.into.caseload_file import demo_path
from tests.bench.spread import ratio, spread

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


ALONE = Program("empty application", (sys.executable, "-c", EMPTY), (b"nothing-but-this",))
_ARMRISE = (sys.executable, "-c", "from armrise.tui.command.main import main; main()")
_MARKS = (b"armrise", b"BY-003")
DEMO = Program("armrise demo", (*_ARMRISE, "demo"), _MARKS)
OWN = Program("armrise, own store", _ARMRISE, _MARKS)


def watch(program: Program, home: Path) -> list[float]:
    """Seconds from the start of the process until each mark was painted."""
    terminal, inner = pty.openpty()
    fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
    start = time.perf_counter()
    process = subprocess.Popen(
        program.command,
        stdin=inner,
        stdout=inner,
        stderr=inner,
        env=_environment(home),
        start_new_session=True,
    )
    os.close(inner)
    try:
        return _seen(terminal, program, start)
    finally:
        _leave(process, terminal)


def _environment(home: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "TERM_PROGRAM")}
    return kept | {
        "TERM": "xterm-256color",
        "COLORTERM": "truecolor",
        "LANG": "C.UTF-8",
        "XDG_DATA_HOME": str(home),
    }


def _seen(terminal: int, program: Program, start: float) -> list[float]:
    times: list[float] = []
    stream = b""
    while len(times) < len(program.marks):
        wait = start + LONGEST - time.perf_counter()
        ready = wait > 0 and select.select([terminal], [], [], wait)[0]
        piece = _read(terminal) if ready else b""
        now = time.perf_counter() - start
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
    command = (*_ARMRISE, "load", str(demo_path()))
    subprocess.run(command, env=_environment(home), stdin=subprocess.DEVNULL, capture_output=True, check=True)


def measure(runs: int) -> list[list[list[float]]]:
    """For each program, for each of its marks, the seconds until it was painted, run after run."""
    programs = (ALONE, DEMO, OWN)
    took: list[list[list[float]]] = [[[] for _ in program.marks] for program in programs]
    with tempfile.TemporaryDirectory() as folder:
        fill(Path(folder))
        for number in range(runs + 1):
            for program, marks in zip(programs, took, strict=True):
                for seconds, kept in zip(watch(program, Path(folder)), marks, strict=True):
                    if number:  # the first round fills the disk cache
                        kept.append(seconds)
    return took


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    ((word,), (frame, rows), (own_frame, own_rows)) = measure(int(arguments[0]) if arguments else 15)
    print(f"{COLUMNS} x {ROWS}, true colour, by turns")
    print(f"empty application, its word painted        {spread(word)}")
    print(f"armrise demo, first frame painted          {spread(frame)}")
    print(f"armrise demo, rows painted                 {spread(rows)}")
    print(f"armrise on its store, first frame painted  {spread(own_frame)}")
    print(f"armrise on its store, rows painted         {spread(own_rows)}")
    print(f"ratio demo first frame / empty  {ratio(frame, word):.2f}   (aim: at most 1.3)")
    print(f"ratio demo rows / empty         {ratio(rows, word):.2f}   (aim: at most 2.5)")
    print(f"ratio own first frame / empty   {ratio(own_frame, word):.2f}")
    print(f"ratio own rows / empty          {ratio(own_rows, word):.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
