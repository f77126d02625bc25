"""Kills, damages, hostile inputs and writers by turns, for minutes or hours: ``python -m tests.soak``.

``--minutes M`` says how long (3 without it), ``--seed N`` draws other ones, ``--readme`` puts the table into
the README. The table says what was done and what was lost; exit code 1 when anything was. Each part can be
done alone: ``python -m tests.soak.kills``, ``damages``, ``writers``.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from io import StringIO
from itertools import count
from pathlib import Path
from typing import TypeVar
from unittest.mock import patch

from armrise.tui.command.main import run
from tests.soak import damages, hostile, kills, writers

README = Path(__file__).parents[2] / "README.md"
MARKS = ("<!-- soak -->\n", "<!-- /soak -->")
BATCH = 60
"""Kills and damages are drawn in batches of so many, each by a seed of its own."""
SLOW = 10.0
"""Seconds from which a command counts as hanging."""
PARTS: dict[str, float] = {"kills": 0.5, "damages": 0.25, "hostile": 0.15, "writers": 0.1}
"""The share of the time that each part gets."""

T = TypeVar("T")
Row = tuple[str, int, str, int]
"""What was done, how often, how it was counted, how often it was wrong."""


def killed(until: float, seed: int) -> Iterator[Row]:
    """Kills of every kind."""
    done: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    for one in _until(until, lambda number: kills.kills(BATCH, seed + number)):
        done[one.kind] += 1
        wrong[one.kind] += bool(one.faults)
        for fault in one.faults:
            print(f"killed in {one.kind}: {fault}", file=sys.stderr)
    yield from ((f"killed in: {kind}", done[kind], "lost or half done", wrong[kind]) for kind in done)


def damaged(until: float, seed: int) -> Iterator[Row]:
    """Damages to the file of a store."""
    done = silent = unforeseen = 0
    with tempfile.TemporaryDirectory() as room:
        whole = damages.lasting_demonstration(Path(room))
        for one in _until(until, lambda number: damages.outcomes(whole, Path(room), BATCH, seed + number)):
            done += 1
            silent += one.silent
            unforeseen += bool(one.unforeseen)
            if one.silent or one.unforeseen:
                print(f"damaged, {one.name}: {one.unforeseen or 'SILENT'}", file=sys.stderr)
    yield "damaged stores read", done, "another list and nothing said", silent
    yield "the same", done, "traceback", unforeseen


def attacked(until: float, seed: int) -> Iterator[Row]:
    """Hostile command lines, files and variables, each command in this process."""
    done = bad = raw = slow = 0
    with tempfile.TemporaryDirectory() as room:
        for attack in _until(until, lambda number: hostile.attacks(seed + number, Path(room))):
            out, err = StringIO(), StringIO()
            began = time.monotonic()
            with (
                patch.dict(os.environ, {"XDG_DATA_HOME": room, "XDG_CONFIG_HOME": room, **attack.environ}),
                contextlib.redirect_stdout(out),
                contextlib.redirect_stderr(err),
            ):
                code = run(attack.arguments)
            done += 1
            slow += time.monotonic() - began > SLOW
            bad += code not in (0, 1, 2) or "Traceback" in err.getvalue() or "foresaw" in err.getvalue()
            raw += bool(hostile.raw(out.getvalue()) or hostile.raw(err.getvalue()))
    yield "hostile inputs", done, "traceback", bad
    yield "the same", done, "a raw sign came out", raw
    yield "the same", done, f"longer than {SLOW:.0f} s", slow


def crowded(until: float, _seed: int) -> Iterator[Row]:
    """Four writers at once, again and again."""
    told = lost = 0
    seen = 0.0
    while not told or time.monotonic() < until:
        found = writers.write(4, 25)
        told += found.told
        lost += found.told - (found.there - 1) + (not found.sound)
        seen = max(seen, found.seen_after)
    yield "actions by four writers at once", told, "lost", lost
    yield f"another's change seen after {seen:.1f} s at most", 1, "later than 3 s", int(seen > 3)


def _until(until: float, batch: Callable[[int], Iterator[T]]) -> Iterator[T]:
    """What batch after batch yields, until it is time."""
    for number in count():
        for one in batch(number):
            yield one
            if time.monotonic() > until:
                return


WORK: dict[str, Callable[[float, int], Iterator[Row]]] = {
    "kills": killed,
    "damages": damaged,
    "hostile": attacked,
    "writers": crowded,
}


def table(rows: list[Row]) -> str:
    """The figures as they stand in the README."""
    lines = ["| what | how often | counted as a fault | faults |", "|---|---|---|---|"]
    lines += [f"| {what} | {done:,} | {fault} | {bad} |" for what, done, fault, bad in rows]
    return "\n".join(lines) + "\n"


def put_into(readme: Path, made: str) -> None:
    """Put the table between its marks."""
    begin, end = MARKS
    text = readme.read_text(encoding="utf-8")
    new, found = re.subn(f"(?<={re.escape(begin)}).*?(?={re.escape(end)})", lambda _: made, text, flags=re.S)
    if not found:
        raise SystemExit(f"{readme.name} has no place for the table")
    readme.write_text(new, encoding="utf-8")


def main() -> int:
    """Do it, and print the table."""
    asked = argparse.ArgumentParser(prog="python -m tests.soak", description=__doc__)
    asked.add_argument("--minutes", type=float, default=3.0)
    asked.add_argument("--seed", type=int, default=0)
    asked.add_argument("--readme", action="store_true")
    given = asked.parse_args()
    rows: list[Row] = []
    for name, share in PARTS.items():
        rows += WORK[name](time.monotonic() + given.minutes * 60 * share, given.seed)
    made = table(rows)
    print(made, end="")
    if given.readme:
        put_into(README, made)
    return int(any(bad for *_, bad in rows))


if __name__ == "__main__":
    sys.exit(main())
