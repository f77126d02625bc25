"""A store written as a caseload file, and files taken into a store that has their cases, by the commands."""

from __future__ import annotations

import json
import shutil
import stat
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
from jsonschema import Draft202012Validator

from armrise.store.caseload.read import codes
from armrise.store.database.driver import Driver
from armrise.store.database.place import Store
from armrise.store.exchange.out.schema_caseload import caseload_schema
from armrise.store.verify.verify import verify
from armrise.tui.command import main as command
from tests.test_command import CASE, PLACING, VISIT, write


class Ran(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def ran(*arguments: object) -> Ran:
        code = command.run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return Ran(code, out, err)

    return ran


@pytest.fixture(scope="module")
def shared(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of the demonstration that is only read."""
    return Path(shutil.copy(made, tmp_path_factory.mktemp("shared") / "demo.armrise"))


@pytest.fixture
def two(tmp_path: Path, run: Run) -> Path:
    """A store with one case."""
    store = tmp_path / "two.armrise"
    assert (
        run(
            "load", write(tmp_path / "two.json", [CASE | {"entries": [VISIT, PLACING]}]), "--store", store
        ).code
        == 0
    )
    return store


# export


def test_a_store_is_written_and_taken_again_and_gives_the_same_file(
    run: Run, shared: Path, tmp_path: Path
) -> None:
    file, new = tmp_path / "all.json", tmp_path / "new.armrise"
    ran = run("export", file, "--store", shared)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(
        f"36 cases (fictional) with 2,363 entries written to {file}.\nNot in it: forms not written"
    )
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert run("load", file, "--store", new).out == f"36 cases of all.json taken into {new}.\n"
    assert run("export", "--store", new) == (0, file.read_text(), "")
    Draft202012Validator(caseload_schema()).validate(json.loads(file.read_bytes()))
    assert run("export", file, "--store", shared).code == 0  # its own kind is written over


def test_a_persons_cases_are_printed_and_cases_by_their_codes(run: Run, shared: Path) -> None:
    ran = run("export", "--person", "P-099", "--store", shared)
    assert (ran.code, ran.err) == (0, "")
    assert [case["code"] for case in json.loads(ran.out)["cases"]] == ["BY-099", "BY-100"]
    ran = run("export", "-", "BY-100", "BY-003", "--store", shared)
    assert [case["code"] for case in json.loads(ran.out)["cases"]] == ["BY-003", "BY-100"]
    assert ran.err == (
        "armrise: BY-099 is of a person in the file and not in it: red flags belong to the person, "
        "--person takes all cases.\n"
    )


def test_the_head_says_what_is_left_out(run: Run, shared: Path) -> None:
    top = json.loads(run("export", "-", "BY-003", "--store", shared).out)
    for word in ("forms not written", "marks", "last opened", "rules", "who signed", "not changed behind"):
        assert word in top["note"]
    assert (top["zone"], top["fictional"]) == ("Europe/London", True)
    assert top["clinic_date"] == Store.open(shared).today().isoformat()


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["-", "BY-0999"], 1, 'there is no case "BY-0999": did you mean BY-099'),
        (["--person", "P-0999"], 1, 'there is no person "P-0999": did you mean P-099'),
        (["--person", "?"], 1, 'there is no person "?": armrise export prints whom each case belongs to'),
        (["BY-003"], 2, "BY-003 is a case, and the first word names the file: armrise export - BY-003"),
        (["-", "BY-003", "--person", "P-003"], 2, "--person and case codes exclude each other"),
        (["no/such/folder.json"], 1, "make the folder"),
    ],
)
def test_what_cannot_be_written_is_said(
    run: Run,
    shared: Path,
    words: list[str],
    code: int,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("export", *words, "--store", shared)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert list(tmp_path.iterdir()) == []


def test_nothing_but_an_export_is_written_over(run: Run, two: Path, tmp_path: Path) -> None:
    typed = tmp_path / "two.json"
    before = typed.read_bytes()
    ran = run("export", typed, "--store", two)
    assert (ran.code, "a file not written by armrise lies there" in ran.err) == (1, True)
    assert typed.read_bytes() == before
    assert run("export", two, "--store", two).code == 1
    assert codes(Store.open(two)) == ["C-1"]


# load


NEW = {"kind": "session", "on": -1, "during": 2}


def test_what_is_new_is_taken_and_told(run: Run, two: Path, tmp_path: Path) -> None:
    other = CASE | {"code": "C-2", "person": "P-2", "entries": [VISIT]}
    file = write(tmp_path / "more.json", [CASE | {"entries": [VISIT, NEW]}, other])
    before = two.read_bytes()
    ran = run("load", file, "--store", two, "--dry-run")
    assert ran == (
        0,
        f"more.json for {two}: a dry run, nothing is written.\n"
        "\n"
        "C-1  known case 1 new, 1 there already\n"
        "C-2  new case   1 entry\n"
        "\n"
        "Would be taken: 1 new case and 2 new entries.\n",
        "",
    )
    assert two.read_bytes() == before
    said = f"1 new case and 2 new entries of more.json taken into {two}. There already: 1 case, 1 entry.\n"
    assert run("load", file, "--store", two) == (0, said, "")
    assert run("load", file, "--store", two, "--dry-run").out.endswith(
        "Would be taken: nothing, all of it is there already.\n"
    )


def test_what_is_refused_is_told_of_each_case_and_nothing_is_taken(
    run: Run, two: Path, tmp_path: Path
) -> None:
    bad = {"kind": "step", "on": 0, "stage": "RC4", "direction": "forward"}
    second = CASE | {"code": "C-9", "entries": [VISIT]}
    good = CASE | {"code": "C-3", "person": "P-3", "entries": [VISIT]}
    file = write(tmp_path / "bad.json", [good, CASE | {"entries": [VISIT, bad]}, second])
    ran = run("load", file, "--store", two, "--dry-run")
    step = '"forward" from RC2 to RC4 is not one stage forward'
    beside = "C-1 of person P-1 LEFT is not discharged, and a shoulder has one open case"
    assert (ran.code, ran.err) == (1, "")
    assert (
        "C-3  new case   1 entry\nC-1  known case 1 new, 1 there already, 1 fault:\n  refused: case C-1"
        in ran.out
    )
    assert step in ran.out
    assert beside in ran.out
    assert ran.out.endswith("\nRefused, nothing would be taken: 2 faults.\n")
    ran = run("load", file, "--store", two)
    assert (ran.code, ran.out) == (1, "")
    assert ran.err.startswith("armrise: bad.json is refused, nothing of it was taken.\n")
    assert step in ran.err
    assert beside in ran.err
    assert codes(Store.open(two)) == ["C-1"]


def test_a_dry_run_makes_no_store(run: Run, tmp_path: Path) -> None:
    store = tmp_path / "none.armrise"
    ran = run(
        "load", write(tmp_path / "one.json", [CASE | {"entries": [VISIT]}]), "--store", store, "--dry-run"
    )
    assert (ran.code, store.exists()) == (0, False)
    assert ran.out.endswith("C-1  new case   1 entry\n\nWould be taken: 1 new case and 1 new entry.\n")


def test_what_came_in_files_is_under_the_chain(run: Run, two: Path, tmp_path: Path) -> None:
    assert run("load", write(tmp_path / "m.json", [CASE | {"entries": [NEW]}]), "--store", two).code == 0
    with Store.open(two).reading() as connection:
        about = [word for (word,) in connection.execute("SELECT about FROM link ORDER BY number")]
    assert about == ["made", "file", "file"]
    driver: Driver = Store.open(two).driver
    assert verify(driver).faults == ()
