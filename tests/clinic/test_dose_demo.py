"""The demo programmes as data and as text: blame and deload of BY-018 (practice note 9)."""

from __future__ import annotations

import json

import pytest

from armrise.tui.command.main import run


def programme(code: str, capsys: pytest.CaptureFixture[str]) -> dict[str, dict[str, object]]:
    """The programme of a demo case as ``armrise case CODE --json`` prints it, by exercise."""
    assert run(["case", code, "--demo", "--as-of", "2026-03-02", "--json"]) == 0
    return {row["exercise"]: row for row in json.loads(capsys.readouterr().out)["programme"]}


def test_two_loads_raised_together_both_deload_and_the_third_exercise_stays(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = programme("BY-018", capsys)
    told = {name: (row["proposal"]["word"], row["proposal"]["dose"]["words"]) for name, row in found.items()}  # type: ignore[index]
    assert told == {
        "side-lying external rotation": ("HOLD", "3 x 10 at 1.5 kg"),
        "scaption raise": ("DELOAD", "3 x 8 at 1.5 kg"),
        "band row": ("DELOAD", "3 x 10, band 3"),
    }
    proposal = found["scaption raise"]["proposal"]
    assert proposal["condition"] == "not before a morning of 3 or less"  # type: ignore[index]
    assert "raised last: scaption raise (Wed 25 Feb), band row (Wed 25 Feb)" in proposal["reason"]  # type: ignore[index]
    assert found["scaption raise"]["last_load_increase"] == "2026-02-25"


@pytest.mark.parametrize(
    ("code", "exercise", "word"),
    [
        ("BY-069", "side-lying external rotation", "REPS"),
        ("BY-084", "scaption raise", "REPS"),
        ("BY-021", "band row", "HOLD"),
        ("BY-007", "side-lying external rotation", "STOP ITEM"),
        ("BY-042", "doorway stretch, held", "REASSESS"),
        ("BY-100", "table slide", "WAIT"),
    ],
)
def test_proposals_of_the_demo(
    code: str, exercise: str, word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert programme(code, capsys)[exercise]["proposal"]["word"] == word  # type: ignore[index]


def test_the_text_of_a_case_prints_each_proposal(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["case", "BY-018", "--demo", "--as-of", "2026-03-02"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "scaption raise, 3 x 8 at 2 kg, moderate resisted work proposed: DELOAD 3 x 8 at 1.5 kg:" in shown
    assert "not before a morning of 3 or less" in shown
