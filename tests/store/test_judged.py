"""The list judged anew only where there are news, against the list judged anew: the same, whatever happened.

What is written goes through the ledger as in the program, so that what it refuses is not written here either.
"""

from __future__ import annotations

import contextlib
import gc
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from armrise.store.caseload import read as caseload
from armrise.store.caseload.judged import Judged, judged
from armrise.store.caseload.refusal import Refused
from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.write import Ledger
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import History
from armrise.store.clinic.standing import stand as standing
from armrise.store.clinic.standing.triage import order, placed
from armrise.store.database import chain
from armrise.store.database.place import Store
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.rules.pathway import Rules
from armrise.tui.shell import opening
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import Builder, case, rules
from tests.store.drafts import MORNING, TODAY, draft, head
from tests.store.test_board import put

pytestmark = pytest.mark.usefixtures("worked_out_once")

CODES = ("A-1", "A-2", "B-1", "C-1", "D-1")
"""The first two are both shoulders of one person."""


def _cases() -> Iterator[tuple[str, Builder]]:
    yield "A-1", case("RC2", day=40, last_visit=10).good(6)
    yield "A-2", case("FS1", day=30, last_visit=25).session(-3, 6, 5, 5)
    yield "B-1", case("OA1", day=20, last_visit=9).session(-40, 3, 2, 2).mornings(-6, 2, 3, 4, 5)
    yield "C-1", case("PO2", day=20, last_visit=12).good(3)
    yield "D-1", case("RC1", day=90, last_visit=60).discharge(-20, letter=False)


@pytest.fixture(scope="module", autouse=True)
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with five cases, to be copied."""
    store = Store.create(tmp_path_factory.mktemp("judged") / "begun.armrise", zone="Europe/London")
    sides = {"A-2": "RIGHT"}
    for code, made in _cases():
        start = min(e.on for e in made.entries)
        more: dict[str, Any] = {"person": f"P-{code[0]}", "side": sides.get(code, "LEFT")}
        put(store, code, made.entries, registered_on=start, pathway=made.head["pathway"], **more)
    with store.writing() as connection:
        chain.extend(connection, chain.FILE)
    Kept.begun = store.path
    Kept.folder = store.path.parent
    return store.path


_SILENCE = replace(rules().figures["silence.floor_days"], value=Decimal(1))
OTHER_RULES = replace(rules(), figures={**rules().figures, "silence.floor_days": _SILENCE})
"""Changed in memory, as a trial of rules does: silence counts from the first day on."""

WRITTEN: tuple[tuple[str, dict[str, Any]], ...] = (
    ("session", {"during": 8, "later": 7}),
    ("session", {"during": 1, "later": 1, "source": "patient reported", "note": "fingers numb"}),
    ("contact", {"outcome": "spoke", "load_cut": True}),
    ("contact", {"outcome": "message received"}),
    ("visit", {"interval": 14}),
    ("event", {"event": "fall"}),
    ("screen", {"item": "all", "answer": "no"}),
    ("screen", {"item": "hot, swollen, feverish", "answer": "yes"}),
    ("flag outcome", {"item": "all", "outcome": "cleared", "reason": "looked at"}),
    ("measure", {"name": "night_waking", "value": Decimal(5)}),
    ("discharge", {"outcome": "goal met"}),
    ("reopening", {"reason": "pain came back"}),
    ("letter", {"about": "discharge", "state": "sent"}),
)
CASE = st.integers(0, 30)
"""Which case, counted round over those there are."""
AHEAD = st.sampled_from([0, 0, 9])


class Kept(RuleBasedStateMachine):
    """A list held and asked again and again, while everything happens to the store that may."""

    begun: Path
    folder: Path

    @initialize()
    def open(self) -> None:
        self.place = Path(shutil.copy(self.begun, self.folder / "now.armrise"))
        self.copy: Path | None = None
        self.store = Store.open(self.place)
        self.store.created = (MORNING - timedelta(days=30)).isoformat()
        self.rules = rules()
        self.at = MORNING
        self.held: Judged | None = None
        self.number = 0

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def code(self, which: int) -> str:
        codes = caseload.codes(self.store)
        return codes[which % len(codes)]

    def act(self, do: Callable[[Ledger], object], ahead: int = 0, store: Store | None = None) -> None:
        ledger = Ledger(store or self.store, "TK", lambda: self.now() + timedelta(days=ahead), rules())
        with contextlib.suppress(Refused):
            do(ledger)

    @rule(which=CASE, what=st.sampled_from(WRITTEN), back=st.integers(0, 20), ahead=AHEAD)
    def write(self, which: int, what: tuple[str, dict[str, Any]], back: int, ahead: int) -> None:
        """An entry, perhaps told late, perhaps by a clock that runs days ahead, which the next one finds."""
        kind, values = what
        entry = draft(kind, self.store.today(self.at) - timedelta(days=back), **values)
        self.act(lambda ledger: ledger.append(self.code(which), [entry], confirmed=True), ahead)

    @rule(which=CASE, what=st.sampled_from(WRITTEN))
    def somebody_else_writes(self, which: int, what: tuple[str, dict[str, Any]]) -> None:
        kind, values = what
        entry = draft(kind, self.store.today(self.at), **values)
        other = Store.open(self.place)
        self.act(lambda ledger: ledger.append(self.code(which), [entry], confirmed=True), store=other)

    @rule(which=st.integers(0, 10**6))
    def withdraw(self, which: int) -> None:
        with self.store.reading() as connection:
            newest = connection.execute("SELECT max(id) FROM entry").fetchone()[0]
        self.act(lambda ledger: ledger.correct(1 + which % newest, "typed twice", confirmed=True))

    @rule(which=CASE)
    def undo(self, which: int) -> None:
        self.act(lambda ledger: ledger.undo(self.code(which)))

    @rule(which=CASE, there=CASE)
    def move(self, which: int, there: int) -> None:
        code, to = self.code(which), self.code(there)
        newest = caseload.newest_entry(self.store, code)
        entry = draft("contact", self.store.today(self.at), outcome="spoke")
        self.act(lambda ledger: ledger.move(newest, "wrong case", to, entry, confirmed=True))

    @rule(person=st.sampled_from(["P-A", "P-B", "P-E"]), side=st.sampled_from(["LEFT", "RIGHT"]))
    def register(self, person: str, side: str) -> None:
        self.number += 1
        one = head(f"N-{self.number}", person=person, side=side, registered_on=self.store.today(self.at))
        self.act(lambda ledger: ledger.register(one))

    @rule()
    def take_a_file(self) -> None:
        self.number += 1
        day = self.store.today(self.at)
        entries = (draft("visit", day, recorded_on=day, recorded_at=self.at),)
        filed = FileCase(head(f"F-{self.number}", registered_on=day - timedelta(days=1)), entries)
        take_whole(self.store, CaseloadFile(day, "Europe/London", False, "", (filed,)), rules())

    @rule()
    def pass_midnight(self) -> None:
        self.at += timedelta(days=1)

    @rule()
    def change_the_rules(self) -> None:
        self.rules = OTHER_RULES if self.rules is rules() else rules()

    @rule()
    def change_the_zone(self) -> None:
        """By another program, past the guards: nothing of ours does."""
        with contextlib.closing(sqlite3.connect(self.place)) as raw:
            for verb in ("update", "delete", "replace"):
                raw.execute(f"DROP TRIGGER IF EXISTS setting_no_{verb}")
            (zone,) = raw.execute("SELECT value FROM setting WHERE name = 'zone'").fetchone()
            other = "Pacific/Auckland" if zone == "Europe/London" else "Europe/London"
            raw.execute("UPDATE setting SET value = ? WHERE name = 'zone'", (other,))
            raw.commit()
        created, self.store = self.store.created, Store.open(self.place)
        self.store.created = created

    @rule()
    def keep_a_copy(self) -> None:
        self.copy = self.folder / "copy.armrise"
        self.copy.unlink(missing_ok=True)
        with contextlib.closing(self.store.connect()) as connection:
            connection.execute(f"VACUUM INTO '{self.copy}'")

    @precondition(lambda self: self.copy is not None)
    @rule()
    def put_the_copy_back(self) -> None:
        for end in ("-wal", "-shm"):
            self.place.with_name(self.place.name + end).unlink(missing_ok=True)
        shutil.copy(self.copy or "", self.folder / "draft")
        (self.folder / "draft").replace(self.place)

    @invariant()
    def the_list_is_the_one_judged_anew(self) -> None:
        today = self.store.today(self.at)
        self.held = judged(self.store, self.rules, today, self.held)
        assert list(self.held.standings) == caseload.standings(self.store, self.rules, today)


Kept.TestCase.settings = settings(
    max_examples=20, stateful_step_count=12, deadline=None, database=None, phases=[Phase.generate]
)  # without making what failed smaller, which takes minutes here
TestKept = Kept.TestCase


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The codes of the cases that were judged."""
    found: list[str] = []
    stand = standing.stand

    def seen(record: Any, under: Rules, today: date) -> Standing:
        found.append(record.code)
        return stand(record, under, today)

    monkeypatch.setattr(standing, "stand", seen)
    return found


@pytest.fixture
def door(begun: Path, tmp_path: Path) -> StoreDoor:
    """A door into a copy of the store."""
    store = Store.open(shutil.copy(begun, tmp_path / "now.armrise"))
    return StoreDoor(store, rules(), "TK", TODAY, lambda: datetime(2026, 3, 2, 9, tzinfo=UTC))


def test_a_case_is_judged_once_until_it_has_news(door: StoreDoor, counted: list[str]) -> None:
    assert len(door.standings()) == len(CODES)
    assert sorted(counted) == sorted(CODES)
    assert door.held is not None
    assert door.held.whole
    counted.clear()
    door.standings()
    assert counted == []
    assert door.held.whole
    door.append("C-1", [door.draft("contact", outcome="spoke")])
    first = door.standings()
    assert counted == ["C-1"]
    assert not door.held.whole
    counted.clear()
    door.append("A-1", [door.draft("contact", outcome="spoke")])
    assert [s.code for s in door.standings()] == [s.code for s in first]
    assert sorted(counted) == ["A-1", "A-2"], "a person's other case shares entries with it"


def test_nothing_is_held_for_an_earlier_instant(door: StoreDoor, counted: list[str]) -> None:
    then = StoreDoor(door.store.as_known(MORNING), rules(), "TK", TODAY, door.now)
    for _ in range(2):
        counted.clear()
        then.standings()
        assert len(counted) == len(CODES)


def test_nothing_is_held_past_midnight_or_under_other_rules(door: StoreDoor, counted: list[str]) -> None:
    day = [TODAY]
    moving = StoreDoor(door.store, rules(), "TK", lambda: day[0], door.now)
    moving.standings()
    counted.clear()
    day[0] += timedelta(days=1)
    moving.standings()
    assert len(counted) == len(CODES)
    counted.clear()
    moving._rules = OTHER_RULES  # pyright: ignore[reportPrivateUsage]
    moving.standings()
    assert len(counted) == len(CODES)


def test_a_case_that_leaves_the_list_is_not_carried_over(door: StoreDoor) -> None:
    """Discharged long ago with a letter owed: it is on the board until the letter is sent."""
    made = case("RC1", day=700, last_visit=600).discharge(-500, letter=True)
    put(door.store, "E-1", made.entries, registered_on=date(2024, 1, 1), pathway="RC")
    assert "E-1" in {s.code for s in door.standings()}
    door.append("E-1", [door.draft("letter", about="discharge", state="sent")])
    assert "E-1" not in {s.code for s in door.standings()}


def test_what_another_process_wrote_comes_in(door: StoreDoor, counted: list[str]) -> None:
    before = door.standings()
    code = (
        "import sys; from pathlib import Path; from datetime import UTC, datetime;"
        "from armrise.store.database.place import Store; from armrise.tui.shell.store_door import StoreDoor;"
        "from armrise.store.rules.read import load; store = Store.open(Path(sys.argv[1]));"
        "now = datetime(2026, 3, 2, 10, tzinfo=UTC);"
        "door = StoreDoor(store, load(), 'MB', store.today(now), lambda: now);"
        "door.append('B-1', [door.draft('event', event='fall')])"
    )
    subprocess.run([sys.executable, "-c", code, str(door.store.path)], check=True)
    counted.clear()
    after = door.standings()
    assert counted == ["B-1"]
    assert after != before
    assert after == caseload.standings(door.store, rules(), TODAY)


def test_a_few_take_their_place_among_many_as_if_all_were_ordered(door: StoreDoor) -> None:
    every = door.standings()
    many = [one._replace(code=f"{one.code}-{n}") for n in range(20) for one in every]
    new = [one._replace(code=f"{one.code}-new") for one in every]
    assert placed(order(many), new) == order([*many, *new])
    assert placed((), new) == order(new)


def test_what_is_recorded_while_a_list_is_judged_is_in_it(
    door: StoreDoor, counted: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the reading of the first cases and of those after them."""
    monkeypatch.setattr("armrise.store.caseload.read.AT_A_TIME", 2)
    seen, wrote = standing.stand, [False]

    def writing(record: Any, under: Rules, today: date) -> Standing:
        if not wrote[0]:
            wrote[0] = True
            door.append("A-1", [door.draft("event", event="fall")])
        return seen(record, under, today)

    monkeypatch.setattr(standing, "stand", writing)
    found = door.standings()
    assert sorted(counted) == sorted([*CODES, "A-1", "A-2"])
    assert found == caseload.standings(door.store, rules(), TODAY)


def test_whoever_waits_for_a_long_list_is_told_how_far_it_is(
    door: StoreDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[tuple[int, int]] = []
    monkeypatch.setattr("armrise.store.caseload.read.AT_A_TIME", 2)
    door.tell = lambda judged, of: told.append((judged, of))
    door.standings()
    assert told == [(done, len(CODES)) for done in range(0, len(CODES), 2)]


def test_how_far_a_reading_is_is_said_now_and_then_and_of_a_short_list_not_at_all() -> None:
    said: list[str] = []
    tell = opening._how_far(said.append)  # pyright: ignore[reportPrivateUsage]
    for done in range(0, 36, 12):
        tell(done, 36)
    assert said == []
    for done in range(0, 5000, 12):
        tell(done, 5000)
    assert said[:2] == ["60 of 5,000 cases", "120 of 5,000 cases"]
    assert len(said) == 83
    tell(0, 5000)
    tell(60, 5000)
    assert said[83:] == ["60 of 5,000 cases"]


def test_a_judged_case_waits_for_nobody_to_look_for_garbage(door: StoreDoor) -> None:
    """Views and histories hold each other: of a large caseload every record would stay in memory."""
    door.standings()
    door.held = None

    def histories() -> set[int]:
        return {id(one) for one in gc.get_objects() if isinstance(one, History)}

    gc.collect()
    gc.disable()
    try:
        before = histories()
        door.standings()
        assert len(histories() - before) < 2  # one that had to be read in full goes with its exception
    finally:
        gc.enable()
