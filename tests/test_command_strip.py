"""Many days of a written diary from the command line: taken whole or not at all (ruling 74)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload.read import case
from armrise.store.database.place import Store
from armrise.store.record.kinds.pain import Morning, Session
from armrise.tui.command import main as command
from armrise.tui.shell.door import every_entry

LONG = "-7: 221/231*2/-2/?/322/.1./2 2 .; whole"
CASE = {"code": "C-1", "person": "P-1", "side": "LEFT", "pathway": "RC", "registered": -20}
ENTRIES = [
    {"kind": "visit", "on": -20, "interval": 14, "author": "TK"},
    {"kind": "step", "on": -20, "stage": "RC2", "direction": "placing"},
    {
        **{"kind": "programme item", "on": -20, "exercise": "band row", "load_class": "R1"},
        **{"sets": 3, "reps": 10},
    },
]


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """A store with one case, on Mon 2 March."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    file, store = tmp_path / "one.json", tmp_path / "mine.armrise"
    top = {"format": "armrise caseload 1", "clinic_date": "2026-03-02", "zone": "Europe/London"}
    file.write_text(json.dumps(top | {"fictional": True, "cases": [CASE | {"entries": ENTRIES}]}))
    assert command.run(["load", str(file), "--store", str(store)]) == 0
    capsys.readouterr()
    return store


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = command.run([str(a) for a in arguments])
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return code, out, err


def written(store: Path) -> list[Any]:
    return [e for e in every_entry(case(Store.open(store), "C-1")) if isinstance(e, (Session, Morning))]


def test_74_a_line_is_written_as_one_action_by_its_author(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "strip", "C-1", LONG, "--store", kept, "--author", "AB")
    assert (code, err) == (0, "")
    assert out == (
        "C-1 LEFT   FICTIONAL CASELOAD\n"
        "Read as: 2026-02-23: 221/231*2/-2/?/322/.1./22.; whole\n"
        "\n"
        "            during    later     waking, day after\n"
        "Mon 23 Feb  2         2         1                  whole dose\n"
        "Tue 24 Feb  2         3         1                  2 times, whole dose\n"
        "Wed 25 Feb  rest day            2\n"
        "Thu 26 Feb  not told: nothing is written\n"
        "Fri 27 Feb  3         2         2                  whole dose\n"
        "Sat 28 Feb  not told  1         not told           whole dose\n"
        "Sun 1 Mar   2         2         not told           whole dose\n"
        "\n"
        "Written by AB:\n"
        "  5 sessions, 1 morning, typed 1 to 7 days later\n"
        "  sets as asked: band row\n"
    )
    found = written(kept)
    assert len(found) == 6
    assert {e.author for e in found} == {"AB"}
    assert len({e.recorded_at for e in found}) == 1
    assert all(e.written for e in found)


def test_74_a_dry_run_writes_nothing(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "--author", "AB", "strip", "C-1", LONG, "--store", kept, "--dry-run")
    assert (code, err) == (0, "")
    assert "Would be written by AB:\n  5 sessions, 1 morning" in out
    assert out.endswith("Nothing was written.\n")
    assert written(kept) == []


def test_74_the_same_line_again_is_skipped_and_said_so(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for _ in range(2):
        code, out, _ = run(capsys, "strip", "C-1", LONG, "--store", kept)
        assert code == 0
    assert (
        "Mon 23 Feb  2         2         1                  whole dose, on record already, skipped\n" in out
    )
    assert out.endswith("\n  6 days on record already, skipped\nNothing was written.\n")
    assert len(written(kept)) == 6


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("-2: 22/...", 'cell 1, Sat 28 Feb: "22" has 2 values'),
        ("-0: 221", "cell 1, Mon 2 Mar: its waking value is that of tomorrow, Tue 3 Mar"),
        ("-21: 221", "cell 1, Mon 9 Feb: lies before the first day of this episode, Tue 10 Feb"),
        ("-7: 221/33/222", 'cell 2, Tue 24 Feb: "33" has 2 values'),
    ],
)
def test_74_a_refused_line_writes_nothing_of_it(
    line: str, said: str, kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "strip", "C-1", line, "--store", kept)
    assert (code, out) == (1, "")
    assert err.startswith(f"armrise: C-1: {said}")
    assert err.endswith(". Nothing was written\n")
    assert err.count("\n") == 1
    assert written(kept) == []


def test_74_a_case_a_store_or_an_option_that_is_not_there(
    kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert 'there is no case "C-2"' in run(capsys, "strip", "C-2", "-1: 221", "--store", kept)[2]
    nowhere = tmp_path / "none.armrise"
    code, _, err = run(capsys, "strip", "C-1", "-1: 221", "--store", nowhere)
    assert (code, nowhere.exists()) == (1, False)
    assert "there is no store at" in err
    assert run(capsys, "strip", "C-1", "--dryrun", "--store", kept)[0] == 2
    assert run(capsys, "strip", "C-1", "--store", kept)[0] == 2
