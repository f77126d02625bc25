"""What the documents say is so: commands, keys, pictures, rooms.

``python -m tests.test_docs`` makes the made part of DEVELOPERS.md anew, and prints every room with its words.
"""

from __future__ import annotations

import ast
import json
import re
import shlex
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from textual.binding import Binding

from armrise.tui.app.app import ArmriseApp
from armrise.tui.board.board import BoardScreen
from armrise.tui.case.actions import CaseActions
from armrise.tui.command import commands
from armrise.tui.command import main as command
from armrise.tui.shell.keyname import is_key, printed
from armrise.tui.widgets.caselist import CaseList
from tests import held_against, pictures, rests_on
from tests.tour import TOUR

pytestmark = pytest.mark.usefixtures("worked_out_once")

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ARROWS = {"up": "↑", "down": "↓"}


# the made parts


def every_room() -> Iterator[tuple[Path, str]]:
    """Every folder with what it holds, each after the one it lies in."""
    for top in ("store", "tui"):
        for file in sorted((ROOT / top).rglob("__init__.py")):
            told = ast.get_docstring(ast.parse(file.read_text(encoding="utf-8"))) or ""
            yield file.parent.relative_to(ROOT), told.partition("\n")[0]


def rooms() -> str:
    """The folders of the page: those in a room below the first two are named, and told by the command."""
    lines: list[str] = []
    for path, told in every_room():
        if len(path.parts) <= 2:
            inner = [f"`{inside.name}`" for inside, _ in every_room() if inside.parent == path]
            named = f" In it: {', '.join(inner)}." if inner and len(path.parts) == 2 else ""
            lines.append(f"{'  ' * (len(path.parts) - 1)}- `{path.name}`: {told}{named}")
    return "\n".join(lines)


def all_rooms() -> str:
    """Every folder with what it holds, under the one it lies in."""
    return "\n".join(f"{'  ' * (len(path.parts) - 1)}{path.name}: {told}" for path, told in every_room())


MADE: dict[str, Callable[[], str]] = {
    "rooms": rooms,
}


def made(text: str) -> str:
    """The document with its made parts made anew."""
    for name, part in MADE.items():
        pattern = rf"(<!-- made: {name} -->\n).*?(<!-- /made -->)"
        text, found = re.subn(pattern, lambda m, part=part: f"{m[1]}{part()}\n{m[2]}", text, flags=re.DOTALL)
        assert found == 1, name
    return text


@pytest.mark.parametrize("name", MADE)
def test_the_made_parts_say_what_the_code_says(name: str) -> None:
    """The folders are those there are, each with its own words."""
    assert f"<!-- made: {name} -->\n{MADE[name]()}\n<!-- /made -->" in DEVELOPERS, (
        "make them anew: python -m tests.test_docs"
    )


# commands


def options(of: click.Command) -> set[str]:
    """The options of a command."""
    return {name for parameter in of.params for name in parameter.opts if name.startswith("--")}


def told_commands(text: str) -> Iterator[list[str]]:
    """The armrise commands of the shell blocks of a document."""
    for block in re.findall(r"```sh\n(.*?)```", text, flags=re.DOTALL):
        for line in block.splitlines():
            words = shlex.split(line, comments=True)
            if words and words[0].split("/")[-1] == "armrise":
                yield words[1:]


@pytest.mark.parametrize("name", sorted(commands.cli.commands))
def test_every_command_has_help_and_stands_in_the_readme(name: str) -> None:
    of = commands.cli.commands[name]
    assert of.help
    assert f"| `armrise {name}" in README
    for parameter in of.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, parameter.name
    for option in options(of):
        assert option in README, option


@pytest.mark.parametrize("words", [*told_commands(README), *told_commands(DEVELOPERS)], ids=" ".join)
def test_every_command_told_can_be_given(words: list[str]) -> None:
    """What a reader copies is understood: the command and its options exist."""
    if words:
        of = commands.cli.commands[words[0]]
        of.make_context(words[0], words[1:], resilient_parsing=False)
        assert {word for word in words if word.startswith("--")} <= options(of)


def test_the_commands_of_the_readme_do_what_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    (tmp_path / "demo_caseload.json").write_bytes((ROOT / "demo_caseload.json").read_bytes())
    monkeypatch.chdir(tmp_path)
    ran = [
        words for words in told_commands(README) if words[0] in ("list", "case", "load", "fields", "schema")
    ]
    assert len(ran) >= 7
    for words in ran:
        assert command.run(words) == 0, words
        printed = capsys.readouterr()
        assert printed.err == ""
        if "--json" in words or "schema" in words:
            json.loads(printed.out)


def test_the_pages_for_paper_told_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    told = [words for words in told_commands(README) if "--paper" in words]
    for words in told:
        assert command.run(words) == 0, words
    assert {words[0] for words in told} >= {"list", "due", "handover", "minutes", "audit"}
    assert {path.name for path in tmp_path.iterdir()} == {words[words.index("--paper") + 1] for words in told}
    assert capsys.readouterr().err == ""


def test_set_up_demo_and_tests_are_told_in_four_commands() -> None:
    told = [block.strip() for block in re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)]
    assert told[0] == "python3 -m venv .venv\n.venv/bin/pip install -e '.[test]'"
    assert told[1] == ".venv/bin/armrise demo"
    assert told[2] == ".venv/bin/python -m pytest"


def test_the_backups_and_the_restore_told_are_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The commands as they stand there, with the paths of this test in the place of those of the page."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    assert command.run(["load", str(ROOT / "demo_caseload.json")]) == 0
    (tmp_path / "stick").mkdir()
    here = {"/media/stick": "stick"}
    for words in told_commands(README):
        if words[0] == "backup":
            assert command.run([here.get(word, word) for word in words]) == 0
    copies = sorted((tmp_path / "data" / "armrise" / "backups").glob("caseload-*.armrise"))
    assert (len(copies), len(list((tmp_path / "stick").glob("*.armrise")))) == (2, 1)
    (words,) = [words for words in told_commands(README) if words[0] == "restore"]
    here[words[1]] = str(copies[0])
    assert command.run([*(here.get(word, word) for word in words), "--yes"]) == 0
    capsys.readouterr()
    assert command.run(["list"]) == 0
    assert "BY-007" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "code"), [(["list", "--demo"], 0), (["case", "no-such", "--demo"], 1), (["list", "--no"], 2)]
)
def test_the_exit_codes_are_those_told(words: list[str], code: int) -> None:
    assert command.run(words) == code
    assert f"\n| {code} | " in README


# keys


def bindings() -> Iterator[Binding]:
    """The bindings of the list, with those of the application."""
    for of in (ArmriseApp, BoardScreen, CaseActions, CaseList):
        yield from (found for found in of.BINDINGS if isinstance(found, Binding))


def test_every_key_of_the_list_stands_in_the_readme() -> None:
    table = README.partition("## Keys")[2].partition("## ")[0]
    for binding in bindings():
        for key in filter(is_key, binding.key.split(",")):
            shown = "`0` to `9`" if key.isdigit() else f"`{ARROWS.get(key) or printed(key)}`"
            assert shown in table, (binding.description, key)


# pictures


def test_the_pictures_of_the_readme_are_those_that_are_made() -> None:
    told = re.findall(r"!\[[^]]+\]\((\S+)\)", README)
    made = sorted([*(f"{name}.svg" for name in pictures.PICTURES), TOUR.name])
    assert sorted(told) == [f"tests/pictures/{name}" for name in made]
    assert sorted(path.name for path in pictures.FOLDER.iterdir()) == made


@pytest.mark.parametrize("name", pictures.PICTURES)
async def test_a_picture_shows_what_the_program_shows(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Word by word; how letters are drawn is left to the library that draws them."""
    for variable in ("NO_COLOR", "LC_ALL", "ARMRISE_ASCII", "ARMRISE_AUTHOR"):
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setenv("LANG", "C.UTF-8")
    now = await pictures.shoot(pictures.PICTURES[name], tmp_path)
    kept = (pictures.FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert pictures.words_of(kept) == pictures.words_of(now), "make them anew: python -m tests.pictures"


@pytest.mark.parametrize("name", pictures.PICTURES)
def test_a_picture_fetches_nothing_and_says_that_nobody_exists(name: str) -> None:
    kept = (pictures.FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert "FICTIONAL CASELOAD" in " ".join(pictures.words_of(kept))
    for link in ("@font-face", "@import", "href=", "src=", "url(http", "url('http", 'url("http'):
        assert link not in kept, link


# the rest


def test_the_readme_begins_with_the_job() -> None:
    paragraphs = README.split("\n\n")
    assert paragraphs[0] == "# armrise"
    for word in (
        "outpatient physiotherapist",
        "every active case",
        "stage",
        "overdue",
        "first",
        "why",
        "step",
    ):
        assert word in paragraphs[1], word


def test_the_cautions_are_there() -> None:
    cautions = README.partition("## Cautions")[2].partition("\n## ")[0]
    for words in (
        "never replaces it",
        "codes of practice",
        "surgeon's orders prevail",
        "prompt",
        "NOT SIGNED OFF",
        "device regulation",
        "questionnaire wording",
        "not encrypted",
        "no network",
    ):
        assert words in cautions, words


def test_the_developers_page_is_short_and_names_the_version() -> None:
    """Under 25 KB: what the program can print of itself is a command."""
    assert len(DEVELOPERS.encode()) < 25_000
    version = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert f"\n**{version}** " in DEVELOPERS.partition("## Change log")[2]


@pytest.mark.parametrize(
    "words", re.findall(r"`armrise ((?:fields|schema|keys|rules show)[ \w]*)`", DEVELOPERS)
)
def test_what_the_program_says_of_itself_is_said(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.run(words.split()) == 0
    assert capsys.readouterr().out


def test_what_the_numbers_rest_on_is_counted_from_the_rule_files() -> None:
    assert f"<!-- rests on -->\n{rests_on.table()}<!-- /rests on -->" in README, (
        "make it anew: python -m tests.rests_on"
    )


def test_what_the_tests_hold_against_is_read_from_the_tests() -> None:
    told = f"<!-- held against -->\n{held_against.table()}<!-- /held against -->"
    assert told in README, "make it anew: python -m tests.held_against"


@pytest.mark.parametrize(
    ("source", "named"),
    [
        ("two observers: de Winter 2004 BMC Musculoskelet Disord 5:18", ["de Winter 2004"]),
        ("Sci Rep 2022 (PMC8873420); JSES Int 2020 (PMC7846695)", ["Sci Rep 2022", "JSES Int 2020"]),
        ("UK FROST trial protocol (PMC5741880): rotation under half of the other side", ["PMC5741880"]),
        ("healing in 6 to 12 weeks: public leaflets, Hull HEY-1293", ["public leaflets"]),
        ("DASH scoring sheet, Institute for Work and Health", ["DASH scoring sheet"]),
    ],
)
def test_a_source_is_named_short(source: str, named: list[str]) -> None:
    assert rests_on.short(source) == named


def test_every_file_that_the_documents_name_is_there() -> None:
    for text in (README, DEVELOPERS):
        named = re.findall(r"`((?:store|tui|tests)/[\w./]+|\.ci/run|demo_caseload\.json)`", text)
        for name in [*named, *re.findall(r"\]\(([\w./-]+)\)", text)]:
            assert (ROOT / name).exists() or re.search("XX|roster", name), name


if __name__ == "__main__":
    (ROOT / "DEVELOPERS.md").write_text(made(DEVELOPERS), encoding="utf-8")
    print(all_rooms())
