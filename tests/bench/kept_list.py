"""From nothing to the ordered standings, with a kept list and without, against importing Textual alone.

``python -m tests.bench.kept_list [RUNS] [--large]``

Each is a fresh process, by turns, in processor time: an interpreter that imports what an application of one
word needs, and one that begins as the command line does, imports the list and gets what its first picture
shows: from a store of which nothing is kept, from one whose list is kept, and from one where something was
recorded since. ``--large`` measures 5,000 cases too, of which the first hundred stand first.
"""

from __future__ import annotations

import contextlib
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from armrise.store.files.beside import forget_kept, kept_beside
from tests.bench import distinct_store
from tests.bench.spread import Figure, ratio, rounds, spread
from tests.demo_store import make_store

CHECK_INS, LARGE_CHECK_INS = 40, 200
LARGE = 5000
ALONE = "from textual.app import App; from textual.widgets import Label"
_OPENED = """
import gc
import sys
gc.set_threshold(50_000, 20, 50)
gc.disable()
from pathlib import Path
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell import opening
door = opening.Opening(Path(sys.argv[1]), author="TK").door(lambda words: None)
kept = opening.kept(door)
reading = kept or opening.read(door)
assert len(reading.standings) >= 10
"""
SHOWN = f"{_OPENED}assert kept is not None"
JUDGED = f"{_OPENED}assert kept is None"
KEEP = f"{_OPENED}assert door.keeping.keep()"
WRITE = """
import sys
from pathlib import Path
from armrise.tui.shell.opening import Opening
door = Opening(Path(sys.argv[1]), author="TK").door(lambda words: None)
code = door.heads()[0][0]
door.append(code, [door.draft("contact", outcome="no answer")], confirmed=True)
"""


class Took(NamedTuple):
    """Seconds of processor time, run after run."""

    cases: int
    alone: list[float]
    nothing: list[float]
    kept: list[float]
    news: list[float]


def run(code: str, *given: str) -> float:
    """Seconds of processor time that a fresh interpreter takes for the code."""
    before = _of_children()
    environment = os.environ | {"ARMRISE_ZONE": "Europe/London"}
    subprocess.run([sys.executable, "-c", code, *given], check=True, env=environment)
    return _of_children() - before


def _of_children() -> float:
    told = resource.getrusage(resource.RUSAGE_CHILDREN)
    return told.ru_utime + told.ru_stime


def measure(store: Path, cases: int, runs: int) -> Took:
    """The four by turns on one store; of 5,000 cases all are judged once."""
    run(KEEP, str(store))
    with tempfile.TemporaryDirectory() as folder:
        return _measure(store, Path(folder) / "later.armrise", cases, runs)


def _measure(store: Path, later: Path, cases: int, runs: int) -> Took:
    """The same; ``later`` becomes the store after something was recorded."""
    took, kept = Took(cases, [], [], [], []), kept_beside(store)
    for end in ("", "-wal", "-shm"):
        with contextlib.suppress(FileNotFoundError):
            shutil.copy(store.with_name(store.name + end), later.with_name(later.name + end))
    run(WRITE, str(later))
    for counts in rounds(runs):
        shutil.copy(kept, kept_beside(later))
        found = (run(ALONE), run(SHOWN, str(store)), run(JUDGED, str(later)))
        if counts:
            for seconds, one in zip(found, (took.alone, took.kept, took.news), strict=True):
                one.append(seconds)
    for _ in range(runs if cases < LARGE else 1):
        forget_kept(later)
        took.nothing.append(run(JUDGED, str(later)))
    return took


def stores(folder: Path, *, large: bool = False) -> list[tuple[Path, int]]:
    """A store of the demonstration and larger ones, with the number of their cases."""
    found = [(make_store(folder / "demo.armrise"), 36)]
    found.append((distinct_store.made_once(500, CHECK_INS), 500))
    if large:
        found.append((distinct_store.made_once(LARGE, LARGE_CHECK_INS), LARGE))
    return found


AIMS = {36: (1.3, 2.0), 500: (1.4, 10.0), 5000: (1.8, None)}
"""With a list kept, and with nothing kept."""


def figures_of(took: Took) -> list[Figure]:
    """The rows of the table that come of one store."""
    kept, nothing = AIMS.get(took.cases, (None, None))
    rows = f"fresh process to ordered rows, {took.cases:,} cases / importing Textual alone"
    found = [
        Figure(f"{rows}: kept", ratio(took.kept, took.alone), kept),
        Figure(f"{rows}: kept, one case with news", ratio(took.news, took.alone)),
    ]
    found.append(Figure(f"{rows}: nothing kept", ratio(took.nothing, took.alone), nothing))
    return found


def figures(*, large: bool = False, runs: int = 7) -> list[Figure]:
    """The rows of the table."""
    with tempfile.TemporaryDirectory() as folder:
        made = stores(Path(folder), large=large)
        took = [measure(path, cases, runs) for path, cases in made]
    return [figure for one in took for figure in figures_of(one)]


def report(took: Took) -> None:
    """Print what came of one store."""
    print(f"{took.cases} cases: processor time of a fresh process")
    print(f"importing Textual alone     {spread(took.alone)}")
    print(f"kept                        {spread(took.kept)}")
    print(f"kept, one case with news    {spread(took.news)}")
    print(f"nothing kept                {spread(took.nothing)}")
    for figure in figures_of(took):
        aim = "" if figure.aim is None else f"   (aim: at most {figure.aim})"
        print(f"ratio {figure.what}  {figure.measured:.2f}{aim}")


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    large, numbers = "--large" in arguments, [one for one in arguments if one.isdecimal()]
    runs = int(numbers[0]) if numbers else 7
    with tempfile.TemporaryDirectory() as folder:
        for path, cases in stores(Path(folder), large=large):
            report(measure(path, cases, runs))


if __name__ == "__main__":
    main(sys.argv[1:])
