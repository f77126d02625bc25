"""The patient's sheet and the file of patient words on the command line."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from armrise.store.rules.words.as_file import as_file
from armrise.tui.command.main import run
from armrise.tui.shell import intake
from armrise.tui.shell.wordsfile import ASKED, FILE, words_path
from tests.clinic.build import rules

GERMAN = Path(__file__).parent / "store" / "words" / "german.toml"


@pytest.fixture
def words_of_ones_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Where a clinic's words lie, for this test alone: rules are read once a process."""
    path = tmp_path / FILE
    monkeypatch.setenv(ASKED, str(path))
    intake._load_rules.cache_clear()
    yield path
    intake._load_rules.cache_clear()


def done(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    assert run(list(words)) == code
    told = capsys.readouterr()
    return told.err if code else told.out


def test_the_sheet_is_printed_in_text_and_says_that_the_case_is_invented(
    capsys: pytest.CaptureFixture[str],
) -> None:
    said = done(capsys, "sheet", "--demo", "by-018")
    lines = said.splitlines()
    assert lines[0] == "FICTIONAL: nobody has this shoulder."
    assert lines[2:4] == ["Your RIGHT shoulder, Mon 2 Mar 2026", "BY-018"]
    assert "  - 3 sets of 10 to 15, band grade 3, 3 times a week; effort 5 of 10" in lines
    assert "Mon 2 Mar   ___________  ___________________  _________________  __________  ___________" in lines
    assert max(map(len, lines)) <= 90
    later = done(capsys, "sheet", "--demo", "BY-018", "--from", "2026-03-05")
    assert "2026-03-05: then row by row" in later


def test_it_is_written_for_paper_over_nothing_but_a_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sheet.html"
    for large in ([], ["--large"]):
        assert "sheet.html" in done(capsys, "sheet", "--demo", "BY-018", "--paper", str(path), *large)
    assert "BY-018" in path.read_text(encoding="utf-8")
    path.write_text("mine", encoding="utf-8")
    assert "sheet.html" in done(capsys, "sheet", "--demo", "BY-018", "--paper", str(path), code=1)
    assert path.read_text(encoding="utf-8") == "mine"


def test_it_is_in_the_words_of_a_file_or_in_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = done(capsys, "sheet", "--demo", "BY-018", "--words", str(GERMAN))
    assert "Ihre RECHTE Schulter, Mo, 2. März 2026" in said
    assert "Keep" not in said
    path = tmp_path / "words.toml"
    path.write_text(GERMAN.read_text(encoding="utf-8").replace('keep = "', 'kep = "'), encoding="utf-8")
    refused = done(capsys, "sheet", "--demo", "BY-018", "--words", str(path), code=1)
    assert refused.startswith("armrise: words.toml: pain, kep: is not known, allowed are")


def test_the_words_are_printed_as_a_file_and_checked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words_of_ones_own: Path
) -> None:
    printed = done(capsys, "words")
    assert printed == as_file(rules())
    assert tomllib.loads(printed)["language"] == "en"
    mine = tmp_path / "mine.toml"
    mine.write_text(printed, encoding="utf-8")
    assert done(capsys, "words", "--check", str(mine)).splitlines() == [
        "mine.toml is whole, in the language en.",
        f"To have everything said in it, put it at {words_of_ones_own}",
    ]
    assert "It names 5 of 24 exercises" in done(capsys, "words", "--check", str(GERMAN))


def test_a_clinics_own_words_are_said_everywhere(
    capsys: pytest.CaptureFixture[str], words_of_ones_own: Path
) -> None:
    words_of_ones_own.write_text(
        'language = "en"\n[sheet]\nring = "Ring the clinic: 0999 12"\n', encoding="utf-8"
    )
    assert "Ring the clinic: 0999 12" in done(capsys, "sheet", "--demo", "BY-018")


def test_words_that_are_refused_keep_nobody_from_the_list(
    capsys: pytest.CaptureFixture[str], words_of_ones_own: Path
) -> None:
    words_of_ones_own.write_text('language = "de"\n', encoding="utf-8")
    assert "BY-018" in done(capsys, "list", "--demo")
    said = "armrise: words.toml: dates, weekdays, 1: is missing, needed is what the English says: 'Mon'.\n"
    assert done(capsys, "sheet", "--demo", "BY-018", code=1) == said
    assert "language" in done(capsys, "words")  # to begin anew
    assert "Ihre RECHTE" in done(capsys, "sheet", "--demo", "BY-018", "--words", str(GERMAN))


def test_words_named_by_the_environment_are_missed(
    capsys: pytest.CaptureFixture[str], words_of_ones_own: Path
) -> None:
    assert words_path() == words_of_ones_own
    assert done(capsys, "sheet", "--demo", "BY-018", code=1) == "armrise: words.toml: is not there.\n"
