"""The audit of a month, in processor time, beside the mere reading of the same records.

``python -m tests.bench.audit_run [CASES] [CHECK_INS] [RUNS]``

An invented store, no two cases alike, the same every time. The audit reads every case in full and judges it
at the end of every week of the month; what it takes beyond the reading is judging and counting. A large one
is counted by several processes, whose processor time is taken together.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Sequence

from armrise.store.caseload.audit import audit_store
from armrise.store.caseload.read import codes, in_full
from armrise.store.clinic.audit.period import Period, last_full_month
from armrise.store.database.place import Store
from armrise.store.rules import read as rulefile
from tests.bench.distinct_store import TODAY, made_once
from tests.bench.spread import Figure, by_turns, of_all_processes, ratio, spread

CHECK_INS = 200
AIMS = {36: 0.15, 500: 2.0, 5000: 20.0}
"""Seconds for so many cases."""
RUNS = {36: 7, 500: 3, 5000: 1}


def report(cases: int, check_ins: int, runs: int) -> float:
    """Put the store together, measure, print. Returns the seconds of an audit."""
    rules = rulefile.load()
    store = Store.open(made_once(cases, check_ins))
    period = Period(*last_full_month(TODAY), TODAY)
    walls: list[float] = []

    def counting() -> None:
        start = time.perf_counter()
        audit_store(store, rules, period)
        walls.append(time.perf_counter() - start)

    counted, read = by_turns(runs, counting, lambda: every_record(store), clock=of_all_processes)
    print(f"{cases} cases x {check_ins} check-ins, the audit of {period.first} to {period.last}")
    print(f"audit                        {spread(counted)}")
    print(f"the same, by the clock       {spread(walls[1:])}")
    print(f"reading every record         {spread(read)}")
    print(f"a case                       {1000 * statistics.median(counted) / cases:.1f} ms")
    print(f"ratio audit / reading        {ratio(counted, read):.1f}")
    return statistics.median(counted)


def every_record(store: Store) -> int:
    """Every case read in full, and let go."""
    return len(in_full(store, codes(store)))


def figures(*, large: bool = False) -> list[Figure]:
    """The seconds of an audit for each size of a caseload; that of 5,000 cases takes long to put together."""
    found: list[Figure] = []
    for cases, aim in AIMS.items():
        if cases <= 500 or large:
            seconds = report(cases, CHECK_INS, RUNS[cases])
            found.append(Figure(f"the audit of a month, {cases:,} cases", seconds, aim, "s"))
    return found


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    usual = ("36", str(CHECK_INS), "5")
    cases, check_ins, runs = (int(given) for given in [*arguments, *usual[len(arguments) :]])
    report(cases, check_ins, runs)


if __name__ == "__main__":
    main(sys.argv[1:])
