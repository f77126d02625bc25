"""A store of as many invented cases as wanted, no two with the same history: the same ones every time.

Every case is drawn by its number: how its pain goes (settling, settling with flares, not responding, getting
worse), how its range goes, how often it checks in and whether it fell silent, when it was seen and when its
review was due, whether it is booked. Nobody was treated like this; what matters is that the list has work.
"""

from __future__ import annotations

import contextlib
import inspect
import sys
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from hashlib import sha256
from pathlib import Path
from random import Random

from armrise.store.database import chain
from armrise.store.database.bulk import insert_cases, insert_of_cases
from armrise.store.database.migrate import SCHEMA
from armrise.store.database.place import Store
from armrise.store.entries.words import CaseHead
from armrise.store.files.beside import forget_kept
from armrise.store.record.kinds.care import Appointment, Contact, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding, Measure, Score
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.plan import Orders, Step
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.kinds.safety import Onset, Screen
from tests.bench import large_store
from tests.bench.large_store import AFTER_OPERATION, EXERCISE

TODAY = date(2026, 3, 2)
PATHWAYS = ("RC", "RC", "RC", "RC", "FS", "FS", "OA", "PO")
COURSES = ("settling", "settling", "flaring", "flaring", "flat", "worse")
STEPS = {"PO": (14, 42, 84, 140), "RC": (40, 90), "FS": (60,), "OA": (60,)}
"""Days after the start on which a case goes on to its next stage, give or take a third."""
SCORE_EVERY = 3
"""Every third visit has an outcome score."""


stores_in: Path | None = None
"""A folder in which stores stay for the next run; None: they are gone with this process."""


@cache
def made_once(cases: int, check_ins: int) -> Path:
    """The file of such a store, made when first asked for; nobody writes to it.

    A million entries take minutes to put together, and several benches measure over them.
    """
    path = (stores_in or Path(_folder().name)) / f"{cases}-{check_ins}-{_made_by()}.armrise"
    forget_kept(path)
    if not path.exists():
        draft = path.with_suffix(".draft")
        draft.unlink(missing_ok=True)
        make(draft, cases, check_ins).path.rename(path)
    return path


@cache
def _folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory()


def _made_by() -> str:
    """What a store of so many cases rests on, in short: how it is drawn and how it is laid out."""
    drawn = "".join(inspect.getsource(module) for module in (sys.modules[__name__], large_store))
    return sha256(f"{SCHEMA} {drawn}".encode()).hexdigest()[:12]


def make(path: Path, cases: int, check_ins: int) -> Store:
    """A new store of so many cases with so many check-ins each."""
    store = Store.create(path, zone="Europe/London", fictional=True, clinic_date=TODAY)
    with store.writing() as connection:
        connection.execute("PRAGMA cache_size = -200000")
        drawn = [_drawn(number, check_ins) for number in range(1, cases + 1)]
        insert_cases(connection, 1, (one.head for one in drawn))
        insert_of_cases(connection, _numbered(drawn), 0)
        chain.extend(connection, chain.FILE)
    with contextlib.closing(store.connect()) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return store


def _numbered(drawn: Iterable[Drawn]) -> Iterator[tuple[int, list[Entry]]]:
    """The entries of each case with their ids, one case after the other."""
    last = 0
    for number, one in enumerate(drawn, 1):
        entries = list(one.entries())
        for place, entry in enumerate(entries, 1):
            object.__setattr__(entry, "id", last + place)  # nobody has it yet; a million copies are slow
        last += len(entries)
        yield number, entries


@dataclass(frozen=True)
class Drawn:
    """What was drawn of one case, and the entries it comes to."""

    head: CaseHead
    check_ins: int
    course: str
    apart: int
    """Days from one check-in to the next."""
    silent: int
    """Days since the last one."""
    seen_every: int
    """Days from one visit to the next."""
    draw: Random

    @property
    def pathway(self) -> str:
        return self.head.pathway

    @property
    def start(self) -> date:
        return self.head.registered_on

    def entries(self) -> Iterator[Entry]:
        """The whole history: first visit, steps, check-ins, visits, what is booked."""
        yield from self._first_visit()
        yield from self._steps()
        flare = 0
        for number in range(self.check_ins):
            flare = self.draw.randint(2, 6) if self.draw.random() < 0.04 else flare - 1
            yield self._check_in(number, flare if self.course in ("flaring", "worse") else 0)
        yield from self._visits()
        if self.draw.random() < 0.6:
            ahead = TODAY + timedelta(days=self.draw.randint(0, 20))
            yield Appointment(**_at(TODAY - timedelta(days=3)), booked_for=ahead)
        elif self.draw.random() < 0.3:
            yield Contact(**_at(TODAY - timedelta(days=self.draw.randint(1, 9))), outcome="no answer")

    def _first_visit(self) -> Iterator[Entry]:
        known = _at(self.start)
        yield Screen(**known, item="all", answer="no")
        for name in ("diabetes", "thyroid disease", "anticoagulant"):
            yield Finding(**known, name=name, answer="yes" if self.draw.random() < 0.15 else "no")
        if self.pathway == "PO":
            yield Onset(**known, what="surgery", operation="cuff repair")
            yield Orders(**known, surgeon="N. N.", operation="cuff repair")
        exercise, load_class = self._exercise(0)
        yield ProgrammeItem(**known, exercise=exercise, load_class=load_class, sets=3, reps=10)

    def _steps(self) -> Iterator[Entry]:
        yield Step(**_at(self.start), stage=f"{self.pathway}1", direction="placing")
        held = 1.0 if self.pathway == "PO" else self.draw.uniform(0.7, 1.4)
        for stage, days in enumerate(STEPS[self.pathway], 2):
            on = self.start + timedelta(days=round(days * held))
            if on < TODAY:
                yield Step(**_at(on), stage=f"{self.pathway}{stage}", direction="forward")

    def _exercise(self, day: int) -> tuple[str, str]:
        usual = EXERCISE.get(self.pathway)
        return usual or next((name, load) for until, name, load in AFTER_OPERATION if day < until)

    def _pain(self, number: int) -> int:
        """Usual pain at a check-in, by the course."""
        done = number / max(1, self.check_ins - 1)
        down = {"settling": 3, "flaring": 2, "flat": 0, "worse": -2}[self.course]
        return max(0, min(10, round(4 - down * done + self.draw.gauss(0, 0.6))))

    def _check_in(self, number: int, flare: int) -> Session:
        day, pain = number * self.apart, self._pain(number)
        exercise, load_class = self._exercise(day)
        sets = 3 if self.draw.random() < 0.85 else 2
        done = DoneItem(exercise=exercise, load_class=load_class, sets=sets, sets_asked=3, reps=10)
        return Session(
            **_at(self.start + timedelta(days=day)) | {"source": "patient reported"},
            during=pain,
            later=max(0, pain - 1),
            morning=min(10, max(0, pain - 2) + (3 if flare > 0 else 0)),
            items=(done,),
        )

    def _visits(self) -> Iterator[Entry]:
        length = (TODAY - self.start).days - self.draw.randint(0, self.seen_every + 10)
        ways = {"settling": 1.5, "flaring": 1.0, "flat": 0.0, "worse": -1.0}
        for number, day in enumerate(range(0, max(1, length), self.seen_every)):
            known, gained = _at(self.start + timedelta(days=day)), number * ways[self.course]
            yield Visit(**known, interval=self.draw.choice((14, 21, 28)))
            worst = max(0, min(10, round(7 - gained)))
            flexion, rotation = 120 + 4 * gained, 40 + 3 * gained - (20 if self.pathway == "FS" else 0)
            for name, value in (
                ("worst_pain", worst),
                ("night_pain", max(0, worst - 2)),
                ("active_flexion", max(20, min(170, round(flexion)))),
                ("passive_external_rotation", max(0, min(80, round(rotation)))),
            ):
                yield Measure(**known, name=name, value=Decimal(value), rater="TK", method="goniometer")
            if number % SCORE_EVERY == 0:
                total = Decimal(max(5, min(95, round(60 - 6 * gained))))
                yield Score(**known, instrument="SPADI", total=total, formula="mean of subscales")


def _drawn(number: int, check_ins: int) -> Drawn:
    draw = Random(number)
    apart, silent = draw.choice((1, 2, 2, 3)), draw.choice((1, 1, 1, 2, 4, 9, 20))
    head = CaseHead(
        code=f"N-{number:04}",
        person=f"P-{number:04}",
        side=draw.choice(("LEFT", "RIGHT")),
        pathway=draw.choice(PATHWAYS),
        age_band=draw.choice(("30s", "40s", "50s", "60s")),
        clinician=draw.choice(("TK", "MO", "RS")),
        registered_on=TODAY - timedelta(days=apart * (check_ins - 1) + silent),
    )
    return Drawn(head, check_ins, draw.choice(COURSES), apart, silent, draw.randint(10, 28), draw)


def _at(on: date) -> dict[str, object]:
    return {"on": on, "recorded_on": on, "recorded_at": datetime.combine(on, time(18), UTC), "author": "TK"}
