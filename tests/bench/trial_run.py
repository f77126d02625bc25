"""A trial run of changed rules in case-days a second, against a plain pass over the same rows.

``python -m tests.bench.trial_run [CASES] [CHECK_INS] [RUNS]``

An invented store, the same every time, in processor time. The plain pass reads the rows of every case as
tuples and goes through those known by the end of each clinic date, once for each of the two versions: the
least that any reading day by day has to touch. The trial runs twice: with a number changed that no case-day
reads, and with one that nearly every one reads. The slow way judges each day anew from a record filtered for
it; it reads every :data:`SLOW_EVERY` th day, and its time is counted for all.
"""

from __future__ import annotations

import contextlib
import statistics
import sys
import tempfile
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from armrise.store.caseload import trial
from armrise.store.clinic.audit.trial import Trial
from armrise.store.clinic.case.view import DAY
from armrise.store.clinic.standing.stand import stand
from armrise.store.database.place import Store
from armrise.store.rules import read as rulefile
from armrise.store.rules.pathway import Rules
from tests.bench.large_store import TODAY, make
from tests.bench.spread import Figure, by_turns, ratio, spread

ROWS = """
SELECT c.code, e.recorded_on, e.during, e.later, e.morning
FROM cases c JOIN session e ON e.case_id = c.id
UNION ALL SELECT c.code, e.recorded_on, e.value, e.rater, e.side
FROM cases c JOIN measure e ON e.case_id = c.id
UNION ALL SELECT c.code, e.recorded_on, e.interval, e.author, 0
FROM cases c JOIN visit e ON e.case_id = c.id
"""
SLOW_EVERY = 10
READ_BY_NONE, READ_BY_MOST = "audit.after_days", "flare.horizon_days"
"""Figures of the rules."""


def plain_pass(store: Store, planned: Sequence[trial.Planned]) -> int:
    """Every row known by the end of each date, counted, twice."""
    rows: dict[str, list[str]] = defaultdict(list)
    with contextlib.closing(store.connect()) as connection:
        for code, recorded_on, *_ in connection.execute(ROWS):
            rows[code].append(recorded_on)
    seen = 0
    for code, days in planned:
        for back in range(days):
            day = date.fromordinal(TODAY.toordinal() - back).isoformat()
            for _ in range(2):
                seen += sum(on <= day for on in rows[code])
    return seen


def changed(rules: Rules, figure: str) -> Rules:
    """The rules with one whole number lower by one."""
    was = rules.figures[figure]
    return replace(rules, figures={**rules.figures, figure: replace(was, value=was.value - 1)})


def tried(store: Store, rules: Rules, new: Rules) -> Trial:
    """The whole trial run of ``new`` against the rules."""
    *_, (made, _, _) = trial.run(store, rules, new, since=None, until=TODAY)
    return made


def slow_way(store: Store, rules: Rules, planned: Sequence[trial.Planned]) -> None:
    """Every tenth day judged anew under both versions."""
    for code, days in planned:
        told = trial.everything(store, [code])[0]
        for back in range(0, days, SLOW_EVERY):
            day = TODAY - back * DAY
            for _ in range(2):
                stand(told.known_by(day), rules, day)


def report(cases: int, check_ins: int, runs: int, folder: Path) -> list[Figure]:
    """Put the store together, measure, print."""
    rules = rulefile.load()
    store = make(folder / "trial.armrise", cases, check_ins)
    planned = trial.plan(store, since=None, until=TODAY)
    days = sum(case.days for case in planned)
    took, twice, plainly, slowly = by_turns(
        runs,
        lambda: tried(store, rules, changed(rules, READ_BY_NONE)),
        lambda: tried(store, rules, changed(rules, READ_BY_MOST)),
        lambda: plain_pass(store, planned),
        lambda: slow_way(store, rules, planned),
    )
    slowly = [seconds * SLOW_EVERY for seconds in slowly]
    speed = days / statistics.median(took)
    print(f"{cases} cases x {check_ins} check-ins: {days} case-days, each under two versions")
    print(f"trial run                    {spread(took)}")
    print(f"the same, a number read      {spread(twice)}")
    print(f"plain pass over the rows     {spread(plainly)}")
    print(f"case-days a second           {speed:.0f} in the trial run")
    print(f"case-days a second           {days / statistics.median(plainly):.0f} in the plain pass")
    print(f"ratio trial run / plain pass {ratio(took, plainly):.1f}")
    print(f"ratio the same, a number read {ratio(twice, plainly):.1f}")
    print(f"ratio trial / judging anew   {ratio(took, slowly):.2f}")
    what = f"running two rule versions over a recorded history (some {speed:,.0f} case-days a second)"
    return [
        Figure(
            f"{what}, to a plain pass over the same rows",
            ratio(took, plainly),
            10,
        ),
        Figure("the same where nearly every case-day reads what was changed", ratio(twice, plainly)),
        Figure("the former, to judging each day anew", ratio(took, slowly)),
    ]


def figures() -> list[Figure]:
    """The rows of the table, from twenty cases of sixty check-ins."""
    with tempfile.TemporaryDirectory() as folder:
        return report(20, 60, 5, Path(folder))


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    usual = ("20", "60", "5")
    cases, check_ins, runs = (int(given) for given in [*arguments, *usual[len(arguments) :]])
    with tempfile.TemporaryDirectory() as folder:
        report(cases, check_ins, runs, Path(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
