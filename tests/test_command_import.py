"""A spreadsheet taken on the command line: listed, asked, written; the exit code says what was refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.store.caseload.read import case
from armrise.store.database.place import Store
from armrise.store.exchange.sheets.reading.forms import examples
from armrise.tui.command import main as command
from armrise.tui.command.store import sheet
from armrise.tui.command.store.sheet import HOW_TO_MAP
from tests.between import put_between

README = Path(__file__).parents[1] / "README.md"
LIST = """Code,Side,Pathway,Registered,First visit,Worst pain,Surname
S-001,L,FS,2026-01-05,2026-01-05,3/10,Doe
S-002,R,RC,2026-01-05,2026-01-05,6-7,Doe
"""


def cells() -> str:
    """The table of the README: cells as they stand, and what the readers make of them."""
    told = [f"| {what} | {f'`{cell}`' if cell else 'empty'} | {words} |" for what, cell, words in examples()]
    return "\n".join(["| column | cell | read as |", "|---|---|---|", *told, ""])


def test_the_table_of_cells_says_what_is_read() -> None:
    """``python -m tests.test_command_import`` puts it there."""
    assert f"<!-- cells -->\n{cells()}<!-- /cells -->" in README.read_text(encoding="utf-8")


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A store, and a list beside it."""
    Store.create(tmp_path / "own.armrise", zone="Europe/London", author="TK")
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    return tmp_path


def run(own: Path, *more: str) -> int:
    return command.run(["import", str(own / "list.csv"), "--store", str(own / "own.armrise"), *more])


def test_a_store_that_remembers_nobody_is_written_by_who_is_signed_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = Store.create(tmp_path / "own.armrise", zone="Europe/London")
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    monkeypatch.setenv("ARMRISE_AUTHOR", "QQ")
    assert run(tmp_path, "--yes") == 1
    assert {entry.author for entry in case(store, "S-001").measures} == {"QQ"}


def test_a_dry_run_lists_every_row_and_writes_nothing(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(own, "--dry-run") == 1
    told = capsys.readouterr().out
    assert "a dry run, nothing is written." in told
    assert 'G "Surname"' in told
    assert "Doe" not in told
    assert "row 2  S-001  taken: new case, LEFT FS" in told
    assert 'F "Worst pain": "3/10" is read as 3' in told
    assert 'row 3  S-002  refused: F "Worst pain": "6-7" holds two values' in told
    assert "2 rows: 1 taken (1 with a cell read as shown), 1 refused." in told
    assert "To be written: 1 new case and 2 entries." in told
    assert command.run(["case", "S-001", "--store", str(own / "own.armrise")]) == 1


def test_what_is_confirmed_is_written_and_the_same_file_adds_nothing(
    own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(own, "--yes", "--author", "RS") == 1
    assert "Written: 1 new case and 2 entries" in capsys.readouterr().out
    one = case(Store.open(own / "own.armrise"), "S-001")
    assert {entry.author for entry in (*one.visits, *one.measures)} == {"RS"}
    assert run(own, "--yes") == 1
    assert "Nothing is new" in capsys.readouterr().out


def test_nothing_is_written_without_a_yes(
    own: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sheet.click, "confirm", lambda *_, **__: (_ for _ in ()).throw(sheet.click.Abort()))
    assert run(own) == 130
    with Store.open(own / "own.armrise").reading() as connection:
        assert connection.execute("SELECT count(*) FROM cases").fetchone() == (0,)


def test_the_map_is_shown_changed_and_taken(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(own, "--show-map") == 0
    shown = capsys.readouterr().out
    assert '"worst pain" = "worst pain"' in shown
    (own / "map.toml").write_text(shown.replace('= "worst pain"', '= "rest pain"'), encoding="utf-8")
    assert run(own, "--map", str(own / "map.toml"), "--yes") == 1
    assert case(Store.open(own / "own.armrise"), "S-001").measures[0].name == "rest_pain"


def test_columns_that_do_not_say_enough_are_shown_with_what_to_do(
    own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (own / "list.csv").write_text("Side,Pain\nL,3\nR,4\n", encoding="utf-8")
    assert run(own, "--dry-run") == 1
    told = capsys.readouterr()
    assert HOW_TO_MAP[0] in told.out
    assert 'B "Pain"' in told.out
    assert told.err == "armrise: No column is the case code.\n" or "No column is the case code" in told.err


def test_every_meaning_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.run(["import", "--meanings"]) == 0
    told = capsys.readouterr().out
    assert "  passive external rotation, other side\n" in told
    assert "  leave out\n" in told


if __name__ == "__main__":
    put_between(README, "cells", cells())
