"""The list with all its rules beside general tools that read five scores and a stage from the same rows.

``python -m tests.bench.side_by_side [CASES] [CHECK_INS] [RUNS]``, after ``pip install pandas duckdb``

What the others answer is the least that a list needs: the last five pain scores and the stage of every
case. They have the better of it: DuckDB has its tables made beforehand and kept open, pandas has only to read
what it needs, and neither judges anything. The list is read twice: with what was judged and nothing new,
and with nothing kept, which is every rule over every case. All ways run by turns in one process, on one
thread, in processor time.
"""

from __future__ import annotations

import contextlib
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from armrise.store.caseload.judged import judged
from armrise.store.database.place import Store
from armrise.store.rules.read import load
from tests.bench.distinct_store import TODAY, make
from tests.bench.spread import Figure, by_turns, ratio, spread

Way = Callable[[], list[tuple[Any, ...]]]
"""Gives (code, stage, date, during, later, morning) for the last five check-ins of every case, in order."""

BY_HAND = """
SELECT c.code, (SELECT stage FROM step WHERE case_id = c.id ORDER BY happened_on DESC, id DESC LIMIT 1),
    s.happened_on, s.during, s.later, s.morning
FROM cases c JOIN session s ON s.id IN (
    SELECT l.id FROM session l WHERE l.case_id = c.id ORDER BY l.happened_on DESC, l.id DESC LIMIT 5)
ORDER BY c.code, s.happened_on, s.id"""
BY_WINDOW = """
SELECT c.code, p.stage, s.happened_on, s.during, s.later, s.morning
FROM (SELECT *, row_number() OVER (PARTITION BY case_id ORDER BY happened_on DESC, id DESC) AS back
      FROM session) s
JOIN cases c ON c.id = s.case_id
LEFT JOIN (SELECT case_id, arg_max(stage, (happened_on, id)) AS stage FROM step GROUP BY case_id) p
    ON p.case_id = s.case_id
WHERE s.back <= 5 ORDER BY c.code, s.happened_on, s.id"""
READ = {
    "cases": "SELECT id, code FROM cases",
    "step": "SELECT id, case_id, happened_on, stage FROM step",
    "session": "SELECT id, case_id, happened_on, during, later, morning FROM session",
}
"""The columns that are needed, by table."""


def by_hand(store: Store) -> Way:
    """A query that seeks in the index."""

    def run() -> list[tuple[Any, ...]]:
        with contextlib.closing(store.connect()) as connection:
            return connection.execute(BY_HAND).fetchall()

    return run


def by_pandas(store: Store) -> Way:
    """The three tables read as frames, the last five of each case, and its newest stage."""
    import pandas

    def run() -> list[tuple[Any, ...]]:
        with contextlib.closing(store.connect()) as connection:
            cases, steps, sessions = (pandas.read_sql_query(sql, connection) for sql in READ.values())
        in_order = ["happened_on", "id"]
        stage = steps.sort_values(in_order).groupby("case_id")["stage"].last()
        last = sessions.sort_values(in_order).groupby("case_id").tail(5)
        joined = last.merge(cases, left_on="case_id", right_on="id", suffixes=("", "_case"))
        joined["stage"] = joined["case_id"].map(stage)
        joined = joined.sort_values(["code", *in_order])
        names = ["code", "stage", "happened_on", "during", "later", "morning"]
        return list(joined[names].itertuples(index=False, name=None))

    return run


def by_duckdb(store: Store) -> Way:
    """A window function over tables that are in its memory already."""
    import duckdb
    import pandas

    base = duckdb.connect(config={"threads": 1})
    with contextlib.closing(store.connect()) as connection:
        for table, sql in READ.items():
            base.register("rows", pandas.read_sql_query(sql, connection))
            base.execute(f"CREATE TABLE {table} AS SELECT * FROM rows")
    return lambda: base.execute(BY_WINDOW).fetchall()


def ways(store: Store) -> Iterator[tuple[str, Way]]:
    """Those whose tool is installed."""
    yield "hand-written query", by_hand(store)
    for name, made in (("pandas", by_pandas), ("DuckDB", by_duckdb)):
        with contextlib.suppress(ImportError):
            yield name, made(store)


def figures(cases: int = 500, check_ins: int = 200, runs: int = 11) -> list[Figure]:
    """The list to each of the others, with what was judged before; then without."""
    rules = load()
    with tempfile.TemporaryDirectory() as folder:
        store = make(Path(folder) / "caseload.armrise", cases, check_ins)
        others = dict(ways(store))
        answers = {name: way() for name, way in others.items()}
        if len({str(answer) for answer in answers.values()}) != 1:
            raise RuntimeError("the tools do not answer the same")
        before = judged(store, rules, TODAY)
        kept, *took = by_turns(runs, lambda: judged(store, rules, TODAY, before), *others.values())
        (anew,) = by_turns(1, lambda: judged(store, rules, TODAY))
    print(f"{cases} cases x {check_ins} check-ins, processor time, by turns")
    for name, seconds in zip(["list, nothing new", *others], [kept, *took], strict=True):
        print(f"{name:24} {spread(seconds)}")
    print(f"{'list, nothing kept':24} {spread(anew)}")
    return [
        *(
            Figure(
                f"the list with all rules and nothing new, to {_asked(name)}",
                ratio(kept, seconds),
                3 if name == "hand-written query" else 1,
            )
            for name, seconds in zip(others, took, strict=True)
        ),
        *(
            Figure(f"the same with nothing kept, to {_asked(name)}", ratio(anew, seconds[-1:]))
            for name, seconds in zip(others, took, strict=True)
        ),
    ]


def _asked(name: str) -> str:
    return f"{name} for five scores and the stage of each case"


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    for figure in figures(*map(int, arguments)):
        print(figure.row)


if __name__ == "__main__":
    main(sys.argv[1:])
