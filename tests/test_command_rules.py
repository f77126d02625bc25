"""The commands about the rules: what they print and refuse, and nothing is read under other rules."""

from __future__ import annotations

import json
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from armrise.store.rules import read as rulefile
from armrise.store.rules.figure import STATUSES
from armrise.tui.command import commands
from armrise.tui.command import main as command
from armrise.tui.shell import intake
from tests.store.test_rulefile import every_figure
from tests.store.test_ruleupgrade import older


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The clinic's own folder of rules, empty; what was read before is forgotten."""
    monkeypatch.delenv("ARMRISE_RULES", raising=False)
    monkeypatch.setattr("armrise.store.rules.folder.versions.default_folder", lambda: tmp_path / "rules")
    intake._load_rules.cache_clear()
    yield tmp_path / "rules"
    intake._load_rules.cache_clear()


def run(*words: str, typed: str = "") -> Result:
    """One command, the rules read anew, as in a process of its own."""
    intake._load_rules.cache_clear()
    return CliRunner().invoke(commands.cli, ["rules", *words], input=typed)


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    intake._load_rules.cache_clear()
    code = command.run(words)
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_rules_alone_shows_the_rules_in_force_with_counts_and_sources(folder: Path) -> None:
    said = run().output
    assert said.startswith("Rules version 3, NOT SIGNED OFF\nshipped with the program\n")
    stated = Counter(
        figure["status"]
        for path in sorted(rulefile.SHIPPED.glob("*.toml"))
        for figure in every_figure(tomllib.loads(path.read_text(encoding="utf-8")))
    )
    stated["design"] -= 2  # the order of the load classes, and which are without load, are no numbers
    counts = [f"{stated[status]} {status}" for status in STATUSES]
    assert ", ".join(counts) in said
    assert "minimum: 14 days (stays at least this long) [common practice]" in said
    assert max(map(len, said.splitlines())) <= 80
    assert run("show").output == said


def test_a_place_and_a_status_narrow_what_is_shown(folder: Path) -> None:
    said = run("show", "rc2").output
    assert "RC2 Base load" in said
    assert "RC3" not in said
    published = run("show", "AD", "--status", "published").output
    assert "trigger: nerve" in published
    assert "[common practice]" not in published
    assert "allowed is one of figures, response" in run("show", "XY").output


def test_json_has_every_statement(folder: Path) -> None:
    data = json.loads(run("show", "RC2", "--json").output)
    assert (data["version"], data["signed_off"]) == ("3", "NOT SIGNED OFF")
    assert list(data["counts"]) == list(STATUSES)
    minimum = next(row for row in data["rules"] if row["name"] == "minimum")
    assert minimum == {
        "place": ["RC", "RC2"],
        "heading": "RC2 Base load",
        "name": "minimum",
        "value": "14",
        "unit": "days",
        "meaning": "stays at least this long",
        "source": "common practice",
        "status": "common practice",
    }


def test_from_copy_to_signature(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert f"Version 4 lies in {folder / '4'}. It is not in force yet." in run("copy").output
    edit(folder / "4" / "RC.toml", "minimum = { days = 14,", "minimum = { days = 10,")
    assert run("check").output == "version 4: holds together.\n"
    assert run("diff", "shipped", "4").output == (
        "version 3 (NOT SIGNED OFF) -> version 4 (NOT SIGNED OFF)\nRC2, minimum days: 14 -> 10\n"
    )
    assert "Version 4 is in force from now on, NOT SIGNED OFF. 1 difference" in run("adopt", "4").output
    assert "the clinic's own versions: 4, 4 in force since" in run().output
    wrong = run("sign", "--name", "A. Lead", "--on", "2026-03-02", typed="3\n")
    assert wrong.exit_code == 1
    assert "Nothing is signed" in wrong.output
    signed = run("sign", "--name", "A. Lead", "--on", "2026-03-02", typed="4\n")
    assert "Version 4 is signed off by A. Lead on 2026-03-02." in signed.output
    code, out, _ = told(capsys, "list", "--demo")
    assert code == 0
    assert "Rules version 4, signed off by A. Lead on 2026-03-02" in out
    assert "already" in told(capsys, "rules", "sign", "--name", "A. Lead")[2]
    edit(folder / "4" / "RC.toml", "days = 10", "days = 11")
    assert "NOT SIGNED OFF, changed since signed" in told(capsys, "list", "--demo")[1]


def test_check_names_every_fault_and_leaves_with_1(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run("copy")
    edit(folder / "4" / "RC.toml", "minimum = { days = 14,", 'minimum = { days = "ten",')
    edit(folder / "4" / "FS.toml", 'name = "', 'colour = "red"\nname = "')
    for words in (("rules", "check"), ("rules", "check", "4"), ("rules", "check", str(folder))):
        code, out, err = told(capsys, *words)
        assert (code, out) == (1, "")
        lines = err.splitlines()
        assert lines[0].startswith("armrise: version 4, RC.toml, stage RC2, minimum, days: is 'ten', allowed")
        assert "version 4, FS.toml, colour: is not known here" in lines[1]
        assert lines[2].startswith("2 faults.")
    assert told(capsys, "rules", "check", str(folder / "4"))[2].startswith("armrise: RC.toml, stage RC2")


def test_nothing_is_read_under_other_rules_than_the_clinics_own(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run("copy")
    run("adopt", "4")
    edit(folder / "4" / "RC.toml", "minimum = { days = 14,", 'minimum = { days = "ten",')
    for words in (("list", "--demo"), ("case", "BY-003", "--demo"), ("rules",)):
        code, out, err = told(capsys, *words)
        assert (code, out) == (1, "")
        assert "version 4, RC.toml, stage RC2, minimum, days: is 'ten'" in err
        assert "Next: armrise rules check" in err
    assert "version 4, RC.toml" in told(capsys, "rules", "adopt", "4")[2]
    assert told(capsys, "rules", "adopt", "shipped")[0] == 0
    assert told(capsys, "list", "--demo")[0] == 0


def test_another_folder_by_option_and_by_environment(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("copy")
    edit(folder / "4" / "rules.toml", 'version = "4"', 'version = "of the trial"')
    assert "Rules version of the trial" in told(capsys, "list", "--demo", "--rules", str(folder / "4"))[1]
    assert "Rules version 3," in told(capsys, "list", "--demo")[1]
    monkeypatch.setenv("ARMRISE_RULES", str(tmp_path / "nowhere"))
    code, _, err = told(capsys, "list", "--demo")
    assert code == 1
    assert f"{tmp_path / 'nowhere'}: is not there" in err


@pytest.mark.parametrize("day", ["tomorrow", "2999-01-01"])
def test_a_signature_has_a_day_that_has_come(folder: Path, day: str) -> None:
    said = run("sign", "--name", "A. Lead", "--on", day)
    assert said.exit_code == 2
    assert f"--on is {day!r}" in said.output or f"--on is {day}" in said.output


def test_93_older_rules_are_said_to_be_completed_and_are_brought_up_to_date(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The clinic's own rules as the first version copied them, one number changed."""
    own = older(folder, ("RC.toml", "minimum = { days = 14,", "minimum = { days = 10,"))
    assert "Rules version 2, NOT SIGNED OFF, completed from the shipped rules" in run().output
    checked = run("check").output.splitlines()
    assert checked[0] == "version 2: holds together."
    assert checked[1].endswith("parts came later and stand as shipped (armrise rules upgrade):")
    assert "  rules.toml, figures, visit" in checked
    said = run("upgrade").output
    assert "The clinic's own, kept against a shipped change: 0" in said
    assert "  PO, sling until day days: 27 -> 41" in said
    assert "  rules.toml, figures, visit" in said
    assert f"Version 4 lies in {own.path('4')}. It is not in force yet." in said
    assert run("check", "4").output == "version 4: holds together.\n"
    assert "RC2, minimum days: 14 -> 10" in run("diff", "shipped", "4").output
    assert "Version 4 is in force from now on, NOT SIGNED OFF." in run("adopt", "4").output
    code, _, err = told(capsys, "rules", "upgrade")
    assert (code, "there is nothing to upgrade" in err) == (1, True)


def test_findings_that_decide_are_shown_without_codes_or_marks_of_the_file(folder: Path) -> None:
    shown = " ".join((run("show", "RC").output + run("show", "PO").output).split())
    assert "cannot lift to 90 degrees n days after the injury" in shown
    assert "FND" not in shown
    assert "after cuff repair 3.3 is printed" in shown
