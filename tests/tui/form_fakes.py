"""A door onto one invented record in memory, for the tests of the forms that need no store behind them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

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
from armrise.store.database.desk import Draft
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.tui.app.themes import DARK
from armrise.tui.shell.door import Opened, every_entry
from armrise.tui.shell.frame import Frame
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import TODAY, rules

NOW = datetime(2026, 3, 2, 8, 15, tzinfo=UTC)
ZONE = ZoneInfo("Europe/London")


class FakeStore:
    """What a door asks of a store."""

    fictional = True
    read_only = False
    zone = "Europe/London"

    def today(self, instant: datetime) -> date:
        return self.local(instant).date()

    def local(self, instant: datetime) -> datetime:
        return instant.astimezone(ZONE)


class FakeDoor(StoreDoor):
    """Keeps what is written in ``written``; refuses with ``refuse`` when it is set."""

    def __init__(self, record: CaseRecord, standing: Standing, today: date = TODAY) -> None:
        super().__init__(FakeStore(), rules(), "TK", today, lambda: NOW)  # type: ignore[arg-type]
        self.held = record
        self.given = standing
        self.written: list[Entry] = []
        self.seen: list[int | None] = []
        self.confirmed: list[bool] = []
        self.refuse: Exception | None = None
        self.undone: list[str] = []
        self.last: tuple[Entry, ...] = ()
        self.kept: dict[tuple[str, str], Draft] = {}

    def open(self, code: str) -> Opened:
        newest = max((e.id for e in every_entry(self.held)), default=0)
        return Opened(self.held, self.given, newest, self.last)

    def record(self, code: str) -> CaseRecord:
        return self.held

    def standing(self, code: str) -> Standing:
        return self.given

    def append(self, code: str, entries: Any, seen: int | None = None, *, confirmed: bool = False) -> str:
        self.seen.append(seen)
        self.confirmed.append(confirmed)
        if self.refuse:
            refusal, self.refuse = self.refuse, None
            raise refusal
        self.written += entries
        return f"{code}: {len(entries)} written"

    def keep_unwritten(self, code: str, form: str, fields: Any, at: datetime | None = None) -> None:
        self.kept[code, form] = Draft(at or self.now(), dict(fields))

    def left_unwritten(self, code: str, form: str) -> Draft | None:
        return self.kept.get((code, form))

    def forget_unwritten(self, code: str, form: str) -> None:
        self.kept.pop((code, form), None)

    def undo(self, code: str) -> str:
        self.undone.append(code)
        return f"{code}: withdrawn"


class FormApp(Frame):
    """An application that shows one form and remembers what it was dismissed with."""

    def __init__(self, screen: Any) -> None:
        super().__init__()
        self.form = screen
        self.result: Any = "not dismissed"

    def on_mount(self) -> None:
        self.register_theme(DARK)
        self.theme = DARK.name
        self.push_screen(self.form, self.keep)

    def keep(self, result: Any) -> None:
        self.result = result


def with_entries(record: CaseRecord, *more: Entry) -> CaseRecord:
    """``record`` and further entries."""
    for entry in more:
        name = FIELD_OF_KIND[entry.KIND]
        record = replace(record, **{name: (*getattr(record, name), entry)})
    return record


def criterion(state: Truth, text: str = "active flexion", **more: Any) -> CriterionResult:
    """One opened criterion."""
    known = {"needed": "at least 90 % of other side", "observed": "96 %", "observed_on": date(2026, 2, 24)}
    source = {"source": "common practice", "status": "common practice"}
    return CriterionResult(text=text, state=state, **{**known, **source, **more})


def reason(code: str, name: str, tier: str, rank: int = 1) -> Reason:
    """One live reason of two days."""
    sentence = f"{name}: for two days"
    return Reason(code, name, rank, tier, 2, 2, date(2026, 2, 28), sentence)


def standing(
    record: CaseRecord,
    stage: str,
    name: str,
    word: Word = Word.READY,
    *,
    reasons: tuple[Reason, ...] = (),
    criteria: tuple[CriterionResult, ...] = (),
    line: str = "",
    **more: Any,
) -> Standing:
    """A standing of ``record`` as the computation would hand it to a form."""
    verdict = Verdict(word, line, criteria=criteria, rule_version="1")
    known: dict[str, Any] = {
        "code": record.code,
        "person": record.person,
        "side": record.side,
        "status": "active",
        "pathway": record.pathway,
        "pathway_name": "",
        "stage": stage,
        "stage_name": name,
        "days_in_stage": 30,
        "total_days_in_stage": 30,
        "days_in_episode": 40,
        "usual_days": 35,
        "days_since_onset": None,
        "onset_word": "",
        "review": Review(date(2026, 3, 17), 21, 0, 0.0, None),
        "pain": Pain(3, 2, 2, date(2026, 2, 28), 2, 2),
        "trend": (2, 2, 2),
        "reasons": reasons,
        "verdict": verdict,
        "limits": (),
        "cautions": (),
        "as_of": TODAY,
    }
    return Standing(**{**known, **more})
