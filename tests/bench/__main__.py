"""Every benchmark, one after the other, and the table of the README from them: ``python -m tests.bench``.

``--only NAME`` (again and again) runs some, ``--readme`` puts the table into the README, ``--large`` measures
caseloads of 5,000 too, which takes long; ``--stores FOLDER`` keeps the invented stores there for the next
time. To be run on a machine that does nothing else.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from collections.abc import Sequence
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

from tests.bench import distinct_store
from tests.bench.spread import Figure
from tests.between import put_between

README = Path(__file__).parents[2] / "README.md"


class Bench(NamedTuple):
    """A file of this folder, and whether it can measure a caseload of 5,000."""

    name: str
    large: bool = False


BENCHES = (
    Bench("first_frame"),
    Bench("kept_list", large=True),
    Bench("command_line"),
    Bench("side_by_side"),
    Bench("board_read"),
    Bench("rules_flat"),
    Bench("writing", large=True),
    Bench("keys", large=True),
    Bench("memory", large=True),
    Bench("sheets"),
    Bench("audit_run", large=True),
    Bench("trial_run"),
)
"""In the order of the table."""


def measured(bench: Bench, *, large: bool = False) -> list[Figure]:
    """The figures of one bench, each a row of the table."""
    module = import_module(f"tests.bench.{bench.name}")
    return module.figures(large=True) if large and bench.large else module.figures()


def table(figures: Sequence[Figure]) -> str:
    """The figures as they stand in the README, how many aims were missed, and on what it was measured."""
    missed = sum(figure.missed for figure in figures)
    aims = sum(figure.aim is not None for figure in figures)
    lines = ["| what | measured | aim |", "|---|---|---|", *(figure.row for figure in figures), ""]
    machine = f"{os.cpu_count()} cores, Python {platform.python_version()}, Textual {version('textual')}"
    return "\n".join([*lines, f"{missed} of {aims} aims are missed. Measured on {machine}.", ""])


def main() -> int:
    """Measure, print, and put it into the README if asked to."""
    asked = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    asked.add_argument("--only", action="append", choices=[bench.name for bench in BENCHES])
    asked.add_argument("--large", action="store_true")
    asked.add_argument("--readme", action="store_true")
    asked.add_argument("--stores", type=Path)
    given = asked.parse_args()
    if given.stores is not None:
        given.stores.mkdir(parents=True, exist_ok=True)
        distinct_store.stores_in = given.stores
    figures: list[Figure] = []
    for bench in BENCHES:
        if given.only is None or bench.name in given.only:
            figures += measured(bench, large=given.large)
    made = table(figures)
    print(made, end="")
    if given.readme:
        put_between(README, "bench", made)
    return 0


if __name__ == "__main__":
    sys.exit(main())
