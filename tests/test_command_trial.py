"""`armrise rules trial`: versions named, totals, a stop that keeps what was read, nothing put in force."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload import trial
from armrise.store.rules.read import SHIPPED
from armrise.tui.command import ending, main
from tests.test_command import Ran

SINCE = ("--demo", "--from", "2026-02-16")


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))

    def call(*arguments: object) -> Ran:
        capsys.readouterr()
        code = main.run([str(a) for a in arguments])
        return Ran(code, *capsys.readouterr())

    return call


@pytest.fixture
def shorter(tmp_path: Path) -> Path:
    """The shipped rules with ten minimum days in RC2 instead of fourteen, as version 4."""
    folder = tmp_path / "shorter"
    shutil.copytree(SHIPPED, folder)
    text = (folder / "RC.toml").read_text()
    head, stage = text.split('code = "RC2"')
    (folder / "RC.toml").write_text(f'{head}code = "RC2"{stage.replace("days = 14", "days = 10", 1)}')
    common = (folder / "rules.toml").read_text()
    (folder / "rules.toml").write_text(common.replace('version = "3"', 'version = "4"', 1))
    return folder


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six cases, those that change among them, to be quick."""
    every = trial.plan
    monkeypatch.setattr(trial, "plan", lambda store, **days: every(store, **days)[14:20])


def test_a_changed_number_as_text_and_as_json(run: Any, shorter: Path, few: None) -> None:
    ran = run("rules", "trial", shorter, *SINCE)
    assert (ran.code, ran.err) == (0, "")
    assert "new: version 4, NOT SIGNED OFF" in ran.out
    assert "4 case-days would have read differently, on 4 dates, in 1 case\n" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 80
    found = json.loads(run("rules", "trial", shorter, *SINCE, "--json").out)
    assert [one["on"] for one in found["differences"]] == [f"2026-02-{day}" for day in (22, 23, 24, 25)]
    assert {one["code"] for one in found["differences"]} == {"BY-051"}
    assert found["case_days"] == sum(pair["days"] for pair in found["verdicts"])
    assert (found["partial"], found["cases"], found["from"]) == (False, 6, "2026-02-16")


def test_the_other_way_round_is_the_mirror_image(run: Any, shorter: Path, few: None) -> None:
    there = json.loads(run("rules", "trial", shorter, *SINCE, "--json").out)
    back = json.loads(run("rules", "trial", "shipped", "--against", shorter, *SINCE, "--json").out)
    assert [(one["on"], one["old"], one["new"]) for one in there["differences"]] == [
        (one["on"], one["new"], one["old"]) for one in back["differences"]
    ]


def test_identical_rules_show_no_difference(run: Any) -> None:
    ran = run("rules", "trial", "shipped", "--demo", "--from", "2026-02-25")
    assert "no day of any case would have read differently" in ran.out
    assert "of 36 cases" in ran.out


def test_a_stop_prints_what_was_read_and_says_that_it_is_partial(
    run: Any, shorter: Path, few: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, read = trial.everything, []

    def stopped(*given: Any) -> Any:
        read.append(given)
        if len(read) == 3:
            raise KeyboardInterrupt
        return one(*given)

    monkeypatch.setattr(trial, "everything", stopped)
    monkeypatch.setattr(trial, "AT_ONCE", 1)
    ran = run("rules", "trial", shorter, *SINCE)
    assert ran.code == 0
    assert "PARTIAL: stopped after 2 of 6 cases" in ran.out


@pytest.mark.parametrize(("new", "says"), [("9", "version '9'"), ("nowhere", "nowhere")])
def test_a_version_that_is_not_there_is_refused_in_one_sentence(run: Any, new: str, says: str) -> None:
    ran = run("rules", "trial", new, "--demo")
    assert (ran.code, ran.out) == (ending.REFUSED, "")
    assert says in ran.err
    assert len(ran.err.splitlines()) == 1
