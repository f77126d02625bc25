"""Kills, cuts, damages, hostile inputs, spreadsheets, writers, for long or many: ``python -m tests.soak``.

``--minutes M`` says how long (3 without it and without numbers). ``--kills N --cuts N --damages N --hostile N
--sheets N --writes N`` say how many of each; with one of them only those named are done. ``--keep FILE``
goes on where the run before stopped, and adds up. ``--at-once N`` works in N processes, ``--seed N`` draws
other ones, ``--readme`` puts the table into the README. Exit code 1 when anything was lost, half done,
silently different, guessed, raw or late. A fault is printed with its seed, batch and trial as soon as found.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from tests.between import put_between
from tests.soak import attacked, damaged, kills, spreadsheets, writers
from tests.soak.batches import Part, run
from tests.soak.power import cuts
from tests.soak.power.recorded import NotHere
from tests.soak.report import tables
from tests.soak.tally import Tally

README = Path(__file__).parents[2] / "README.md"
PARTS: dict[str, Part] = {
    "kills": kills.PART,
    "cuts": cuts.PART,
    "damages": damaged.PART,
    "hostile": attacked.PART,
    "sheets": spreadsheets.PART,
    "writes": writers.PART,
}


def table(tally: Tally) -> str:
    """The figures as they stand in the README."""
    others = [PARTS[name] for name in ("damages", "hostile", "sheets", "writes")]
    return tables(tally, [PARTS["kills"], PARTS["cuts"]], others)


def asked_for() -> argparse.Namespace:
    """What stands on the command line."""
    asked = argparse.ArgumentParser(prog="python -m tests.soak", description=__doc__)
    asked.add_argument("--minutes", type=float)
    for name in PARTS:
        asked.add_argument(f"--{name}", type=int, metavar="N")
    asked.add_argument("--keep", type=Path, metavar="FILE")
    asked.add_argument("--at-once", type=int, default=1, metavar="N")
    asked.add_argument("--seed", type=int, default=0)
    asked.add_argument("--readme", action="store_true")
    return asked.parse_args()


def main() -> int:
    """Do it, and print the table."""
    given = asked_for()
    tally = Tally(given.keep)
    numbers = {name: number for name in PARTS if (number := vars(given)[name]) is not None}
    minutes = given.minutes if numbers or given.minutes is not None else 3.0
    for name in numbers or PARTS:
        part, wanted = PARTS[name], numbers.get(name, 0)
        until = time.monotonic() + (minutes * 60 * (1 if numbers else part.share) if minutes else 10**9)

        def enough(done: int, wanted: int = wanted, until: float = until) -> bool:
            return bool(wanted and done >= wanted) or time.monotonic() > until

        try:
            run(part, tally, enough, seed=given.seed, at_once=given.at_once, wanted=wanted)
        except NotHere as why:
            print(f"{part.name}: not tried, {why}", file=sys.stderr)
    made = table(tally)
    print(made, end="")
    if given.readme:
        put_between(README, "soak", made)
    return int(any(tally.wrong(part.name) for part in PARTS.values()))


if __name__ == "__main__":
    sys.exit(main())
