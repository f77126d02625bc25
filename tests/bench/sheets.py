"""A spreadsheet of 100,000 rows taken into a store, beside the bare writing of its rows, in processor time.

``python -m tests.bench.sheets [ROWS ...]``

A home diary of so many days, 200 a case, is read from CSV, judged row by row, and written with its chain.
Beside it the rows of tables that came of it are put into those of an empty store by ``executemany``, with its
guards and indexes and nothing else. Each round in a process of its own. What it held at most counts too.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from tests.bench.spread import Figure, ratio, spread

ROWS, A_CASE, ROUNDS = 100_000, 200, 3
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
FIRST = date(2025, 8, 1)
AIM = 2.0
"""At least half as many rows a second as are written bare."""


def lists(rows: int) -> tuple[str, str]:
    """The patients and their diaries, as CSV."""
    cases = range(max(1, rows // A_CASE))
    patients = ["code;side;pathway;registered", *(f"S-{n:04};{'LR'[n % 2]};RC;2025-07-28" for n in cases)]
    days = [(FIRST + timedelta(days=day)).isoformat() for day in range(A_CASE)]
    diary = ["code;date;during;later;next morning;times"]
    diary += [
        f"S-{n:04};{day};{(n + k) % 6};{k % 7};{k % 5};{1 + k % 3}"
        for n in cases
        for k, day in enumerate(days)
    ]
    return "\n".join(patients), "\n".join(diary[: rows + 1])


def held_at_most() -> float:
    """Megabytes that this process held at most; the usual count would begin with those of its parent."""
    try:
        told = Path("/proc/self/status").read_text(encoding="ascii")
        return int(told.partition("VmHWM:")[2].split()[0]) / 1024
    except (OSError, ValueError, IndexError):
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def child(rows: int) -> dict[str, float]:
    """Both in this process: seconds each took, and the megabytes held at most before the bare writing."""
    from armrise.store.database.place import Store
    from armrise.store.exchange.sheets.mapping import Map
    from armrise.store.exchange.sheets.plan import kept_map, parse, planned, understood
    from armrise.store.exchange.sheets.take import write
    from armrise.store.rules.read import load

    rules = load()
    patients, diary = lists(rows)

    def take(store: Store, text: str) -> Any:
        plan = planned(
            store, understood(parse(text.encode(), "list.csv"), Map(), kept_map(store)), rules, NOW, "TK"
        )
        write(store, plan, rules, "TK", lambda: NOW)
        return plan

    with tempfile.TemporaryDirectory() as folder:
        store = Store.create(Path(folder) / "own.armrise", zone="UTC", clinic_date=NOW.date())
        take(store, patients)
        start = time.process_time()
        plan = take(store, diary)
        taken = time.process_time() - start
        assert plan.entries == rows
        held = held_at_most()
        tables: dict[str, list[Any]] = {}
        bare = Store.create(Path(folder) / "bare.armrise", zone="UTC", clinic_date=NOW.date())
        take(bare, patients)
        with store.reading() as connection:
            for table in ("entry", "session"):
                read = connection.execute(f'SELECT * FROM "{table}"')
                marks = ", ".join("?" * len(read.description))
                tables[f'INSERT INTO "{table}" VALUES ({marks})'] = read.fetchall()
        start = time.process_time()
        with bare.writing() as connection:
            for sql, made in tables.items():
                connection.executemany(sql, made)
        return {"taken": taken, "bare": time.process_time() - start, "held": held}


def measured(rows: int, rounds: int) -> list[dict[str, float]]:
    """Round after round, each in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.sheets", "--child", str(rows)]
    return [
        json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
        for _ in range(rounds)
    ]


def report(rows: int = ROWS, rounds: int = ROUNDS) -> list[Figure]:
    """Measure and print."""
    runs = measured(rows, rounds)
    taken, bare = [run["taken"] for run in runs], [run["bare"] for run in runs]
    held = sorted(run["held"] for run in runs)[len(runs) // 2]
    print(f"{rows:,} rows of a diary")
    print(f"read, judged, written        {spread(taken)}")
    print(f"the same rows written bare   {spread(bare)}")
    print(f"ratio taken / bare           {ratio(taken, bare):.2f}   (aim: at most {AIM:.0f})")
    print(f"held at most                 {held:,.0f} MB")
    return [
        Figure(f"spreadsheet taken / bare writing, {rows:,} rows", ratio(taken, bare), AIM),
        Figure(f"memory to take a spreadsheet of {rows:,} rows", held, None, "MB"),
    ]


def figures() -> list[Figure]:
    """The rows of the table."""
    return report()


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    if arguments[:1] == ["--child"]:
        print(json.dumps(child(int(arguments[1]))))
        return
    for rows in [int(given) for given in arguments] or [ROWS]:
        report(rows)


if __name__ == "__main__":
    main(sys.argv[1:])
