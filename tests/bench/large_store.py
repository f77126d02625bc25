"""A large invented store, put together through the bulk loader: the same every time."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from armrise.store.database.bulk import insert_cases, insert_entries
from armrise.store.database.place import Store
from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding, Measure, Score
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.plan import Orders, Step
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.kinds.safety import Onset, Screen

TODAY = date(2026, 3, 2)
APART = 2
"""Days between two check-ins: every other day."""

MIX = ("RC", "FS", "OA", "RC", "RC", "FS", "OA", "RC", "FS", "PO")
"""Pathways in turn: four in ten the most common, one in ten after an operation."""

EXERCISE = {"RC": ("side-lying lift", "R1"), "FS": ("table slide", "A1"), "OA": ("rowing", "R1")}
AFTER_OPERATION = (
    (14, "hand and elbow", "P0"),
    (42, "pendular swing", "P1"),
    (84, "table slide", "A1"),
    (100_000, "rowing", "R1"),
)
_STAGE_DAYS = {"PO": (0, 14, 42, 84, 140), "RC": (0, 40, 90), "FS": (0, 60), "OA": (0, 60)}


def make(path: Path, cases: int, check_ins: int, *, every: int | None = None) -> Store:
    """A new store of so many cases with so many check-ins each.

    Beside the check-ins every case has ``every`` visits (None: twelve, as long as the check-ins last) with
    range, pain and score measured.
    """
    store = Store.create(path, zone="Europe/London", fictional=True, clinic_date=TODAY)
    histories = {code: list(_history(code, check_ins, every or 12)) for code in set(MIX)}
    with store.writing() as connection:
        connection.execute("PRAGMA cache_size = -200000")
        insert_cases(connection, 1, (_head(number, check_ins) for number in range(1, cases + 1)))
        last = 0
        for number in range(1, cases + 1):
            entries = histories[_pathway(number)]
            for entry in entries:
                last += 1
                object.__setattr__(entry, "id", last)  # frozen for everybody else; a million copies are slow
            insert_entries(connection, number, entries, batch=0)
    with contextlib.closing(store.connect()) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return store


def _pathway(number: int) -> str:
    return MIX[number % len(MIX)]


def _head(number: int, check_ins: int) -> CaseHead:
    return CaseHead(
        code=f"N-{number:04}",
        person=f"P-{number:04}",
        side="LEFT" if number % 2 else "RIGHT",
        pathway=_pathway(number),
        age_band="50s",
        clinician="TK",
        registered_on=TODAY - timedelta(days=APART * check_ins),
    )


def _stamp(on: date) -> dict[str, object]:
    return {"on": on, "recorded_on": on, "recorded_at": datetime.combine(on, time(18), UTC), "author": "TK"}


def _history(pathway: str, check_ins: int, visits: int) -> Iterator[Entry]:
    """One case as it is written down: an assessment, then check-ins with visits in between."""
    length = APART * check_ins
    start = TODAY - timedelta(days=length)
    yield from _assessment(pathway, start)
    for at, days in enumerate(_STAGE_DAYS[pathway], 1):
        on = start + timedelta(days=days)
        if on < TODAY:
            direction = "placing" if at == 1 else "forward"
            yield Step(**_stamp(on), stage=f"{pathway}{at}", direction=direction)
    for number in range(check_ins):
        yield _check_in(pathway, start, number)
    for number in range(visits):
        on = start + timedelta(days=number * length // visits)
        yield from _visit(on, number, better=0 if pathway == "FS" else 5)


def _assessment(pathway: str, start: date) -> Iterator[Entry]:
    yield Screen(**_stamp(start), item="all", answer="no")
    for name in ("diabetes", "thyroid disease", "anticoagulant"):
        yield Finding(**_stamp(start), name=name, answer="no")
    if pathway == "PO":
        yield Onset(**_stamp(start), what="surgery", operation="cuff repair")
        yield Orders(**_stamp(start), surgeon="N. N.", operation="cuff repair")
    exercise, load_class = _exercise(pathway, 0)
    yield ProgrammeItem(**_stamp(start), exercise=exercise, load_class=load_class, sets=3, reps=10)


def _exercise(pathway: str, day: int) -> tuple[str, str]:
    if pathway in EXERCISE:
        return EXERCISE[pathway]
    return next((name, load) for until, name, load in AFTER_OPERATION if day < until)


def _check_in(pathway: str, start: date, number: int) -> Session:
    exercise, load_class = _exercise(pathway, number * APART)
    item = DoneItem(exercise=exercise, load_class=load_class, sets=3, sets_asked=3, reps=10)
    return Session(
        **_stamp(start + timedelta(days=number * APART)) | {"source": "patient reported"},
        during=2 + number % 5 // 2,
        later=1 + number % 3 // 2,
        morning=2 + (number % 23 == 0) * 2,
        items=(item,),
    )


def _visit(on: date, number: int, better: int) -> Iterator[Entry]:
    yield Visit(**_stamp(on), interval=21)
    worst = max(2, 7 - number // 2)
    for name, value in (
        ("worst_pain", worst),
        ("night_pain", worst - 1),
        ("active_flexion", 120 + min(number, 40)),
        ("passive_external_rotation", 40 + min(number, 20)),
    ):
        yield Measure(**_stamp(on), name=name, value=Decimal(value), rater="TK", method="goniometer")
    if number % 3 == 0:
        total = Decimal(max(10, 60 - better * number))
        yield Score(**_stamp(on), instrument="SPADI", total=total, formula="mean of subscales")
