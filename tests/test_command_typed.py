"""What every command answers to: one letter for help, codes in any case, a pipe, a terminal, a Tab key."""

from __future__ import annotations

import io
import json
import re
import shutil
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import click
import pytest
from jsonschema import Draft202012Validator

from armrise.store.caseload import named_views as own
from armrise.store.caseload.read import standings
from armrise.store.caseload.sweep import sweep
from armrise.store.clinic.actions.minutes import Minutes
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.triage import on_list
from armrise.store.database.desk import mark
from armrise.store.database.place import Store
from armrise.store.exchange.out import minutes, plain_text
from armrise.store.exchange.out.formats import stamped
from armrise.store.exchange.schemas import SCHEMAS
from armrise.store.rules.read import load
from armrise.tui.command import main as command
from armrise.tui.command.commands import PLACES, cli
from armrise.tui.command.reading import Seen
from armrise.tui.command.typed import progress, terminal
from armrise.tui.command.typed.codes import each_meant, meant
from armrise.tui.command.typed.filters import Wanted, chosen
from armrise.tui.widgets.listing import left_out
from armrise.tui.widgets.views import SHIPPED
from tests.demo_store import NOW
from tests.test_command import CASE, PLACING, VISIT, write

pytestmark = pytest.mark.usefixtures("worked_out_once")


def ran(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    code = command.run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return code, out, err


@pytest.fixture(scope="module")
def store(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demonstration with a view of its own and two marks; nothing is recorded in it."""
    path = Path(shutil.copy(made, tmp_path_factory.mktemp("typed") / "demo.armrise"))
    found = Store.open(path)
    own.add_view(found, 'tendon = "after rotator cuff repair"', [view.name for view in SHIPPED])
    return found


@pytest.fixture(scope="module")
def listed(store: Store, worked_out_once: None) -> list[Standing]:
    return on_list(standings(store, load(), store.today(NOW), None))


@pytest.fixture(scope="module")
def swept(store: Store, worked_out_once: None) -> Minutes:
    return sweep(store, load(), store.today(NOW), None)


def valid(name: str, value: Any) -> bool:
    """Judged by jsonschema, an implementation of JSON Schema 2020-12 from outside the project."""
    return not list(Draft202012Validator(SCHEMAS[name]()).iter_errors(json.loads(json.dumps(value))))


# help, and codes in any case


@pytest.mark.parametrize("name", PLACES)
def test_one_letter_asks_for_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    short, long = ran(capsys, name, "-h"), ran(capsys, name, "--help")
    assert short == long
    assert short[0] == 0
    assert short[1].startswith(f"Usage: armrise {name}")


def test_a_code_is_meant_in_whatever_case_it_is_typed(store: Store) -> None:
    assert meant(store, "by-003") == meant(store, "BY-003") == meant(store, "By-003") == "BY-003"
    assert meant(store, "by-9999") == "by-9999"
    assert each_meant(store, ("by-018", "nobody", "BY-003")) == ("BY-018", "nobody", "BY-003")


def test_of_two_codes_that_differ_in_case_alone_each_is_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases = [
        CASE | {"code": code, "person": f"P-{code}", "entries": [VISIT, PLACING]} for code in ("Ab-1", "aB-1")
    ]
    path = tmp_path / "two.armrise"
    assert ran(capsys, "load", write(tmp_path / "two.json", cases), "--store", path)[0] == 0
    two = Store.open(path, read_only=True)
    assert meant(two, "Ab-1") == "Ab-1"
    assert meant(two, "aB-1") == "aB-1"
    assert meant(two, "AB-1") == "AB-1"
    code, _, err = ran(capsys, "case", "AB-1", "--store", path)
    assert code == 1
    assert "AB-1" in err


# what of the list is wanted


@pytest.mark.parametrize(
    ("wanted", "is_so"),
    [
        (Wanted(pathways=("po",)), lambda s: s.pathway == "PO"),
        (Wanted(pathways=("PO", "fx")), lambda s: s.pathway in ("PO", "FX")),
        (Wanted(tiers=("Harm-if-left",)), lambda s: s.tier == "harm if left"),
        (Wanted(tiers=("nothing now",)), lambda s: s.tier == "none"),
        (Wanted(clinicians=("tk",)), lambda s: s.clinician == "TK"),
        (Wanted(view="ready"), lambda s: s.verdict.word.value == "READY"),
        (Wanted(view="4"), lambda s: s.verdict.word.value == "READY"),
        (Wanted(view="Tendon"), lambda s: s.pathway == "PO"),
        (
            Wanted(("RC",), ("move on",), ("TK",)),
            lambda s: (s.pathway, s.tier, s.clinician) == ("RC", "move on", "TK"),
        ),
    ],
)
def test_what_is_wanted_of_the_list_is_shown_in_its_order(
    store: Store, listed: list[Standing], wanted: Wanted, is_so: Any
) -> None:
    found = chosen(Seen(store, load(), store.today(NOW), None), listed, wanted)
    assert found == [s for s in listed if is_so(s)]
    assert 0 < len(found) < len(listed)


def test_the_view_of_marks_is_of_whoever_asks(
    store: Store, listed: list[Standing], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ARMRISE_AUTHOR", "QQ")
    mark(store, "QQ", "BY-018", True)
    mark(store, "ZZ", "BY-003", True)
    found = chosen(Seen(store, load(), store.today(NOW), None), listed, Wanted(view="my marks"))
    assert [s.code for s in found] == ["BY-018"]


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(pathways=("XX",)), "--pathway is 'XX', allowed is "),
        (Wanted(tiers=("tomorrow",)), "--tier is 'tomorrow', allowed is today, harm if left"),
        (Wanted(clinicians=("nobody",)), "--clinician is 'nobody', allowed is "),
        (Wanted(view="0"), "--view is '0', allowed is all, coming in today"),
    ],
)
def test_what_there_is_none_of_is_said_with_what_there_is(
    store: Store, listed: list[Standing], wanted: Wanted, said: str
) -> None:
    with pytest.raises(click.UsageError) as refused:
        chosen(Seen(store, load(), store.today(NOW), None), listed, wanted)
    assert refused.value.message.startswith(said)


def test_a_part_of_the_list_says_what_is_left_out_of_today(store: Store, listed: list[Standing]) -> None:
    """Nobody reads "0 today" of a part and believes it of the whole."""
    wanted = Wanted(tiers=("move on",))
    shown = chosen(Seen(store, load(), store.today(NOW), None), listed, wanted)
    urgent = sum(s.tier == "today" for s in listed)
    said = left_out(listed, shown, wanted.said)
    assert said == f"Shown: {len(shown)} of {len(listed)} cases (tier move on); {urgent} of TODAY left out."
    heading = plain_text.Heading(store.today(NOW), True, None, load())
    text = plain_text.as_text(shown, heading, part=plain_text.Part(listed, said))
    assert f"\n{urgent} today, " in text
    assert f"\n{said}\n" in text
    assert left_out(listed, [s for s in listed if s.tier == "today"], wanted.said).endswith("(tier move on).")


def test_the_filters_of_the_command_reach_the_list(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = ran(
        capsys, "list", "--store", store.path, "--json", "--pathway", "PO", "--pathway", "fx"
    )
    assert code == 0
    assert {case["pathway"] for case in json.loads(out)["cases"]} == {"PO", "FX"}
    assert "of 36 cases (pathway PO or fx); " in err


# JSON of every listing


def test_the_sweep_as_json_is_what_its_schema_says(swept: Minutes) -> None:
    made = minutes.as_json(swept)
    assert valid("minutes", stamped("minutes", made))
    due = stamped("due", {"cases": minutes.due_json(swept)})
    assert valid("due", due)
    assert [case["code"] for case in made["remaining"]] == [case.standing.code for case in swept.remaining]
    assert made["total"] == len(made["remaining"]) > 5
    assert not valid("due", due | {"cases": [{**due["cases"][0], "another": 1}]})


def test_handover_and_views_as_json(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = ran(capsys, "handover", "by-018", "BY-003", "--store", store.path, "--json")
    assert code == 0
    assert [case["code"] for case in json.loads(out)["cases"]] == ["BY-003", "BY-018"]
    assert valid("handover", json.loads(out))
    code, out, _ = ran(capsys, "views", "--store", store.path, "--json")
    assert valid("views", json.loads(out))
    assert json.loads(out)["views"][-1] == {
        "key": "6",
        "name": "tendon",
        "text": '"after rotator cuff repair"',
    }


def test_a_whole_clinician_is_handed_over(
    store: Store, listed: list[Standing], capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = ran(capsys, "handover", "--clinician", "tk", "--store", store.path, "--json")
    assert code == 0
    assert {case["code"] for case in json.loads(out)["cases"]} == {
        s.code for s in listed if s.clinician == "TK"
    }
    assert ran(capsys, "handover", "BY-003", "--clinician", "tk", "--store", store.path)[0] == 2


# pipes


def test_a_caseload_comes_and_goes_by_pipes(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = ran(capsys, "export", "-", "by-003", "--store", store.path)
    assert code == 0
    for said in ("1 case of standard input taken into", "Nothing of standard input is new to"):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(out.encode())))
        code, told, _ = ran(capsys, "load", "-", "--store", tmp_path / "new.armrise")
        assert code == 0
        assert told.startswith(said)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"{")))
    code, _, err = ran(capsys, "load", "-", "--store", tmp_path / "new.armrise")
    assert code == 1
    assert "line 1 column 2 is not JSON" in err


def test_the_line_of_a_diary_is_read_from_a_pipe(
    store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = ran(capsys, "strip", "BY-018", "-2: 221/221; whole", "--dry-run", "--store", store.path)
    monkeypatch.setattr(sys, "stdin", io.StringIO("-2: 221/221; whole\n"))
    assert ran(capsys, "strip", "by-018", "-", "--dry-run", "--store", store.path) == typed
    assert typed[0] == 0


def test_quiet_says_nothing_of_what_was_done_and_everything_of_what_was_not(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "all.json"
    assert ran(capsys, "export", file, "BY-003", "-q", "--store", store.path) == (0, "", "")
    assert json.loads(file.read_text())["cases"]
    assert ran(capsys, "--quiet", "load", file, "--store", tmp_path / "a.armrise") == (0, "", "")
    code, out, err = ran(capsys, "load", "--quiet", tmp_path / "none", "--store", tmp_path / "a.armrise")
    assert (code, out) == (1, "")
    assert "none" in err
    assert ran(capsys, "-q", "views", "--store", store.path)[1]  # what was asked for


# a terminal


@pytest.fixture
def on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    return monkeypatch


SIGNS = re.compile(r"\x1b\[[0-9;]*m")


@pytest.mark.parametrize("columns", [20, 60, 100, 500])
def test_a_listing_is_as_wide_as_the_terminal(
    store: Store, listed: list[Standing], monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setattr(
        terminal.shutil, "get_terminal_size", lambda fallback: SimpleNamespace(columns=columns, lines=24)
    )
    heading = plain_text.Heading(store.today(NOW), True, None, load())
    with terminal.as_wide_as_the_terminal():
        text = plain_text.as_text(listed, heading)
    widest = max(map(len, text.splitlines()))
    wanted = max(terminal.LEAST, min(terminal.MOST, columns))
    assert wanted - 8 <= widest <= wanted or columns == 20  # a word may be longer than a narrow line
    assert "".join(text.split()) == "".join(plain_text.as_text(listed, heading).split())


def test_colour_adds_no_word_and_takes_none_away(store: Store, listed: list[Standing]) -> None:
    text = plain_text.as_text(listed, plain_text.Heading(store.today(NOW), True, None, load()))
    made = terminal.coloured(text)
    assert SIGNS.sub("", made) == text
    assert "\x1b[1mTODAY (4)" in made
    assert "\x1b[33mNOT SIGNED OFF" in made


def test_no_colour_where_none_is_wanted_and_none_in_a_pipe(
    store: Store, on_a_terminal: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    on_a_terminal.setenv("NO_COLOR", "1")
    assert not re.search(r"\x1b\[[0-9;]*3\d", terminal.coloured("FICTIONAL CASELOAD: nobody\n"))
    on_a_terminal.setattr(sys.stdout, "isatty", lambda: False)
    assert "\x1b" not in ran(capsys, "views", "--store", store.path)[1]


def test_nothing_that_a_terminal_obeys_comes_out_of_the_record(
    on_a_terminal: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from armrise.tui.command.printing import tell

    tell(False, "list", lambda: {}, lambda: "evil \x1b[2J word\n")
    assert SIGNS.sub("", capsys.readouterr().out) == "evil <U+001B>[2J word\n"


def test_a_bar_is_for_a_terminal_and_for_what_takes_long(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(progress, "PATIENCE", 60)
    for stream, patience, shown in (
        (io.StringIO(), -1, False),
        (Terminal(), 60, False),
        (Terminal(), -1, True),
    ):
        monkeypatch.setattr(sys, "stderr", stream)
        monkeypatch.setattr(progress, "PATIENCE", patience)
        with progress.progress_bar("Cases counted") as bar:
            bar(1, 2)
            bar(2, 2)
        assert ("Cases counted" in stream.getvalue()) is shown


def test_a_bar_is_told_how_much_is_done_and_of_how_much(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[int, int]] = []

    class Bar:
        pos, length = 0, 1

        def __enter__(self) -> Bar:
            return self

        def __exit__(self, *_: object) -> None: ...

        def update(self, steps: int) -> None:
            self.pos += steps
            seen.append((self.pos, self.length))

    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setattr(progress, "PATIENCE", -1)
    monkeypatch.setattr(click, "progressbar", lambda **_: Bar())
    with progress.progress_bar("Case-days read") as tell:
        tell(3, 9)
        tell(9, 9)
    assert seen == [(3, 9), (9, 9)]


# a shell


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_what_a_shell_needs_is_printed(
    shell: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = ran(capsys, "completion", shell)
    assert code == 0
    assert f"{command.COMPLETING}={shell}_complete" in out


def completed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *words: str) -> list[str]:
    """What the shell offers for the last of these words."""
    monkeypatch.setenv(command.COMPLETING, "bash_complete")
    monkeypatch.setenv("COMP_WORDS", " ".join(words))
    monkeypatch.setenv("COMP_CWORD", str(len(words) - 1))
    with pytest.raises(SystemExit) as ended:
        command.run([])
    assert ended.value.code == 0
    return [line.partition(",")[2] for line in capsys.readouterr().out.splitlines() if line]


def test_a_shell_completes_commands_options_and_codes(
    store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("ARMRISE_STORE", str(store.path))
    assert completed(monkeypatch, capsys, "armrise", "ver") == ["verify"]
    assert "--pathway" in completed(monkeypatch, capsys, "armrise", "list", "--p")
    assert completed(monkeypatch, capsys, "armrise", "case", "by-02") == ["BY-021", "BY-024", "BY-027"]
    assert completed(monkeypatch, capsys, "armrise", "handover", "BY-003", "BY-00") == [
        "BY-003",
        "BY-007",
    ]
    assert set(cli.commands) == set(PLACES)


def test_a_shell_gets_no_code_of_a_store_that_is_not_to_be_had(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for place in (tmp_path / "none.armrise", "postgresql://tk@localhost:1/clinic"):
        monkeypatch.setenv("ARMRISE_STORE", str(place))
        assert completed(monkeypatch, capsys, "armrise", "case", "B") == []
