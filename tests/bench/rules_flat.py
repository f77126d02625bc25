"""The rules over cases with ten times the history, against cases with one, and how often they look back.

``python -m tests.bench.rules_flat [CASES] [CHECK_INS] [RUNS]``

Of each kind of store there are two, invented and the same every time, the second with ten times the days, and
so with ten times the check-ins, visits, values and scores. In the one kind nobody with a frozen shoulder
responds; in the other no two cases are alike, and many grow worse or flare again and again. The records are
read as the list reads them; a case for which that is too little is judged in full, as the list does. Measured
are the rules alone, in processor time, the stores by turns.

A look is one question whether a reason is true on one date. Day by day there would be one for every day on
which the reasons of today have been true.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from armrise.store.caseload.read import board
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.standing.rule import Found, ReasonRule
from armrise.store.clinic.standing.stand import NeedsFullHistory, stand
from armrise.store.database.place import Store
from armrise.store.record.case import CaseRecord
from armrise.store.rules import read as rulefile
from armrise.store.rules.pathway import Rules
from tests.bench import distinct_store, large_store
from tests.bench.large_store import APART, TODAY
from tests.bench.spread import Figure, by_turns, ratio, spread

TENFOLD = 10
SEEN_EVERY = 33
"""Days from one visit to the next where nobody responds."""


class Case(NamedTuple):
    """One case as the list reads it, and in full."""

    windowed: CaseRecord
    full: CaseRecord


def not_responding(path: Path, cases: int, check_ins: int) -> Store:
    """A store whose frozen shoulders do not respond."""
    return large_store.make(path, cases, check_ins, every=max(2, check_ins * APART // SEEN_EVERY))


KINDS: dict[str, Callable[[Path, int, int], Store]] = {
    "frozen shoulders that do not respond among them": not_responding,
    "no two alike, many worse or in flares": distinct_store.make,
}


def read(store: Store, rules: Rules) -> list[Case]:
    """Every case, both ways."""
    return [
        Case(*both)
        for both in zip(
            board(store, today=TODAY, rules=rules), board(store, today=TODAY, rules=None), strict=True
        )
    ]


def judged(cases: Sequence[Case], rules: Rules) -> list[Standing]:
    """Their standings, in full only where the window is too little."""
    return [_judged(case, rules) for case in cases]


def _judged(case: Case, rules: Rules) -> Standing:
    try:
        return stand(case.windowed, rules, TODAY)
    except NeedsFullHistory:
        return stand(case.full, rules, TODAY)


@contextmanager
def counting() -> Iterator[list[date]]:
    """The date of every look while it lasts."""
    looks: list[date] = []

    def counted(rule: ReasonRule) -> ReasonRule:
        def looked(view: View) -> Found | None:
            looks.append(view.today)
            return rule.condition(view)

        return replace(rule, condition=looked)

    with patch.dict(REASONS, {code: counted(rule) for code, rule in REASONS.items()}):
        yield looks


def looked(cases: Sequence[Case], rules: Rules) -> tuple[float, float]:
    """Looks a case, and as many as there would be day by day."""
    with counting() as looks:
        standings = judged(cases, rules)
    days = sum(reason.days_open for standing in standings for reason in standing.reasons)
    return len(looks) / len(cases), days / len(cases) + len(REASONS)


def figures(cases: int = 40, check_ins: int = 200, runs: int = 5) -> list[Figure]:
    """Both kinds of store, each against its own of a tenth."""
    rules, found = rulefile.load(), list[Figure]()
    for kind, made in KINDS.items():
        with tempfile.TemporaryDirectory() as folder:
            many = [check_ins * TENFOLD, check_ins]
            stores = [made(Path(folder) / f"of-{n}.armrise", cases, n) for n in many]
            ten, one = (read(store, rules) for store in stores)
        tenfold, once = by_turns(runs, lambda a=ten: judged(a, rules), lambda b=one: judged(b, rules))
        print(f"{cases} cases: {kind}")
        for number, seconds, some in zip(many, (tenfold, once), (ten, one), strict=True):
            looks, days = looked(some, rules)
            print(f"x {number} check-ins  {spread([s / cases for s in seconds])} a case")
            print(f"  looks a case  {looks:.0f} (day by day {days:.0f})")
        found.append(Figure(f"rules at tenfold history to one, {kind}", ratio(tenfold, once), 1.05))
    return found


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    for figure in figures(*map(int, arguments)):
        print(figure.row)


if __name__ == "__main__":
    main(sys.argv[1:])
