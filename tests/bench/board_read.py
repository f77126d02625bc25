"""Reading the board of 500 cases, against a hand-written query for the last five check-ins of each.

``python -m tests.bench.board_read [CASES] [CHECK_INS] [RUNS]``

Two stores are put together (invented, the same every time), the second with ten times the check-ins. Both
ways of reading run by turns on the same file, each through a connection of its own, with the disk cache warm.
The hand-written query seeks in the index of check-ins by case and date; it makes tuples. The board reads
everything about every open case that the rules may ask for, and makes the records that the rules read.
"""

from __future__ import annotations

import contextlib
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from armrise.store.caseload import read as caseload
from armrise.store.database.place import Store
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.rules import read as rulefile
from tests.bench.large_store import TODAY, make
from tests.bench.spread import Figure, by_turns, ratio, spread

LAST_FIVE = """
SELECT c.code, s.happened_on, s.during, s.later, s.morning
FROM cases c JOIN session s ON s.id IN (
    SELECT l.id FROM session l WHERE l.case_id = c.id ORDER BY l.happened_on DESC, l.id DESC LIMIT 5)
ORDER BY c.code, s.happened_on"""
TENFOLD = 10


def by_hand(store: Store) -> list[Any]:
    """The last five check-ins of every case, as tuples."""
    with contextlib.closing(store.connect()) as connection:
        return connection.execute(LAST_FIVE).fetchall()


def report(cases: int, check_ins: int, runs: int, folder: Path) -> list[Figure]:
    """Put the stores together, measure, print."""
    rules = rulefile.load()
    long = check_ins * TENFOLD
    stores = [make(folder / f"of-{n}.armrise", cases, n) for n in (check_ins, long)]
    reads = [lambda s=store: caseload.board(s, today=TODAY, rules=rules) for store in stores]
    hands = [lambda s=store: by_hand(s) for store in stores]
    board, board_long, hand, hand_long = by_turns(runs, *reads, *hands)
    listed, tuples = reads[0](), len(hands[0]())
    daily = sum(len(record.sessions) for record in listed)
    entries = sum(len(getattr(record, name)) for record in listed for name in FIELD_OF_KIND.values())
    stood, read = by_turns(max(1, runs // 4), lambda: caseload.standings(stores[0], rules, TODAY), reads[0])
    print(f"{cases} cases x {check_ins} check-ins, and x {long}")
    print(f"the board reads {entries} entries, {daily} of them check-ins; by hand {tuples} check-ins")
    print(f"board, {check_ins} check-ins        {spread(board)}")
    print(f"board, {long} check-ins       {spread(board_long)}")
    print(f"by hand, {check_ins} check-ins      {spread(hand)}")
    print(f"by hand, {long} check-ins     {spread(hand_long)}")
    print(f"board and standings          {spread(stood)}")
    found = [
        Figure(
            f"reading the whole board, {long:,} check-ins a case / {check_ins}", ratio(board_long, board), 1.2
        ),
        Figure("the same / hand-written query for the last five of each case", ratio(board, hand)),
        Figure("the same, for each entry that is read", ratio(board, hand) * tuples / entries),
        Figure("working every standing out / reading the whole board", ratio(stood, read)),
    ]
    for figure in found:
        print(f"ratio {figure.what}  {figure.measured:.2f}")
    return found


def figures() -> list[Figure]:
    """The rows of the table."""
    with tempfile.TemporaryDirectory() as folder:
        return report(500, 200, 3, Path(folder))


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    usual = ("500", "200", "11")
    cases, check_ins, runs = (int(given) for given in [*arguments, *usual[len(arguments) :]])
    with tempfile.TemporaryDirectory() as folder:
        report(cases, check_ins, runs, Path(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
