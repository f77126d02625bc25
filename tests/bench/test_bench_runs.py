"""The benchmarks run and say ratios; how large those are is no matter of a test."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest

from tests.bench import (
    audit_run,
    board_read,
    command_line,
    first_frame,
    kept_list,
    keys,
    memory,
    rules_flat,
    sheets,
    simulated_clinic,
    spread,
    trial_run,
    writing,
)
from tests.bench.large_store import TODAY, make
from tests.tui.conftest import a_caseload


@pytest.fixture
def no_round_to_warm_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Processes are started once, where one that measures starts them once more before."""
    monkeypatch.setattr(spread, "UNCOUNTED", 0)


def test_a_round_to_warm_up_comes_first_and_is_not_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spread, "UNCOUNTED", 1)
    turns: list[str] = []
    took = spread.by_turns(2, lambda: turns.append("one"), lambda: turns.append("other"))
    assert turns == ["one", "other"] * 3
    assert [len(seconds) for seconds in took] == [2, 2]


def ratios(printed: str) -> list[float]:
    return [float(found) for found in re.findall(r"^ratio .*?  ?(\d+\.\d+)", printed, re.MULTILINE)]


def test_the_reading_of_the_board_is_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board_read.report(10, 12, 1, tmp_path)
    found = ratios(capsys.readouterr().out)
    assert len(found) == 4
    assert all(one >= 0 for one in found)


def test_a_trial_run_is_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = trial_run.report(2, 6, 1, tmp_path)
    printed = capsys.readouterr().out
    assert len(ratios(printed)) == 3
    assert len(re.findall(r"^case-days a second +[1-9]\d* in", printed, re.MULTILINE)) == 2
    assert len(found) == 3


def test_an_audit_is_measured(capsys: pytest.CaptureFixture[str]) -> None:
    assert audit_run.report(2, 6, 1) > 0
    assert len(ratios(capsys.readouterr().out)) == 1


def test_check_ins_are_measured_until_the_list_has_changed(capsys: pytest.CaptureFixture[str]) -> None:
    found = writing.report({3: 50}, 4, 1)
    assert len(ratios(capsys.readouterr().out)) == 1
    assert [figure.unit for figure in found] == ["ms", ""]
    assert all(figure.measured > 0 for figure in found)


def test_how_flat_the_rules_are_is_measured(capsys: pytest.CaptureFixture[str]) -> None:
    found = rules_flat.figures(2, 12, 1)
    looks = re.findall(r"^  looks a case  (\d+) \(day by day (\d+)\)", capsys.readouterr().out, re.MULTILINE)
    assert len(found) == 2
    assert all(figure.measured > 0 for figure in found)
    assert len(looks) == 4
    assert all(0 < int(asked) <= int(days) + 30 for asked, days in looks)


def test_a_spreadsheet_is_measured_beside_the_bare_writing_of_its_rows() -> None:
    took = sheets.child(400)
    assert took["taken"] > took["bare"] > 0
    assert took["held"] > 10


def test_the_large_store_holds_what_it_says(tmp_path: Path) -> None:
    store = make(tmp_path / "large", 10, 12)
    with store.reading() as connection:
        (check_ins,) = connection.execute("SELECT count(*) FROM session").fetchone()
        (newest,) = connection.execute("SELECT max(happened_on) FROM session").fetchone()
    assert check_ins == 120
    assert newest < TODAY.isoformat()
    assert len(board_read.by_hand(store)) == 50


def test_a_simulated_clinic_says_its_figures_with_diaries_and_without(
    capsys: pytest.CaptureFixture[str],
) -> None:
    simulated_clinic.main(["1", "2", "12", "--why"])
    printed = capsys.readouterr().out
    assert printed.count("looks that said READY") == 2
    assert printed.count("flares shown in") == 1


async def test_keys_are_measured_beside_those_of_an_empty_application(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(keys, "SEARCHED", 0)
    took = await keys.measure(
        a_caseload(), 1, [keys.LIST[0], keys.Step("enter", "case", keys.SCREENS, "enter")]
    )
    assert set(took) == {"cursor down", "case"}
    assert all(one > 0 for each in took.values() for one in (*each.seconds, *each.against))
    assert keys.middle(took, keys.SCREENS) > 0


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is asked of the kernel's files")
def test_memory_is_measured_beside_that_of_an_empty_application(monkeypatch: pytest.MonkeyPatch) -> None:
    held = memory.held()
    assert 10_000_000 < held < 10_000_000_000
    monkeypatch.setattr(memory, "asked", lambda *store: held * (3 if store else 2))
    (figure,) = memory.figures(1, (3,))
    assert figure.measured == 1.5
    assert "3 cases x 1 check-ins" in figure.row


@pytest.mark.usefixtures("no_round_to_warm_up")
def test_the_kept_list_is_measured(demonstration: Path, tmp_path: Path) -> None:
    store = Path(shutil.copy(demonstration, tmp_path / "demo.armrise"))
    took = kept_list.measure(store, 36, 1)
    assert [len(found) for found in took[1:]] == [1, 1, 1, 1]
    assert len(kept_list.figures_of(took)) == 3


@pytest.mark.usefixtures("no_round_to_warm_up")
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="there is no pseudo-terminal here")
def test_the_first_frame_is_measured(capsys: pytest.CaptureFixture[str]) -> None:
    first_frame.main(["1"])
    assert len(ratios(capsys.readouterr().out)) == 8


@pytest.mark.usefixtures("no_round_to_warm_up")
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="there is no pseudo-terminal here")
def test_commands_that_print_are_measured() -> None:
    found = command_line.figures(1)
    assert [figure.what for figure in found] == [
        f"`armrise {words}` / bare interpreter" for words in ("--version", "list", "keys")
    ]
    assert all(figure.measured > 1 for figure in found)
