"""Invented standings for tests of the screens: no store, no rules, one fixed clinic date."""

from __future__ import annotations

import asyncio
import importlib
import os
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from armrise.store.clinic.case.standing import (
    CriterionResult,
    Pain,
    Reason,
    Review,
    Standing,
    Truth,
    Verdict,
    Word,
)
from armrise.store.database.desk import Waiting
from armrise.store.record.fields import Absence
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.door import Door
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import READ_ONLY
from tests.clinic.build import rules
from tests.known_standings import KnownStandings
from tests.quiet import settle
from tests.tui.form_store import app_on, open_copy

importlib.import_module("armrise.store.database.classes.tables")
"""What history and marks import when first asked for: no test waits for it in the midst of its keys."""
TODAY = date(2026, 3, 2)
RANKS = {
    "possible red flag": (1, "today"),
    "new injury": (2, "today"),
    "healing limit broken": (3, "today"),
    "flare not settling": (7, "harm if left"),
    "losing range": (9, "harm if left"),
    "review overdue": (16, "contact owed"),
    "nothing recorded": (17, "contact owed"),
    "ready to step forward": (18, "move on"),
    "letter owed": (25, "move on"),
}


def a_reason(name: str, sentence: str = "", *, days: int = 0, hand: int | None = None, **more: Any) -> Reason:
    """A reason of the closed list; ``hand`` puts it in hand for so many days."""
    rank, tier = RANKS[name]
    return Reason(
        code=name[:3].upper(),
        name=name,
        rank=rank,
        tier=tier,
        severity=more.pop("severity", 1),
        days_open=days,
        since=TODAY - timedelta(days=days),
        sentence=sentence or name,
        in_hand_until=None if hand is None else TODAY + timedelta(days=hand),
        in_hand_action="" if hand is None else more.pop("action", "rang, answer awaited"),
        **more,
    )


def a_review(due_in: int | None = 17, interval: int = 21, booked_in: int | None = None) -> Review:
    """A review due in so many days; negative is overdue."""
    over = max(0, -(due_in or 0))
    return Review(
        due=None if due_in is None else TODAY + timedelta(days=due_in),
        interval=interval,
        overdue_days=over,
        ratio=over / interval,
        booked=None if booked_in is None else TODAY + timedelta(days=booked_in),
    )


def a_pain(*scores: int | Absence, ago: int = 2, baseline: int | None = 2) -> Pain:
    """The last triple, so many days ago; without scores nothing was ever recorded."""
    if not scores:
        return Pain(None, None, None, None, None, None)
    return Pain(*scores, date=TODAY - timedelta(days=ago), baseline=baseline, days_ago=ago)


def a_criterion(text: str, needed: str, seen: str, state: Truth, *, ago: int | None = 4, ask: str = ""):
    """One opened criterion."""
    when = None if ago is None else TODAY - timedelta(days=ago)
    return CriterionResult(text, needed, seen, when, state, "practice notes 3.1", "common practice", ask)


NOT_YET = Verdict(
    Word.NOT_YET,
    "rotation strength 62 % of the other side, needs 70",
    criteria=(
        a_criterion("three good sessions of light resisted work", "3 in a row", "3", Truth.MET, ago=1),
        a_criterion("rotation strength", "at least 70 % of the other side", "62 %", Truth.NOT_MET),
        a_criterion("active flexion", "at least 90 % of the other side", "", Truth.UNKNOWN, ago=None,
                    ask="active flexion, both sides"),
    ),
    rule_version="v1",
)  # fmt: skip


def a_standing(code: str, **given: Any) -> Standing:
    """An invented case: everything quiet unless given otherwise."""
    plain: dict[str, Any] = {
        "person": "P-" + code[-3:],
        "side": "RIGHT",
        "status": "active",
        "pathway": "RC",
        "pathway_name": "rotator-cuff-related shoulder pain",
        "stage": "RC2",
        "stage_name": "Base load",
        "days_in_stage": 22,
        "total_days_in_stage": 22,
        "days_in_episode": 60,
        "usual_days": 35,
        "days_since_onset": None,
        "onset_word": "",
        "review": a_review(),
        "pain": a_pain(3, 2, 2),
        "trend": (2, 2, 3, 2, 2, 1, 2),
        "reasons": (),
        "verdict": NOT_YET,
        "limits": (),
        "cautions": (),
        "as_of": TODAY,
        "clinician": "TK",
    }
    return Standing(code=code, **{**plain, **given})


def a_caseload() -> list[Standing]:
    """Fifteen invented cases in list order, every tier and every odd state among them."""
    return [
        a_standing("NV-110", side="LEFT", pain=a_pain(3, 3, 2), reasons=(
            a_reason("possible red flag", "possible red flag: hot, swollen, feverish, reported this morning",
                     severity=3),)),
        a_standing("NV-121", stage="PO2", stage_name="Protected passive", days_in_stage=19, usual_days=28,
                   pathway="PO", pathway_name="after rotator cuff repair", days_since_onset=33,
                   onset_word="surgery", pain=a_pain(1, 1, 1, ago=1, baseline=1), trend=(1,) * 14,
                   review=a_review(3, 14, 3),
                   limits=("no active lift until Sat 14 Mar", "external rotation to 30 degrees", "sling on"),
                   cautions=("Surgeon's orders prevail.",),
                   reasons=(a_reason("healing limit broken",
                                     "healing limit broken: band rows on day 32 after repair; resisted work "
                                     "opens on day 84", severity=3, days=1),)),
        a_standing("NV-132", side="LEFT", stage="RC1", stage_name="Settle", usual_days=14,
                   pain=a_pain(6, Absence.NOT_ASKED, 8, ago=9), trend=(7, 8, None, 8, 8, 10),
                   reasons=(a_reason("possible red flag", "possible red flag: unrelenting night pain", days=5,
                                     hand=4, action="urgent referral sent"),)),
        a_standing("NV-143", stage="RC3", stage_name="Build", days_in_stage=30, usual_days=42,
                   pain=a_pain(5, 4, 6, ago=0), trend=(2, 2, 2, 3, 2, 2, 5, 6),
                   review=a_review(16, 28, 3), verdict=NOT_YET._replace(word=Word.STEP_BACK, line="flare"),
                   reasons=(a_reason("flare not settling",
                                     "flare not settling: next morning 6, baseline 2, twice; two loads "
                                     "raised 5 days ago", days=1, severity=4),
                            a_reason("review overdue", days=3))),
        a_standing("NV-154", reasons=(a_reason("losing range",
                   "losing range: passive external rotation 60° → 45° → 42°, same rater; other side 65°"),)),
        a_standing("NV-165", side="LEFT", stage="FS2", stage_name="Stiffness-predominant", pathway="FS",
                   pathway_name="frozen shoulder", days_in_stage=104, usual_days=112,
                   pain=a_pain(10, 10, 10, ago=59), trend=(4, 4, None, 3, None, None),
                   review=a_review(-31, 28), verdict=Verdict(Word.UNKNOWN, "all measures stale"),
                   reasons=(a_reason("review overdue", days=31, severity=110),
                            a_reason("nothing recorded", days=38))),
        a_standing("NV-176", review=a_review(-9, 21), reasons=(a_reason("review overdue", days=9),)),
        a_standing("NV-187", pain=a_pain(), trend=(), review=a_review(0, 14),
                   reasons=(a_reason("nothing recorded", "nothing recorded for 23 days", days=2),)),
        a_standing("NV-198", pain=a_pain(2, 1, 1, ago=1), verdict=Verdict(Word.READY, "ready for 6 days"),
                   reasons=(a_reason("ready to step forward",
                                     "ready to step forward for 6 days: rotation strength 78 %", days=6),)),
        a_standing("NV-209", status="closed", side="LEFT", stage="RC4", stage_name="Return and self-manage",
                   verdict=Verdict(Word.NONE, ""), review=a_review(None), reasons=(a_reason("letter owed",
                   "letter owed: discharged 5 days ago", days=5),)),
        a_standing("NV-220", status="on hold", hold_until=TODAY + timedelta(days=9),
                   verdict=Verdict(Word.ON_HOLD, "on hold until Wed 11 Mar")),
        a_standing("NV-231", stage="FX2", stage_name="Controlled motion", onset_word="injury",
                   days_since_onset=30, review=a_review(7, 14, 1)),
        a_standing("NV-242", status="waiting", stage="", stage_name="", days_in_stage=None,
                   total_days_in_stage=None, usual_days=None, pain=a_pain(), trend=(),
                   review=a_review(None), verdict=Verdict(Word.NONE, "")),
        a_standing("NV-253", clinician="AB"),
        a_standing("NV-264", stage="OA3", stage_name="Maintain", pathway="OA"),
    ]  # fmt: skip


class FakeDoor:
    """What the list asks of a door, over standings held in memory."""

    def __init__(self, standings: Sequence[Standing] | None = None, **more: Any) -> None:
        self.cases = list(a_caseload() if standings is None else standings)
        self.cannot_write = READ_ONLY if more.get("read_only") else ""
        self.rules = more.get("rules", {})
        self.today = TODAY
        self.fictional = True
        self.encrypted = False
        self.was_changed = False
        self.new: set[str] = set()
        self.marks: set[str] = set()
        self.readings = 0
        self.backup_age = timedelta(days=2)

    several_readings = Door.several_readings

    def standings(self) -> list[Standing]:
        self.readings += 1
        return list(self.cases)

    def header(self) -> dict[str, Any]:
        return {
            "fictional": True,
            "as_of": TODAY,
            "plays": False,
            "data_until": datetime(2026, 3, 2, 8, 5, tzinfo=UTC),
            "rules": "v1",
            "signed_off": "NOT SIGNED OFF",
            "backup_age": self.backup_age,
            "backup_owed": True,
            "verified": None,
            "unsound": "",
            "views": [("repairs", "po2")],
        }

    def local(self, instant: datetime) -> datetime:
        return instant

    def unwritten(self) -> list[Waiting]:
        return []

    def news(self) -> frozenset[str]:
        return frozenset(self.new)

    def marked(self) -> frozenset[str]:
        return frozenset(self.marks)

    def mark(self, code: str, marked: bool) -> None:
        (self.marks.add if marked else self.marks.discard)(code)

    def changed(self) -> bool:
        was, self.was_changed = self.was_changed, False
        return was


def an_app(door: FakeDoor | None = None, error: Exception | None = None) -> ArmriseApp:
    """The application over a door in memory, or over an opening that fails."""

    def prepare() -> FakeDoor:
        if error is not None:
            raise error
        return door or FakeDoor()

    return ArmriseApp(Opening(prepare=prepare))


async def settled(pilot: Any) -> None:
    """Wait until the caseload is on the screen."""
    board = pilot.app.screen_stack[0]
    for _ in range(400):
        await pilot.pause(0.01)
        if not board.state.startswith("Reading"):
            break
    await settle(pilot)
    await pilot.pause()


@pytest.fixture(autouse=True)
def _utf8_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every test has the same terminal: UTF-8, colours, no narrowing by the environment."""
    for name in list(os.environ):
        if name.startswith(("LC_", "ARMRISE_")) or name in ("NO_COLOR", "LANG", "TEXTUAL_THEME"):
            monkeypatch.delenv(name)
    monkeypatch.setenv("LANG", "C.UTF-8")


@pytest.fixture(autouse=True)
def _no_look_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """The list looks for what others wrote when a test asks, never in the midst of another one."""
    monkeypatch.setattr("armrise.tui.board.reader.POLL_SECONDS", 3600)


@pytest.fixture(scope="session")
def known_standings(demonstration: Path) -> KnownStandings:
    """The standings of the untouched demonstration."""
    return KnownStandings(demonstration, rules())


@pytest.fixture(autouse=True)
def _stand_once(known_standings: KnownStandings, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a hundred tests ask of the untouched demonstration is read and worked out once."""
    monkeypatch.setattr("armrise.store.clinic.standing.stand.stand", known_standings.stand)
    monkeypatch.setattr("armrise.store.caseload.sweep.stand_view", known_standings.stand_view)
    monkeypatch.setattr("armrise.store.caseload.read.some_of_board", known_standings.some_of_board)
    monkeypatch.setattr("armrise.tui.widgets.search.about", known_standings.about)


@pytest.fixture
def door(made: Path, tmp_path: Path) -> Door:
    """A door onto the test's own copy of the demo store."""
    return open_copy(made, tmp_path / "copy.armrise")


@pytest.fixture
def app(door: Door) -> ArmriseApp:
    """The whole application over :func:`door`."""
    return app_on(door)


COMPARED: dict[str, set[str]] = {}
"""The tests that compare a picture, by the test file they stand in."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Function]) -> None:
    """Note what was collected, before any of it is deselected."""
    for item in items:
        of_file = COMPARED.setdefault(item.path.stem, set())
        if "snap_compare" in item.fixturenames:
            of_file.add(item.name)


@pytest.fixture
def snap_compare(snap_compare: Any) -> Iterator[Any]:
    """The picture fixture runs the application itself and wants a loop to be set."""
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    yield snap_compare
    loop.close()
