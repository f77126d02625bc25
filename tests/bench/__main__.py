"""Every benchmark, one after the other, and the table of the README from them: ``python -m tests.bench``.

``--only NAME`` (again and again) runs some, ``--readme`` puts the table into the README, of some their rows
in the place of those before, ``--large`` measures caseloads of 5,000 too, which takes long; ``--stores
FOLDER`` keeps the invented stores there for the next time. To be run on a machine that does nothing else.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import sys
from collections.abc import Iterable
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

from tests.bench import distinct_store
from tests.bench.spread import Figure
from tests.between import between, put_between

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


def rows_of(text: str) -> dict[str, str]:
    """The rows of a table by what they measure, without the speed that one of them says beside it."""
    rows = [line for line in text.splitlines() if line.startswith("| ")]
    return {re.sub(r"\(some [^)]*\)", "", row.split(" | ")[0]): row for row in rows[1:]}


def table(rows: Iterable[str]) -> str:
    """The rows as they stand in the README, how many aims were missed, and on what it was measured."""
    rows = list(rows)
    missed = sum(row.endswith(", missed |") for row in rows)
    aims = sum(not row.endswith("|  |") for row in rows)
    lines = ["| what | measured | aim |", "|---|---|---|", *rows, ""]
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
    head = ["| what | measured | aim |"]
    rows = rows_of(between(README, "bench")) if given.only and given.readme else {}
    for bench in BENCHES:
        if given.only is None or bench.name in given.only:
            found = [figure.row for figure in measured(bench, large=given.large)]
            rows |= rows_of("\n".join(head + found))
    made = table(rows.values())
    print(made, end="")
    if given.readme:
        put_between(README, "bench", made)
    return 0


if __name__ == "__main__":
    sys.exit(main())
