"""The weekly sweep by its keys, from eleven cases to none; and the same queue after a crash.

Expected behaviour: sections 1.5 and 8 (delight 7, annoy 3) and rulings 24 and 55 of the clinic's practice
notes.
"""

from __future__ import annotations

import os
import shutil
import signal
import stat
import subprocess
import sys
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.database.place import Store
from armrise.store.record.kinds.care import Appointment, Contact, SweepDecision, Visit
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.safety import Screen
from armrise.tui.pages.sweep import SweepScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import rules
from tests.quiet import settle
from tests.tui.conftest import settled
from tests.tui.form_store import NOW, TODAY, app_on, new_entries, newest, painted, press, type_in

QUEUE = [
    *("BY-024", "BY-105", "BY-042", "BY-045", "BY-048", "BY-051"),
    *("BY-060", "BY-057", "BY-054", "BY-066", "BY-063"),
]
SPOKE = ("<p>", "<s>", "<y>", "<2>", "<1>", "<2>", "<f2>")
STEPS: dict[str, tuple[str, ...]] = {
    "BY-024": SPOKE,
    "BY-105": ("<b>", "+3", "<f2>"),
    "BY-042": (
        *("<s>", "<enter>", "<n>", "<y>", "<3>", "<2>", "<2>", "<enter>"),
        *("30", "<enter>", "120", "<enter>", "5/7", "<enter>", "14", "<f2>"),
    ),
    "BY-045": ("<d>", "<2>", "goal met by phone", "<enter>", "<2>", "<2>", "n", "<f2>"),
    "BY-048": ("<p>", "<n>", "<f2>"),
    "BY-051": ("<b>", "+4", "<f2>"),
    "BY-060": ("<h>", "<5>", "+14", "<f2>"),
    "BY-057": ("<r>", "surgeon", "<enter>", "<3>", "<9>", "<f2>"),
    "BY-054": ("<p>", "<s>", "<n>", "<2>", "<f2>"),
    "BY-066": SPOKE,
    "BY-063": ("<p>", "<w>", "<f2>"),
}
WORDS = {
    "BY-024": "phone", "BY-105": "rebook", "BY-042": "seen", "BY-045": "discharge", "BY-048": "phone",
    "BY-051": "rebook", "BY-060": "hold", "BY-057": "refer", "BY-054": "phone", "BY-066": "phone",
    "BY-063": "phone",
}  # fmt: skip


@pytest.fixture
def door(made: Path, tmp_path: Path) -> Door:
    return reopened(shutil.copy(made, tmp_path / "copy.armrise"))


def reopened(path: Path) -> Door:
    """A door onto a store, opened anew."""
    return StoreDoor(Store.open(path), rules(), "TK", TODAY, lambda: NOW)


async def start(pilot: Pilot[Any]) -> None:
    """The list read, the sweep open."""
    await settled(pilot)
    await press(pilot, "W")
    await settle(pilot)


async def steps(pilot: Pilot[Any], *given: str) -> None:
    """Keys in angle brackets are pressed, anything else is typed."""
    for step in given:
        await (press(pilot, *step[1:-1].split()) if step[0] == "<" else type_in(pilot, step))
    await settle(pilot)


def queue(door: Door) -> list[str]:
    """The codes still to be decided."""
    return [case.standing.code for case in door.sweep().remaining]


def on_screen(pilot: Pilot[Any]) -> str:
    """The code of the case the sweep shows."""
    screen = pilot.app.screen
    assert isinstance(screen, SweepScreen), f"still open: {painted(pilot)}"
    return screen.case.standing.code if screen.case else ""


async def test_eleven_cases_to_zero_by_keys_and_the_same_after_reopening(door: Door) -> None:
    before = newest(door)
    assert queue(door) == QUEUE
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        for number, code in enumerate(QUEUE):
            assert f"{number} of 11 decided" in painted(pilot)
            assert on_screen(pilot) == code
            await steps(pilot, *STEPS[code])
            assert on_screen(pilot) != code, code
            assert f"{code} decided: {WORDS[code]}." in painted(pilot) or code == QUEUE[-1]
        assert "11 of 11 decided" in painted(pilot)
        assert "Zero left: no case is undecided." in painted(pilot)
        assert "Minutes written to" in painted(pilot)
    for code in QUEUE:
        entries = new_entries(door, code, before)
        (decision,) = [e for e in entries if isinstance(e, SweepDecision)]
        assert decision.decision == WORDS[code], code
        assert len({e.recorded_at for e in entries}) == 1
        assert len(entries) > 1, "a decision stands beside what it rests on"
    again = reopened(door.store.path)
    assert queue(again) == []
    assert again.sweep().counts == {
        "seen": 1, "rebook": 2, "phone": 5, "hold": 1, "discharge": 1, "refer": 1,
    }  # fmt: skip
    file = door.store.path.parent / "sweep-minutes-2026-03-02.txt"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    text = file.read_text(encoding="utf-8")
    assert "11 decided: 1 seen, 2 rebook, 5 phone, 1 hold, 1 discharge, 1 refer; 0 remain." in text
    assert "FICTIONAL CASELOAD" in text
    assert all(code in text for code in QUEUE)
    assert "11 decided: 1 seen" in file.with_suffix(".html").read_text(encoding="utf-8")
    assert file.with_suffix(".pdf").read_bytes().startswith(b"%PDF")


async def test_seen_writes_the_visit_with_its_short_review_set(door: Door) -> None:
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, "<n n>", *STEPS["BY-042"])
    entries = new_entries(door, "BY-042", before)
    (visit,) = [e for e in entries if isinstance(e, Visit)]
    assert (visit.on, visit.interval, visit.anything_new) == (TODAY - timedelta(days=1), 14, "no")
    (session,) = [e for e in entries if isinstance(e, Session)]
    assert (session.on, session.during, session.later, session.morning) == (date(2026, 2, 28), 3, 2, 2)
    measured = {e.name: e.value for e in entries if isinstance(e, Measure)}
    assert measured == {
        "passive_external_rotation": Decimal(30),
        "active_flexion": Decimal(120),
        "adherence": Decimal(71),
    }
    (decision,) = [e for e in entries if isinstance(e, SweepDecision)]
    assert decision.until == date(2026, 3, 15)
    assert decision.overdue_days == 31
    assert door.standing("BY-042").review.overdue_days == 0


async def test_seen_lacks_nothing_by_silence(door: Door) -> None:
    """What is not measured is said; an empty field is no answer."""
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, "<n n>", "<s>", "<enter>", "<n>", "<y>", "<3>", "<2>", "<2>", "<enter>", "<f2>")
        assert "passive rotation at side: -20 to 110 degrees, or n for not measured" in painted(pilot)
        assert new_entries(door, "BY-042", before) == []
        await steps(pilot, "n", "<enter>", "n", "<enter>", "n", "<f2>")
    values = {e.name: str(e.value) for e in new_entries(door, "BY-042", before) if isinstance(e, Measure)}
    assert values == {
        "passive_external_rotation": "not measured",
        "active_flexion": "not measured",
        "adherence": "not asked",
    }


async def test_anything_new_at_a_visit_told_late_opens_the_red_flag_list(door: Door) -> None:
    """The flag is dated on the visit; the case leaves the sweep and is one of today on the list."""
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, "<n n>", "<s>", "<enter>", "<y>")
        await steps(pilot, "<y>", "<f2>")
        assert "1 answered, written with this" in painted(pilot)
        await steps(pilot, "<y>", "<3>", "<2>", "<2>", "<enter>", "n", "<enter>", "n", "<enter>", "n", "<f2>")
    flags = [e for e in new_entries(door, "BY-042", before) if isinstance(e, Screen)]
    assert [(e.answer, e.on) for e in flags] == [("yes", TODAY - timedelta(days=1))]
    assert door.standing("BY-042").tier == "today"
    assert "BY-042" not in queue(door)


async def test_a_rebooked_case_stays_overdue_and_leaves_the_sweep_until_its_slot(door: Door) -> None:
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, "<n n>", "<b>", "+4", "<f2>")
    slot, decision = new_entries(door, "BY-042", before)
    assert isinstance(slot, Appointment)
    assert isinstance(decision, SweepDecision)
    assert slot.booked_for == decision.until == TODAY + timedelta(days=4)
    now = door.standing("BY-042")
    assert (now.review.overdue_days, now.review.booked) == (31, slot.booked_for)
    assert "BY-042" not in queue(door)


async def test_a_refused_decision_writes_nothing_and_keeps_the_case(door: Door) -> None:
    """Protected stage: no discharge unreached, no hold unnamed (practice note 1.5)."""
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, "<d>", "<2>", "lost", "<f2>")
        assert "no discharge before contact was tried on 2 days" in painted(pilot)
        await press(pilot, "escape")
        await steps(pilot, "<h>", "<1>", "+7", "<f2>")
        assert "name the surgeon or lead who agreed" in painted(pilot)
    assert new_entries(door, "BY-024", before) == []
    assert queue(door) == QUEUE


async def test_who_has_not_exercised_tells_the_morning_alone(door: Door) -> None:
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, "<p>", "<s>", "<f2>")
        assert "! exercised?: answer y or n" in painted(pilot)
        await steps(pilot, "<n>", "<3>", "<f2>")
    kinds = {e.KIND for e in new_entries(door, "BY-024", before)}
    assert kinds == {"contact", "morning", "sweep decision"}


async def test_going_on_decides_nothing_and_the_queue_goes_round(door: Door) -> None:
    before = newest(door)
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await press(pilot, "n")
        assert on_screen(pilot) == QUEUE[1]
        await press(pilot, "left", "left")
        assert on_screen(pilot) == QUEUE[-1]
        await press(pilot, "m")
        assert "Minutes so far." in painted(pilot)
        assert "REMAINING (11)" in painted(pilot)
        await press(pilot, "m")
        assert on_screen(pilot) == QUEUE[-1]
        await press(pilot, "enter")
        assert "BY-063" in painted(pilot)
        await press(pilot, "escape")
        assert on_screen(pilot) == QUEUE[-1]
        await press(pilot, "escape")
        assert not isinstance(pilot.app.screen, SweepScreen)
    assert newest(door) == before


async def test_an_undone_decision_brings_the_case_back(door: Door) -> None:
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        await steps(pilot, *STEPS["BY-024"])
    assert "BY-024" not in queue(door)
    door.undo("BY-024")
    assert queue(door) == QUEUE
    assert door.sweep().decided == ()


async def test_minutes_that_cannot_be_written_say_why(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: Any) -> int:
        raise OSError(28, "No space left on device")

    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        monkeypatch.setattr(os, "open", full)
        await press(pilot, "m")
        monkeypatch.undo()
        assert "(no space left on device): make room, then write again" in painted(pilot)


DECIDE = """
import os, signal, sys
from datetime import timedelta
from pathlib import Path
from tests.tui.test_sweep import reopened
door = reopened(Path(sys.argv[1]))
def decide(code, wait):
    until = door.today + timedelta(days=7)
    drafts = [door.draft("contact", outcome="no answer"),
              door.draft("sweep decision", decision="phone", until=until, reasons="review overdue")]
    if wait:
        import armrise.store.caseload.write
        write = armrise.store.caseload.write._write
        def killed(connection, case_id, entries):
            write(connection, case_id, entries[:1])
            os.kill(os.getpid(), signal.SIGKILL)
        armrise.store.caseload.write._write = killed
    door.append(code, drafts)
decide("BY-024", False)
decide("BY-105", False)
decide("BY-042", True)
"""


def test_killed_in_the_middle_of_a_decision_the_sweep_goes_on_where_it_was(door: Door) -> None:
    """Two decisions stand, the third is neither whole nor half written."""
    before = newest(door)
    root = Path(__file__).parents[2]
    ran = subprocess.run(
        [sys.executable, "-c", DECIDE, str(door.store.path)], cwd=root, capture_output=True, timeout=120
    )
    assert ran.returncode == -signal.SIGKILL, ran.stderr.decode()
    again = reopened(door.store.path)
    assert queue(again) == QUEUE[2:]
    assert again.sweep().closed == 2
    assert again.sweep().total == 11
    assert new_entries(again, "BY-042", before) == []
    assert [type(e) for e in new_entries(again, "BY-024", before)] == [Contact, SweepDecision]


# --- finding a closed case ------------------------------------------------------------------------------


async def test_a_closed_case_is_found_by_its_code_and_reopened(door: Door) -> None:
    door.append("BY-087", [door.draft("letter", about="discharge", state="sent")])
    assert "BY-087" not in [s.code for s in door.standings() if s.reasons]
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "E")
        assert "BY-087 closed Wed 25 Feb 2026" in painted(pilot)
        await type_in(pilot, "by-9")
        assert "No closed case has that in its code." in painted(pilot)
        await press(pilot, "enter")
        assert "! case code: type the whole code" in painted(pilot)
        await press(pilot, "backspace")
        await type_in(pilot, "087")
        await press(pilot, "enter")
        await settle(pilot)
        await steps(pilot, "<n>", "same pain", "<f2>")
    assert door.standing("BY-087").status == "active"


# --- pictures -------------------------------------------------------------------------------------------


def decide_all(door: Door) -> None:
    """Every case of the queue phoned, nobody reached."""
    for code in queue(door):
        until = TODAY + timedelta(days=7)
        call = door.draft("contact", outcome="no answer")
        given = {"decision": "phone", "until": until, "reasons": "review overdue"}
        door.append(code, [call, door.draft("sweep decision", **given)])


SHOWN: dict[str, tuple[str, ...]] = {
    "first": (),
    "minor": ("<n>",),
    "seen": ("<n n>", "<s>", "<enter>", "<n>", "<y>", "<3>", "<2>", "<2>", "<enter>", "30"),
    "phone": ("<p>", "<s>", "<y>", "<2>"),
    "end": (),
}


@pytest.mark.parametrize(
    ("name", "size"),
    [*((name, (80, 24)) for name in SHOWN), ("first", (120, 40))],
    ids=[*SHOWN, "first-120x40"],
)
def test_picture(name: str, size: tuple[int, int], door: Door, snap_compare: Any, monkeypatch: Any) -> None:
    monkeypatch.setattr(SweepScreen, "file", lambda self, made: Path("/dev/null/minutes.txt"))
    monkeypatch.setattr("armrise.store.exchange.out.minutes.write_minutes", lambda path, text: None)
    monkeypatch.setattr("armrise.store.exchange.paper.file.write_for_paper", lambda path, page: str(path))
    if name == "end":
        decide_all(door)

    async def run(pilot: Pilot[Any]) -> None:
        await start(pilot)
        await steps(pilot, *SHOWN[name])

    assert snap_compare(app_on(door), terminal_size=size, run_before=run)


async def test_nothing_is_said_by_colour_or_by_more_than_ascii_alone(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("ARMRISE_ASCII", "1")
    async with app_on(door).run_test(size=(80, 24)) as pilot:
        await start(pilot)
        shown = painted(pilot)
        assert "0 of 11 decided ..........." in shown
        assert "Protected stage PO2: phone today" in shown
        assert shown.isascii()
