"""From a check-in written to the list changed by it, in processor time: the first of a run, and the tenth.

``python -m tests.bench.writing [--large]``

Stores of many distinct histories (invented, the same every time), in each of which something was written
before. For each a process opens the store as the program does, reads the list, makes ready what the program
makes ready once the rows stand, and writes ten check-ins, each about another case: the entry as it is
drafted, appended to the chain, what was typed forgotten, the list read with all that its head says. Opening
the form is counted by itself. ``--large`` measures 5,000 cases too.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from armrise.store.files.beside import kept_beside
from tests.bench.distinct_store import made_once
from tests.bench.kept_list import KEEP, WRITE, run
from tests.bench.spread import Figure, ratio, spread

SIZES = {36: 50, 500: 60}
LARGE = {5000: 150}
"""Cases, and how many milliseconds were aimed at."""
CHECK_INS, LARGE_CHECK_INS, ROUNDS, WRITES = 60, 200, 7, 10
FORM = "CheckInScreen"


class Run(NamedTuple):
    """One process: seconds for each form opened and for each check-in until the list had changed."""

    opened: list[float]
    written: list[float]


def child(path: Path) -> Run:
    """Ten check-ins, in this process."""
    from armrise.tui.shell.opening import Opening, read

    door = Opening(store_path=path, author="TK").door(lambda _: None)
    codes = sorted(standing.code for standing in read(door).standings)
    door.warm()
    run = Run([], [])
    for code in (codes * WRITES)[:WRITES]:
        start = time.process_time()
        opened = door.open(code)
        typed = time.process_time()
        entry = door.draft("session", during=3, later=2)
        door.append(code, [entry], seen=opened.seen)
        door.forget_unwritten(code, FORM)
        changed = {standing.code: standing for standing in read(door).standings}
        run.written.append(time.process_time() - typed)
        run.opened.append(typed - start)
        assert changed[code] != opened.standing or not changed[code].reasons
    return run


def in_a_process(store: Path) -> Run:
    """The same in a process of its own, on a copy; a list kept of the store lies beside it.

    The copy is on the disk before: the first that asks for that would wait for all of it, not for its own.
    """
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(shutil.copy(store, folder))
        if kept_beside(store).exists():
            shutil.copy(kept_beside(store), kept_beside(copy))
        run(WRITE, str(copy))
        with copy.open("rb+") as file:
            os.fsync(file.fileno())
        command = [sys.executable, "-m", "tests.bench.writing", "--child", str(copy)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
    return Run(*json.loads(done.stdout))


def report(sizes: dict[int, int], check_ins: int, rounds: int) -> list[Figure]:
    """Put the stores together, measure by turns, print."""
    stores = {cases: made_once(cases, check_ins) for cases in sizes}
    for cases, path in stores.items():
        if cases in LARGE and not kept_beside(path).exists():
            run(KEEP, str(path))
    runs: dict[int, list[Run]] = {cases: [] for cases in sizes}
    for _ in range(rounds):
        for cases, path in stores.items():
            runs[cases].append(in_a_process(path))
    found: list[Figure] = []
    for cases, aim in sizes.items():
        first, tenth = ([run.written[at] for run in runs[cases]] for at in (0, -1))
        print(f"{cases} cases x {check_ins} check-ins")
        print(f"form opened, the tenth       {spread([run.opened[-1] for run in runs[cases]])}")
        print(f"first check-in to the list   {spread(first)}")
        print(f"tenth check-in to the list   {spread(tenth)}")
        print(f"ratio first / tenth          {ratio(first, tenth):.2f}   (aim: at most 1.2)")
        found.append(Figure(f"check-in to changed list, {cases:,} cases", _middle(tenth) * 1000, aim, "ms"))
        found.append(Figure(f"first check-in / tenth, {cases:,} cases", ratio(first, tenth), 1.2))
    return found


def _middle(seconds: Sequence[float]) -> float:
    return sorted(seconds)[len(seconds) // 2]


def figures(*, large: bool = False) -> list[Figure]:
    """The rows of the table."""
    found = report(SIZES, CHECK_INS, ROUNDS)
    return found + (report(LARGE, LARGE_CHECK_INS, 1) if large else [])


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    if arguments and arguments[0] == "--child":
        print(json.dumps(child(Path(arguments[1]))))
        return
    for figure in figures(large="--large" in arguments):
        print(figure.row)


if __name__ == "__main__":
    main(sys.argv[1:])
