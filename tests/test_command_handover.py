"""The handover sheet on the command line: cases by code, or those marked on the list."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.store.database import desk
from armrise.tui.command.main import run
from armrise.tui.shell.intake import demo_store
from tests.clinic.demo_records import demo


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(["handover", *words]) == 0
    return capsys.readouterr().out


def test_a_sheet_holds_what_a_colleague_needs_and_no_name(capsys: pytest.CaptureFixture[str]) -> None:
    said = printed(capsys, "BY-018", "BY-012", "BY-018", "--demo")
    lines = said.splitlines()
    assert lines[:3] == [
        "FICTIONAL CASELOAD: nobody in it exists.",
        "armrise, Mon 2 Mar 2026, data as of 07:55 on Mon 2 Mar",
        "Rules version 3, NOT SIGNED OFF",
    ]
    assert "HANDOVER, 2 cases" in lines
    assert said.index("BY-012 RIGHT") < said.index("BY-018 RIGHT"), "in the order of the list"
    for line in (
        "BY-018 RIGHT, RC3 Build, day 31 of usual 42; NOT YET",
        "     do: at 09:20 today, lower scaption raise and band row",
        "     pain during 5, later 4, next morning 6, 2 days ago",
        "     next visit: booked today 09:20; review due in 16 days",
        "     in hand until Fri 6 Mar: possible red flag (urgent referral sent, answer",
        "This list supports clinical judgement and never replaces it.",
    ):
        assert line in lines
    assert max(map(len, lines)) <= 80
    assert not any(case.head.person in said for case in demo().cases)
    assert "closed" not in printed(capsys, "BY-087", "--demo")


def test_marked_cases_or_where_to_mark_them_or_a_code_nobody_has(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "No case is marked: Space on the list marks one" in printed(capsys, "--demo")
    store = demo_store(tmp_path, demo().clinic_date)
    desk.mark(store, "TK", "BY-027", True)
    desk.mark(store, "MB", "BY-018", True)
    monkeypatch.setenv("ARMRISE_AUTHOR", "TK")
    said = printed(capsys, "--store", str(store.path))
    assert "HANDOVER, 1 case\n\nBY-027 RIGHT" in said
    assert run(["handover", "BY-999", "--demo"]) == 1
    assert 'there is no case "BY-999"' in capsys.readouterr().err
