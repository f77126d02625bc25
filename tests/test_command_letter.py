"""``armrise letter``: printed, and written for paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.tui.command.main import run
from tests.clinic.demo_records import demo


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(["letter", *words, "--demo"]) == 0
    return capsys.readouterr().out


def test_the_letter_that_is_owed_is_printed_by_code_alone(capsys: pytest.CaptureFixture[str]) -> None:
    said = printed(capsys, "by-087")
    assert "DRAFT, not sent: letter about discharge, BY-087 LEFT, 2 Mar 2026" in said
    assert "The letter of 25 Feb\n  2026 (draft) was recorded without its text." in said
    assert [line[:2] for line in said.splitlines() if line[:1].isdigit()] == [f"{n} " for n in range(1, 9)]
    assert "Rules version 3, NOT SIGNED OFF." in said
    assert not any(case.head.person in said for case in demo().cases)
    assert "letter about progress" in printed(capsys, "BY-018")
    assert "To the patient\n" in printed(capsys, "BY-048", "--about", "missed visits"), "nobody sent this one"
    assert "To the patient, copy to the GP" in printed(capsys, "BY-018", "--about", "missed visits")


def test_it_is_written_as_its_name_ends_and_over_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "letter.html"
    assert run(["letter", "BY-087", "--paper", str(page), "--demo"]) == 0
    assert "Not encrypted" in capsys.readouterr().out
    assert "DRAFT: letter about discharge" in page.read_text(encoding="utf-8")
    assert run(["letter", "BY-087", "--paper", str(page), "--demo"]) == 0, (
        "a letter may be written over a letter"
    )
    other = tmp_path / "other.html"
    other.write_text("mine", encoding="utf-8")
    assert run(["letter", "BY-087", "--paper", str(other), "--demo"]) != 0
    assert other.read_text(encoding="utf-8") == "mine"
    assert run(["letter", "BY-087", "--paper", str(tmp_path / "letter.txt"), "--demo"]) != 0
    assert "ends in .html or .pdf" in capsys.readouterr().err
