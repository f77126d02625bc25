"""The demo caseload on its clinic date: order, live reasons with severity and days open, tier and verdict.

Source of the expected values: the rows of ruling 90 with its changes in 94 and 95, else those of the clinic's
practice notes, section 9; severity and days of "red-flag question due" and "range not measured" by rulings
63, 71 and 94; BY-012 put in hand three days before (ruling 46). The rows are typed here by hand; the standing
is computed from the entries of ``demo_caseload.json`` alone. Its dates are held by ``test_demo_calendar``.

``demo_standing.json`` beside this file is the computed standing in full. When it changes, read the change
line by line and write it anew with ``ARMRISE_WRITE_SNAPSHOT=1 pytest tests/clinic/test_demo_order.py``.
"""

from __future__ import annotations

import json
import os
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from armrise.store.caseload.read import standings as through_store
from armrise.store.caseload.taking.take import take_whole
from armrise.store.clinic.case.standing import CriterionResult, Reason, Standing
from armrise.store.clinic.standing.stand import stand
from armrise.store.clinic.standing.triage import order
from armrise.store.database.place import Store
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.paperwork import Correction, Reopen
from armrise.store.record.kinds.plan import InHand, Override, Step
from tests.clinic.build import rules
from tests.clinic.demo_records import demo, records

TODAY = date(2026, 3, 2)
SNAPSHOT = Path(__file__).with_name("demo_standing.json")
TIER = {"A": "today", "B": "harm if left", "C": "contact owed", "D": "move on", "-": "none"}


class Row(NamedTuple):
    """A row of the practice notes: live reasons as (code, severity, days open), ``held`` those in hand."""

    code: str
    stage: str
    days_in_stage: int | None
    tier: str
    reasons: tuple[tuple[str, int, int], ...]
    verdict: str
    held: tuple[str, ...] = ()


ROWS = (
    Row("BY-007", "RC2", 24, "A", (("RED", 3, 0), ("MSU", 2, 0)), "REFER"),
    Row("BY-015", "AD3", 17, "A", (("INJ", 2, 2),), "REFER"),
    Row("BY-003", "PO2", 19, "A", (("LIM", 3, 1),), "NOT YET"),
    Row("BY-012", "RC1", 17, "A", (("RED", 2, 5),), "REFER", held=("RED",)),
    Row("BY-096", "FX2", 14, "B", (("MSU", 1, 0),), "NOT YET"),
    Row("BY-018", "RC3", 31, "B", (("FLA", 4, 1),), "NOT YET"),
    Row("BY-021", "OA2", 41, "B", (("FLA", 2, 3),), "NOT YET"),
    Row("BY-024", "PO2", 17, "B", (("LOST", 17, 4), ("OVD1", 21, 3), ("SIL", 17, 6)), "NOT YET"),
    Row("BY-105", "AD1", 15, "B", (("LOST", 10, 3),), "UNKNOWN"),
    Row("BY-030", "RC1", 26, "B", (("STF", 3, 3),), "NOT YET"),
    Row("BY-027", "RC2", 38, "B", (("STF", 2, 3),), "NOT YET"),
    Row("BY-036", "FX3", 21, "B", (("VIS", 2, 3), ("WRS", 2, 3), ("SCR", 3, 3)), "REFER"),
    Row("BY-033", "RC3", 40, "B", (("WRS", 1, 3), ("SCR", 3, 3)), "NOT YET"),
    Row("BY-039", "RC1", 6, "B", (("SCR", 6, 6),), "NOT YET"),
    Row("BY-102", "PO1", 10, "B", (("SCR", 5, 5),), "NOT YET"),
    Row(
        "BY-042",
        "FS2",
        90,
        "C",
        (("OVD2", 110, 31), ("SIL", 59, 38), ("ASK", 17, 17), ("NRM", 59, 3)),
        "UNKNOWN",
    ),
    Row("BY-045", "OA3", 116, "C", (("OVD2", 107, 60), ("ASK", 74, 74)), "UNKNOWN"),
    Row("BY-048", "RC2", 45, "C", (("DNA", 2, 6), ("OVD1", 47, 10), ("SIL", 31, 15)), "UNKNOWN"),
    Row("BY-051", "RC2", 18, "C", (("DNA", 1, 3),), "UNKNOWN"),
    Row("BY-060", "FS1", 45, "C", (("OVD1", 42, 6),), "NOT YET"),
    Row("BY-057", "RC4", 38, "C", (("OVD1", 35, 10), ("PRM", 4, 4)), "UNKNOWN"),
    Row("BY-054", "PO4", 14, "C", (("OVD1", 14, 3),), "NOT YET"),
    Row("BY-066", "OA3", 40, "C", (("SIL", 40, 12),), "UNKNOWN"),
    Row("BY-063", "RC3", 24, "C", (("SIL", 24, 3),), "UNKNOWN"),
    Row("BY-069", "RC2", 31, "D", (("RDY", 6, 6),), "READY"),
    Row("BY-075", "AD2", 31, "D", (("RDY", 3, 3), ("PRM", 3, 3)), "READY"),
    Row("BY-072", "PO3", 45, "D", (("RDY", 3, 3),), "READY"),
    Row("BY-108", "RC2", 33, "D", (("RDY", 3, 3),), "READY"),
    Row("BY-078", "RC2", 68, "D", (("LOW", 72, 5), ("STL", 121, 12)), "NOT YET"),
    Row("BY-081", "FS1", 94, "D", (("STL", 111, 10), ("PRM", 10, 10)), "REFER"),
    Row("BY-084", "RC3", 25, "D", (("PRM", 10, 10),), "NOT YET"),
    Row("BY-087", "RC4", None, "D", (("LTR", 5, 5),), "NONE"),
    Row("BY-090", "RC3", 27, "D", (("WAT", 11, 3),), "NOT YET"),
    Row("BY-093", "RC2", 17, "-", (), "ON HOLD"),
    Row("BY-099", "FS2", 60, "-", (), "NOT YET"),
    Row("BY-100", "RC1", 3, "-", (), "UNKNOWN"),
)
"""In the expected order of the list (ruling 90, "Expected order")."""

LINES = {
    "BY-003": "limit",
    "BY-015": "second event",
    "BY-018": "load back first: scaption raise",
    "BY-021": "pain not settling",
    "BY-027": "range being lost",
    "BY-030": "range being lost",
    "BY-039": "night pain",
    "BY-060": "night pain",
    "BY-078": "strength",
    "BY-096": "day 42",
    "BY-099": "32 of target 45",
    "BY-102": "day 14",
    "BY-105": "not seen since day 5",
}
"""Words the verdict's first line must hold, where the practice notes name the first unmet criterion."""


@cache
def standings() -> dict[str, Standing]:
    """The computed standing of every demo case."""
    return {r.code: stand(r, rules(), TODAY) for r in records(demo())}


@cache
def listed() -> tuple[Standing, ...]:
    """The demo cases in list order."""
    return tuple(order(list(standings().values())))


def test_demo_has_the_36_cases_in_the_order_of_the_practice_notes() -> None:
    # ruling 90, expected order
    assert [s.code for s in listed()] == [r.code for r in ROWS]
    assert len(ROWS) == 36


@pytest.mark.parametrize("row", ROWS, ids=[r.code for r in ROWS])
def test_demo_row(row: Row) -> None:
    # ruling 90, rows
    standing = standings()[row.code]
    assert tuple((r.code, r.severity, r.days_open) for r in standing.reasons) == row.reasons
    assert tuple(r.code for r in standing.reasons if r.in_hand) == row.held
    assert standing.tier == TIER[row.tier]
    assert standing.verdict.word == row.verdict
    assert standing.stage == row.stage
    if row.days_in_stage is not None:
        assert standing.total_days_in_stage == row.days_in_stage


@pytest.mark.parametrize("code", sorted(LINES))
def test_demo_first_line_names_what_the_notes_name(code: str) -> None:
    # ruling 90; practice notes, section 9, column "verdict"
    assert LINES[code].lower() in standings()[code].verdict.line.lower()


def test_demo_list_reads_the_same_whatever_order_the_cases_come_in() -> None:
    # practice notes 2.3: total order, reproducible
    backwards = order(list(reversed(list(standings().values()))))
    assert [s.code for s in backwards] == [r.code for r in ROWS]


def test_demo_list_through_the_store_is_the_same(tmp_path: Path) -> None:
    # nothing but the reader stands between: windowed sessions must not change a standing
    file = demo()
    store = Store.create(tmp_path / "demo.db", zone=file.zone, fictional=True, clinic_date=TODAY)
    assert len(take_whole(store, file).new_cases) == len(ROWS)
    assert [_case(s) for s in through_store(store, rules(), TODAY)] == [_case(s) for s in listed()]


def test_demo_holds_the_histories_the_notes_ask_for() -> None:
    # practice notes, section 9, last lines before the walk-through
    kinds = {c.head.code: c.entries for c in demo().cases}
    every = [e for entries in kinds.values() for e in entries]
    assert any(isinstance(e, Correction) and "LEFT" in e.reason for e in kinds["BY-027"])
    assert any(isinstance(e, Override) for e in kinds["BY-069"])
    assert any(isinstance(e, Session) and e.days_late == 6 for e in every)
    assert [s.direction for s in kinds["BY-078"] if isinstance(s, Step)][-2:] == ["back", "forward"]
    assert any(isinstance(e, Reopen) for e in kinds["BY-093"])
    assert [e.until for e in kinds["BY-012"] if isinstance(e, InHand)] == [date(2026, 3, 6)]


# -- the snapshot ----------------------------------------------------------------------------------------


def _criterion(c: CriterionResult) -> str:
    seen = f" ({c.observed_on.isoformat()})" if c.observed_on else ""
    opens = f", opens {c.opens_on.isoformat()}" if c.opens_on else ""
    return f"{c.state}: {c.text}: {c.observed}{seen}{opens}"


def _reason(r: Reason) -> str:
    held = f", in hand until {r.in_hand_until.isoformat()}" if r.in_hand_until else ""
    return f"{r.name} ({r.severity}, {r.days_open} days{held}): {r.sentence}"


def _case(s: Standing) -> dict[str, Any]:
    due = s.review.due.isoformat() if s.review.due else None
    booked = f"booked {s.review.booked.isoformat()}" if s.review.booked else "none booked"
    triple = "/".join("-" if p is None else str(p) for p in (s.pain.during, s.pain.later, s.pain.morning))
    return {
        "case": f"{s.code} {s.side} {s.stage} {s.stage_name}",
        "status": s.status,
        "tier": s.tier,
        "days": f"in stage {s.days_in_stage}, total {s.total_days_in_stage}, in episode {s.days_in_episode},"
        f" since {s.onset_word or 'onset'} {s.days_since_onset}",
        "review": f"due {due}, interval {s.review.interval}, overdue {s.review.overdue_days}, {booked}",
        "pain": f"{triple}, {s.pain.days_ago} days ago, baseline {s.pain.baseline}",
        "last data": s.last_data.isoformat() if s.last_data else None,
        "reasons": [_reason(r) for r in s.reasons],
        "verdict": f"{s.verdict.word}: {s.verdict.line}",
        "blocks": [_criterion(c) for c in s.verdict.blocks],
        "criteria": [_criterion(c) for c in s.verdict.criteria],
        "also missing": list(s.verdict.also_missing),
        "limits": list(s.limits),
        "cautions": list(dict.fromkeys([*s.verdict.cautions, *s.cautions])),
    }


def test_demo_standing_is_the_reviewed_one() -> None:
    # computed data, reviewed line by line when it changes; no outside source beyond the rows above
    now = json.dumps([_case(s) for s in listed()], indent=1, ensure_ascii=False) + "\n"
    if os.environ.get("ARMRISE_WRITE_SNAPSHOT"):
        SNAPSHOT.write_text(now, encoding="utf-8")
    assert json.loads(SNAPSHOT.read_text(encoding="utf-8")) == json.loads(now)
