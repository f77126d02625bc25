"""The command line as a user meets it: exit codes, what goes where, and no traceback for bad input."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload.write import Ledger
from armrise.store.clinic.case.standing import (
    CriterionResult,
    Pain,
    Reason,
    Review,
    Standing,
    Truth,
    Verdict,
    Word,
)
from armrise.store.database.place import Store, own_store
from armrise.store.entries.build import build
from armrise.store.exchange.out import listing, plain_text
from armrise.store.files.beside import kept_beside
from armrise.store.record.clock import utc_now
from armrise.store.record.fields import Absence
from armrise.store.rules.folder.place import SHIPPED
from armrise.store.rules.read import load
from armrise.tui.command import ending
from armrise.tui.command import main as command

pytestmark = pytest.mark.usefixtures("worked_out_once")

T = date(2026, 3, 2)
PLACING = {"kind": "step", "on": -20, "stage": "RC2", "direction": "placing"}
VISIT = {"kind": "visit", "on": -20, "interval": 14, "author": "TK"}
CASE = {"code": "C-1", "person": "P-1", "side": "LEFT", "pathway": "RC", "registered": -20}


@pytest.fixture(autouse=True)
def _own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def caseload(tmp_path: Path) -> Path:
    return write(tmp_path / "two.json", [CASE | {"entries": [VISIT, PLACING]}])


def write(path: Path, cases: list[Any], **more: Any) -> Path:
    top = {"format": "armrise caseload 1", "clinic_date": "2026-03-02", "zone": "Europe/London"}
    path.write_text(json.dumps(top | {"fictional": True, "cases": cases} | more))
    return path


class Ran:
    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Any:
    def call(*arguments: object) -> Ran:
        capsys.readouterr()
        code = command.run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return Ran(code, out, err)

    return call


# first things first


def modules_after(*arguments: str) -> set[str]:
    script = (
        "import sys\nfrom armrise.tui.command.main import run\n"
        f"code = run({list(arguments)!r})\nassert code == 0, code\n"
        "print('|'.join(sorted(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(done.stdout.splitlines()[-1].split("|"))


HEAVY = {"textual", "rich", "sqlmodel", "sqlalchemy", "pydantic", "pendulum", "numpy"}
OTHER_COMMANDS = {
    f"armrise.tui.command.{name}" for name in ("audit", "rules", "serve", "strip", "store.load")
}
MAY_NOT_IMPORT = {
    ("--version",): {*HEAVY, *OTHER_COMMANDS, "armrise.store.record.case", "armrise.tui.command.listing"},
    ("--help",): {*HEAVY, "armrise.store.record.case"},
    ("list", "--help"): {*HEAVY, *OTHER_COMMANDS, "armrise.store.record.case"},
    ("list", "--demo"): {*HEAVY, *OTHER_COMMANDS},
    ("keys",): HEAVY - {"textual", "rich"},
}
"""What each command answers without: whoever types it waits for whatever it imports."""


def test_a_list_printed_again_imports_no_rule_and_no_command_line(run: Any, caseload: Path):
    assert run("load", caseload).code == run("list").code == 0
    ours = ("store.rules.pathway", "store.record.case", "store.caseload.read", "tui.command.commands")
    found = modules_after("list")
    assert "armrise.store.kept.printed" in found
    assert not found & {*HEAVY, "click", "tomllib", *(f"armrise.{name}" for name in ours)}


@pytest.mark.parametrize("arguments", MAY_NOT_IMPORT, ids=" ".join)
def test_a_command_imports_what_it_needs_and_no_more(arguments: tuple[str, ...]):
    found = modules_after(*arguments)
    assert "armrise.tui.command.commands" in found
    assert not found & MAY_NOT_IMPORT[arguments]


def test_the_version_is_printed(run: Any):
    assert run("--version").out.startswith("armrise ")


def test_opening_the_board_is_left_to_the_screen(run: Any, monkeypatch: pytest.MonkeyPatch):
    asked: list[dict[str, Any]] = []
    monkeypatch.setattr("armrise.tui.command.board.need_a_terminal", lambda: None)
    monkeypatch.setattr("armrise.tui.app.app.open_board", lambda **how: asked.append(how) or 0)
    assert run().code == 0
    assert run("--author", " AB ").code == 0
    assert run("--store", "other.armrise").code == 0
    monkeypatch.setenv("ARMRISE_STORE", "usual.armrise")
    assert run().code == 0
    plain = {"author": "", "rules": None, "store_path": None}
    others = [{"author": "AB"}, {"store_path": Path("other.armrise")}, {"store_path": Path("usual.armrise")}]
    assert asked == [plain, *(plain | other for other in others)]


def test_a_fault_of_the_screen_is_a_refusal_to_the_shell(run: Any, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("armrise.tui.command.board.need_a_terminal", lambda: None)
    monkeypatch.setattr("armrise.tui.app.app.open_board", lambda **_: 1)
    assert run().code == 1


@pytest.mark.parametrize("given", ["", "Alexandra Quill", "A\nB"])
def test_initials_that_are_none_are_wrong_usage(given: str, run: Any):
    said = run("--author", given)
    assert said.code == 2
    assert "--author: " in said.err


def test_initials_belong_to_the_list(run: Any):
    assert run("--author", "AB", "list", "--demo").code == 2


def test_the_demo_is_prepared_when_the_screen_asks_and_leaves_nothing(
    run: Any, monkeypatch: pytest.MonkeyPatch
):
    seen: dict[str, Any] = {}

    def board(*, demo: bool, as_of: Any, prepare: Any, ahead: Any) -> int:
        store = prepare()
        seen.update(path=store.path, today=store.today(), fictional=store.fictional, demo=demo)
        return 0

    monkeypatch.setattr("armrise.tui.command.board.need_a_terminal", lambda: None)
    monkeypatch.setattr("armrise.tui.app.app.open_board", board)
    assert run("demo", "--as-of", "2027-06-01").code == 0
    assert (seen["today"], seen["fictional"], seen["demo"]) == (date(2027, 6, 1), True, True)
    assert not seen["path"].parent.exists()


# keys


def test_the_keys_are_told_as_text_as_data_and_as_a_file(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "keys.toml").touch()
    monkeypatch.setenv("ARMRISE_KEYS", str(tmp_path / "keys.toml"))
    shown = run("keys")
    assert shown.code == 0
    assert "EVERY FORM" in shown.out
    rows = {row["id"]: row for row in json.loads(run("keys", "--json").out)["keys"]}
    assert rows["case.check_in"]["keys"] == ["c"]
    (tmp_path / "keys.toml").write_text(run("keys", "--sample").out)
    assert run("keys").out == shown.out  # a sample changes nothing


def test_the_keys_told_are_those_asked_for(run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "keys.toml").write_text(
        '[keys]\n"case.check_in" = "z,f9"\n"case.up" = "up"\n"list.previous" = "up"'
    )
    monkeypatch.setenv("ARMRISE_KEYS", str(tmp_path / "keys.toml"))
    rows = {row["id"]: row for row in json.loads(run("keys", "--json").out)["keys"]}
    assert rows["case.check_in"]["keys"] == ["z", "f9"]


def test_a_key_that_a_new_version_wanted_is_told_and_stays(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "keys.toml").write_text('[keys]\n"case.charts" = "a"\n"case.hold" = "H"')
    monkeypatch.setenv("ARMRISE_KEYS", str(tmp_path / "keys.toml"))
    said = run("keys", "--json")
    rows = {row["id"]: row["keys"] for row in json.loads(said.out)["keys"]}
    assert (rows["case.charts"], rows["case.hold"], rows["case.acts"]) == (["a"], ["H"], [])
    assert said.code == 0
    assert "Your keys hold." in said.err
    assert "(case.acts, shipped on a)" in said.err


def test_a_fault_in_the_keys_is_said_and_the_shipped_keys_told(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "keys.toml").write_text('[keys]\n"case.chekin" = "k"')
    monkeypatch.setenv("ARMRISE_KEYS", str(tmp_path / "keys.toml"))
    said = run("keys")
    assert said.code == 1
    assert '"case.chekin" is no action; near it: case.check_in' in said.err
    assert "case.check_in" in said.out


# usage


@pytest.mark.parametrize(
    "arguments",
    [
        ("lst",),
        ("keys", "--json", "--sample"),
        ("list", "--colour"),
        ("list", "extra"),
        ("case",),
        ("load",),
        ("list", "--demo", "--store", "x"),
        ("list", "--caseload", "x", "--store", "y"),
        ("list", "--demo", "--as-of", "2026-02-30"),
        ("list", "--demo", "--as-of", "20260302"),
        ("list", "--demo", "--as-of", "9999-12-31"),
        ("demo", "--as-of", "tomorrow"),
    ],
)
def test_wrong_usage_leaves_with_2(run: Any, arguments: tuple[str, ...]):
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert "Usage: armrise" in ran.err


def test_a_wrong_date_says_what_is_allowed(run: Any):
    ran = run("list", "--demo", "--as-of", "2026-02-30")
    assert '"2026-02-30" is no date, allowed is a day of 1900 to 2199 such as 2026-03-02' in ran.err


# refusals


def refused(ran: Ran, *words: str) -> None:
    assert (ran.code, ran.out) == (1, ""), ran.err
    for word in words:
        assert word in ran.err, ran.err


def test_a_file_that_is_not_there_leaves_with_1(run: Any, tmp_path: Path):
    refused(run("list", "--caseload", tmp_path / "no.json"), "no.json", "cannot be read")
    refused(run("load", tmp_path / "no.json"), "cannot be read")
    refused(run("list", "--store", tmp_path / "no.armrise"), "there is no store at")
    refused(run("list"), "there is no store at")


def test_every_fault_is_a_line_of_its_own(run: Any, tmp_path: Path):
    bad = [CASE | {"entries": [VISIT | {"interval": 0}, {"kind": "session", "on": 1, "during": 11}]}]
    ran = run("load", write(tmp_path / "bad.json", bad))
    refused(ran, "interval: 0 is out of range", "during: 11 is out of range", "nothing of it was taken")
    refused(ran, "cannot lie ahead")
    assert len(ran.err.splitlines()) == 4


def test_a_refused_file_makes_no_store(run: Any, tmp_path: Path):
    bad = write(tmp_path / "bad.json", [CASE | {"entries": [{"kind": "vist", "on": 0}]}])
    refused(run("load", bad, "--store", tmp_path / "new" / "mine.armrise"), "did you mean")
    assert not (tmp_path / "new").exists()


def test_a_file_from_the_future_is_refused_and_makes_no_store(run: Any, tmp_path: Path):
    ahead = write(tmp_path / "ahead.json", [], clinic_date="2190-01-01", fictional=False)
    refused(run("load", ahead, "--store", tmp_path / "mine.armrise"), "clinic date 2190-01-01 lies ahead")
    assert not (tmp_path / "mine.armrise").exists()


def test_what_is_no_store_is_refused(run: Any, tmp_path: Path, caseload: Path):
    refused(run("list", "--store", caseload), "two.json")
    refused(run("load", caseload, "--store", caseload), "two.json")
    refused(run("list", "--store", tmp_path), "not a file")
    assert json.loads(caseload.read_text())["format"]


def test_a_name_with_control_characters_is_printed_escaped(run: Any, tmp_path: Path, caseload: Path):
    ran = run("list", "--store", tmp_path / "a\x1b[31m\n.armrise")
    refused(ran, "a<U+001B>[31m<U+000A>.armrise")
    ran = run("load", caseload, "--store", tmp_path / "a\x7f.armrise")
    assert (ran.code, "a<U+007F>.armrise" in ran.out) == (0, True)


def test_an_unknown_case_is_refused(run: Any, caseload: Path):
    refused(run("case", "C-9", "--caseload", caseload), "C-9")
    refused(run("case", "", "--caseload", caseload))
    refused(run("case", "'; DROP TABLE cases;--", "--caseload", caseload))


def test_a_reader_that_goes_away_is_no_crash():
    command = "from armrise.tui.command.main import main; main()"
    script = f"{sys.executable} -c '{command}' list --demo --json | head -c 10"
    done = subprocess.run(["sh", "-c", script], capture_output=True, text=True, check=False)
    assert "Traceback" not in done.stderr
    assert "BrokenPipe" not in done.stderr
    assert len(done.stdout) == 10


def test_an_interruption_is_no_crash(run: Any, monkeypatch: pytest.MonkeyPatch):
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("armrise.tui.command.reading.load_rules", interrupted)
    stopped = run("list", "--demo")
    assert (stopped.code, stopped.out, stopped.err.strip()) == (130, "", "Stopped.")


# taking a file into a store


def test_a_file_is_taken_and_listed_from_the_store(run: Any, tmp_path: Path, caseload: Path):
    store = tmp_path / "deep" / "mine.armrise"
    ran = run("load", caseload, "--store", store)
    assert (ran.code, ran.err) == (0, "")
    assert f"1 case of two.json taken into {store}" in ran.out
    kept = run("list", "--json", "--store", store)
    straight = run("list", "--json", "--caseload", caseload)
    assert kept.code == straight.code == 0
    assert json.loads(kept.out) == json.loads(straight.out)
    assert [case["code"] for case in json.loads(kept.out)["cases"]] == ["C-1"]


def test_the_same_file_twice_adds_nothing(run: Any, tmp_path: Path, caseload: Path):
    store = tmp_path / "mine.armrise"
    assert run("load", caseload, "--store", store).code == 0
    listed = run("list", "--store", store).out
    ran = run("load", caseload, "--store", store)
    assert (ran.code, ran.err) == (0, "")
    assert (
        ran.out
        == f"Nothing of two.json is new to {store}: nothing was written. There already: 1 case, 2 entries.\n"
    )
    assert run("list", "--store", store).out == listed


def test_fictional_and_real_cases_never_share_a_store(run: Any, tmp_path: Path, caseload: Path):
    store = tmp_path / "mine.armrise"
    assert run("load", caseload, "--store", store).code == 0
    real = write(tmp_path / "real.json", [CASE | {"code": "C-2", "person": "P-2"}], fictional=False)
    refused(run("load", real, "--store", store), "a real caseload is not taken", "fictional cases")
    elsewhere = write(tmp_path / "zone.json", [CASE | {"code": "C-2"}], zone="Europe/Berlin")
    refused(run("load", elsewhere, "--store", store), "Europe/Berlin", "Europe/London")


# the list


def test_the_demo_as_json_has_the_published_keys(run: Any):
    ran = run("list", "--demo", "--json")
    assert (ran.code, ran.err) == (0, "")
    found = json.loads(ran.out)
    assert next(iter(found)) == "format"
    assert found["format"] == "armrise list 1"
    cases = found["cases"]
    assert cases
    for case in cases:
        assert case.keys() >= {
            "code", "side", "pathway", "stage", "days_in_stage", "total_days_in_stage", "review", "pain",
            "reasons", "verdict", "criteria", "person", "status", "tier", "days_in_episode", "verdict_line",
            "limits", "cautions", "rule_version", "signed_off", "linked", "onset",
        }  # fmt: skip
        assert case["review"].keys() >= {"due", "interval", "overdue_days", "ratio", "booked"}
        assert case["pain"].keys() >= {"during", "later", "morning", "date", "baseline"}
        for reason in case["reasons"]:
            assert reason.keys() >= {
                "rank", "name", "tier", "severity", "days_open", "in_hand_until", "sentence",
            }  # fmt: skip
        for criterion in case["criteria"]:
            assert criterion.keys() >= {"text", "needed", "observed", "observed_on", "state", "source"}
            assert criterion["state"] in ("met", "not met", "unknown")
        assert case["as_of"] == "2026-03-02"
        assert case["signed_off"] == "NOT SIGNED OFF"


def test_the_demo_as_text_reads_without_a_screen(run: Any):
    ran = run("list", "--demo")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert lines[0] == "FICTIONAL CASELOAD: nobody in it exists."
    assert "Mon 2 Mar 2026" in lines[1]
    assert lines[2] == "Rules version 3, NOT SIGNED OFF"
    assert lines[-3:] == list(plain_text.CAUTIONS)
    assert max(len(line) for line in lines) <= 80
    assert ran.out.isascii()
    for code in ("BY-007", "BY-100"):
        assert any(line.startswith(f"  {code} ") for line in lines)


def test_as_of_an_earlier_day_leaves_out_what_came_later(run: Any):
    head = "as known then, what was recorded later left out"
    assert head in run("list", "--demo", "--as-of", "2026-02-20").out
    assert head not in run("list", "--demo", "--as-of", "2026-03-02").out
    before = json.loads(run("list", "--demo", "--json", "--as-of", "2026-02-20").out)["cases"]
    assert {case["as_of"] for case in before} == {"2026-02-20"}
    for case in before:
        assert case["pain"]["date"] is None or case["pain"]["date"] <= "2026-02-20"
        assert all(c["observed_on"] is None or c["observed_on"] <= "2026-02-20" for c in case["criteria"])


AT = "2026-02-27 08:05"


def test_an_instant_cuts_within_a_day(run: Any, tmp_path: Path):
    """What was recorded at 08:00 was known at 08:05, what was recorded at 08:10 was not (ruling 39)."""
    for recorded, tier in (("08:00", "today"), ("08:10", "harm if left")):
        entries = [VISIT, PLACING, FLAG | {"recorded": f"2026-02-27T{recorded}:00+00:00"}]
        source = write(tmp_path / "c.json", [CASE | {"entries": entries}])
        for at in (AT, "2026-02-27T09:05+01:00", "27 Feb 08:05", "Fri 8:05", "-3 08:05"):
            (listed,) = json.loads(run("list", "--json", "--caseload", source, "--at", at).out)["cases"]
            assert (listed["tier"], listed["as_of"]) == (tier, "2026-02-27"), at


def test_an_instant_and_a_date_are_the_list_of_that_date_with_what_was_known_then(run: Any, tmp_path: Path):
    source = write(tmp_path / "c.json", [CASE | {"entries": [VISIT, PLACING, FLAG | {"recorded": -3}]}])
    for at, tier in (("2026-02-26 12:00", "harm if left"), ("2026-02-28 12:00", "today")):
        asked = ("--caseload", source, "--as-of", "2026-02-25", "--at", at)
        (listed,) = json.loads(run("list", "--json", *asked).out)["cases"]
        assert (listed["tier"], listed["as_of"]) == (tier, "2026-02-25")
    told = run("list", "--caseload", source, "--as-of", "2026-02-25", "--at", "2026-02-26 12:00").out
    assert "as known at 12:00 on Thu 26 Feb, what was recorded later" in " ".join(told.split())


@pytest.mark.parametrize(
    ("at", "says"),
    [
        ("whenever", '"whenever" names no instant, allowed is a day such as "3 Mar"'),
        ("2026-02-30 08:05", '"2026-02-30 08:05" names no instant'),
        ("2026-02-27 25:00", '"2026-02-27 25:00" holds no time of a day, allowed are 00:00 to 23:59'),
        ("", '"" names no instant'),
        ("2025-03-30 01:30", "there was no 01:30 on 2025-03-30: the clocks went forward"),
    ],
)
def test_an_instant_that_is_none_is_refused_in_one_sentence(run: Any, at: str, says: str):
    ran = run("list", "--demo", "--at", at)
    assert (ran.code, ran.out) == (ending.REFUSED, "")
    assert says in ran.err
    assert len(ran.err.splitlines()) == 1


def test_why_says_place_neighbours_verdict_reasons_and_what_is_known_since(run: Any):
    """Practice note 8.12: why did the list put this case there on that day?"""
    ran = run("why", "BY-018", "--demo", "--at", "2026-02-27 08:05", "--json")
    assert (ran.code, ran.err) == (0, "")
    found = json.loads(ran.out)
    listed = [c["code"] for c in json.loads(run("list", "--demo", "--json", "--at", AT).out)["cases"]]
    place = listed.index("BY-018")
    assert (found["place"], found["of"]) == (place + 1, len(listed))
    assert listed[place - 1] in found["why_there"][0]
    assert listed[place + 1] in found["why_there"][1]
    assert [since["says"][:18] for since in found["known_since"]] == [
        "session of Thu 26 ",
        "session of Fri 27 ",
    ]
    text = run("why", "BY-018", "--demo", "--at", AT).out
    assert text.startswith("BY-018 RIGHT, as known Fri 27 Feb 2026 08:05\n")
    assert "Thu 26 Feb 2026, recorded 1 day later: session, during" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_why_names_the_late_entry_that_changes_the_reading(run: Any, tmp_path: Path):
    """4.13 case 4 and ruling 39: recorded three days later, and with it the case stood elsewhere."""
    source = write(tmp_path / "c.json", [CASE | {"entries": [VISIT, PLACING, FLAG | {"recorded": -3}]}])
    told = " ".join(run("why", "C-1", "--caseload", source, "--at", "2026-02-25 12:00").out.split())
    assert 'Tue 24 Feb 2026, recorded 3 days later: red-flag screen, "motor or sensory loss": yes' in told
    assert "Alone: came: possible red flag" in told
    assert "Had all of it been known: came: possible red flag" in told
    again = " ".join(run("why", "C-1", "--caseload", source).out.split())
    assert "This is what is known now: nothing was left out." in again
    assert "It was the only case of the list." in again


def test_why_of_a_case_that_was_not_there_yet(run: Any):
    ran = run("why", "BY-018", "--demo", "--at", "2020-01-01 08:00")
    assert ran.code == ending.REFUSED
    assert "BY-018 was registered on" in ran.err


def test_one_case_as_json_and_as_text(run: Any):
    ran = run("case", "BY-018", "--demo", "--json")
    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out)["code"] == "BY-018"
    ran = run("case", "BY-018", "--demo")
    assert (ran.code, ran.err) == (0, "")
    assert "BY-018 RIGHT" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 80


FLAG = {"kind": "screen", "on": -6, "item": "motor or sensory loss", "answer": "yes", "label": "flag"}
WITHDRAWN = {"kind": "correction", "on": -4, "corrects": "flag", "reason": "wrong case"}
HISTORIES = {
    # practice note, 6.2 and 4.13 case 4: the list of an earlier date shows what was known on that date
    "late": [FLAG | {"recorded": -1}],
    "late in the evening": [FLAG | {"recorded": "2026-03-01T00:00:00+00:00"}],
    "withdrawn late": [FLAG, WITHDRAWN | {"recorded": -1}],
    "withdrawn": [FLAG, WITHDRAWN],
}
BEFORE, LAST, AFTER = "2026-02-25", "2026-02-28", "2026-03-01"


@pytest.mark.parametrize("kept", ["--caseload", "--store"])
@pytest.mark.parametrize(
    ("history", "day", "flagged"),
    [
        ("late", BEFORE, False),
        ("late", LAST, False),
        ("late", AFTER, True),
        ("late in the evening", LAST, False),
        ("late in the evening", AFTER, True),
        ("withdrawn late", BEFORE, True),
        ("withdrawn late", LAST, True),
        ("withdrawn late", AFTER, False),
        ("withdrawn", BEFORE, True),
        ("withdrawn", LAST, False),
    ],
)
def test_as_of_shows_what_was_known_on_that_date(
    run: Any, tmp_path: Path, kept: str, history: str, day: str, flagged: bool
):
    source = write(tmp_path / "c.json", [CASE | {"entries": [VISIT, PLACING, *HISTORIES[history]]}])
    if kept == "--store":
        assert run("load", source, "--store", tmp_path / "c.armrise").code == 0
        source = tmp_path / "c.armrise"
    (listed,) = json.loads(run("list", "--json", kept, source, "--as-of", day).out)["cases"]
    assert ("possible red flag" in [reason["name"] for reason in listed["reasons"]]) is flagged
    text = run("case", "C-1", kept, source, "--as-of", day).out
    assert ("red flag: motor or sensory loss" in text) is flagged


def test_a_date_ends_at_midnight_of_the_clinic(run: Any, tmp_path: Path):
    # 04:30 UTC of the first of March is still the evening of the last of February in New York
    entries = [VISIT, PLACING, FLAG | {"recorded": "2026-03-01T04:30:00+00:00"}]
    for zone, tier in (("America/New_York", "today"), ("UTC", "nothing now")):
        source = write(tmp_path / "c.json", [CASE | {"entries": entries}], zone=zone)
        (listed,) = json.loads(run("list", "--json", "--caseload", source, "--as-of", LAST).out)["cases"]
        assert (listed["tier"] == "today") is (tier == "today"), zone


def test_without_a_date_everything_recorded_is_known(run: Any, tmp_path: Path):
    source = write(tmp_path / "c.json", [CASE | {"entries": [VISIT, PLACING, *HISTORIES["late"]]}])
    (listed,) = json.loads(run("list", "--json", "--caseload", source).out)["cases"]
    assert (listed["as_of"], listed["tier"]) == ("2026-03-02", "today")


def test_a_fixed_clinic_date_takes_in_what_is_recorded_today(run: Any, tmp_path: Path, caseload: Path):
    path = tmp_path / "fixed.armrise"
    assert run("load", caseload, "--store", path).code == 0
    entry, faults = build(
        "screen", {"on": 0, "item": FLAG["item"], "answer": "yes"}, case="C-1", label="new", base=T
    )
    assert entry is not None, faults
    Ledger(Store.open(path), "TK", utc_now).append("C-1", [entry])
    for dated in ((), ("--as-of", "2026-03-02")):
        (listed,) = json.loads(run("list", "--json", "--store", path, *dated).out)["cases"]
        assert listed["tier"] == "today", dated


def test_a_store_that_is_not_there_says_how_to_begin(run: Any, tmp_path: Path):
    say = "open armrise once to create an empty one, or load a caseload file: armrise load FILE"
    refused(run("list"), "there is no store at", say)
    refused(run("case", "C-1"), say)
    gone = tmp_path / "no.armrise"
    refused(run("list", "--store", gone), "another one", f"armrise load FILE --store {gone}")


def test_an_empty_caseload_is_an_empty_list_that_says_how_to_begin(run: Any, tmp_path: Path):
    empty = write(tmp_path / "empty.json", [])
    assert json.loads(run("list", "--json", "--caseload", empty).out)["cases"] == []
    ran = run("list", "--caseload", empty)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.splitlines()[1].startswith("armrise, Mon 2 Mar 2026, nothing recorded yet")
    assert "No cases yet. Next: load a caseload file: armrise load FILE" in ran.out
    assert run("load", empty).code == 0
    ran = run("list")
    assert (ran.code, "No cases yet" in ran.out) == (0, True)


@pytest.mark.parametrize("how", [(), ("--json",)], ids=str)
def test_the_list_is_printed_again_as_it_was_judged(
    run: Any, caseload: Path, monkeypatch: pytest.MonkeyPatch, how: tuple[str, ...]
):
    """Also by what reads the command line, and never from what was kept for another question."""
    assert run("load", caseload).code == 0
    judged = run("list", *how)
    own = own_store()
    assert isinstance(own, Path)
    named = run("list", "--store", own, *how)
    asked = [("--as-of", T), ("--rules", SHIPPED), ("--at", "2026-03-02 23:59")]
    with monkeypatch.context() as without:
        without.setattr("armrise.store.clinic.standing.stand.stand", lambda *_: 1 / 0)
        again = run("list", *how)
        for more in asked:
            assert run("list", *more, *how).code == 1
        with monkeypatch.context() as wide:
            wide.setattr("armrise.tui.command.printing.at_a_terminal", lambda: True)
            wide.setattr("armrise.tui.command.kept.at_a_terminal", lambda: True)
            wide.setattr("armrise.tui.command.typed.terminal.columns", lambda: 100)
            assert run("list", *how).code == (0 if how else 1)
        assert run("list", "--tier", "today", *how).code == 1
    assert judged.code == named.code == again.code == 0
    assert judged.out == named.out == again.out
    assert "C-1" in judged.out


def test_beside_a_store_that_is_only_looked_at_nothing_new_is_left(run: Any, tmp_path: Path, caseload: Path):
    """As by somebody who sees whether a copy opens."""
    copy = tmp_path / "copy.armrise"
    assert run("load", caseload, "--store", copy).code == 0
    assert run("list", "--store", copy).code == 0
    assert not kept_beside(copy).exists()


def test_an_empty_list_of_a_store_with_cases_says_so(run: Any, caseload: Path):
    ran = run("list", "--caseload", caseload, "--as-of", "2020-01-01")
    assert (ran.code, "No case is on the list." in ran.out, "No cases yet" in ran.out) == (0, True, False)


# the listing by itself


def standing(**change: Any) -> Standing:
    facts: dict[str, Any] = {
        "code": "C-1",
        "person": "P-1",
        "side": "LEFT",
        "status": "active",
        "pathway": "RC",
        "pathway_name": "rotator-cuff-related",
        "stage": "RC2",
        "stage_name": "Base load",
        "days_in_stage": 22,
        "total_days_in_stage": 30,
        "days_in_episode": 60,
        "usual_days": 35,
        "days_since_onset": None,
        "onset_word": "",
        "review": Review(date(2026, 2, 23), 21, 7, 7 / 21, None),
        "pain": Pain(3, Absence.DECLINED, None, date(2026, 2, 28), None, 2),
        "trend": (),
        "reasons": (),
        "verdict": Verdict(Word.NOT_YET, "night pain 6, needs 3"),
        "limits": (),
        "cautions": (),
        "as_of": T,
    }
    return Standing(**facts | change)


def reason(tier: str = "contact owed", **change: Any) -> Reason:
    facts: dict[str, Any] = {
        "code": "OVD1",
        "name": "review overdue",
        "rank": 12,
        "tier": tier,
        "severity": 33,
        "days_open": 7,
        "since": date(2026, 2, 23),
        "sentence": "review overdue: 7 days late on 21",
    }
    return Reason(**facts | change)


def test_absence_is_a_word_and_unknown_is_null():
    (case,) = listing.as_json([standing()])
    assert case["pain"] == {
        "during": 3,
        "later": "declined",
        "morning": None,
        "date": "2026-02-28",
        "baseline": None,
    }
    assert case["onset"] == {"what": None, "day": None}
    assert case["review"]["ratio"] == pytest.approx(0.3333)


def test_criteria_are_the_blocks_and_then_the_criteria():
    block = CriterionResult("range being lost", "no", "yes", T, Truth.NOT_MET, "design", "design")
    criterion = CriterionResult(
        "night pain", "3", "", None, Truth.UNKNOWN, "design", "design", ask="night pain"
    )
    verdict = Verdict(Word.NOT_YET, "range being lost", (criterion,), (block,))
    (case,) = listing.as_json([standing(verdict=verdict)])
    assert [c["text"] for c in case["criteria"]] == ["range being lost", "night pain"]
    assert case["criteria"][0]["observed_on"] == "2026-03-02"
    assert case["criteria"][1]["state"] == "unknown"


@pytest.mark.parametrize(
    ("status", "reasons", "listed"),
    [
        # clarification 11.3, and practice note 4.13 case 41 for the waiting
        ("active", (), True),
        ("on hold", (), True),
        ("closed", (), False),
        ("closed", (reason(),), True),
        ("waiting", (), False),
        ("waiting", (reason(),), False),
        ("waiting", (reason(tier="today"),), True),
    ],
)
def test_who_is_on_the_list(status: str, reasons: tuple[Reason, ...], listed: bool):
    assert bool(listing.on_list([standing(status=status, reasons=reasons)])) is listed


def test_a_case_is_told_in_four_sentences():
    answered = reason(name="nothing recorded", in_hand_until=date(2026, 3, 6), in_hand_action="ring")
    lines = plain_text.case_lines(standing(reasons=(reason(), answered)))
    assert " ".join(" ".join(lines).split()) == (
        "C-1 LEFT, RC2 Base load, day 22 of usual 35; NOT YET "
        "review overdue: 7 days late on 21; also nothing recorded (in hand) "
        "pain during 3, later declined, next morning not recorded, 2 days ago"
    )
    lines = plain_text.case_lines(standing(reasons=(reason(code="STL", name="long in stage"),)))
    assert lines[-1] == "     7 days overdue, of 21, none booked"
    assert all(len(line) < 80 for line in lines)


def test_the_head_says_what_the_list_rests_on():
    head = plain_text.Heading(T, True, None, load())
    text = plain_text.as_text([standing(reasons=(reason(),)), standing(code="C-2", status="on hold")], head)
    assert "1 active, 1 on hold, 0 closed but owing\n" in text
    assert "0 today, 0 harm if left, 1 contact owed, 0 move on, 1 nothing now" in text
    assert "nothing recorded yet" in text
    assert (
        text.index("CONTACT OWED (1)") < text.index("C-1") < text.index("NOTHING NOW (1)") < text.index("C-2")
    )
