"""Every option before every command, as declared: it counts for the command, or is refused in one sentence.

A command or an option that is declared later is tried by itself: the pairs are read from the command line.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import click
import pytest
from click.testing import CliRunner, Result

from armrise.tui.command import commands
from armrise.tui.command.options import Command
from armrise.tui.command.reading import CLINIC_DATE

ONE, OTHER = "one", "other"
"""Two values of an option that takes a text or a path; a day and a choice have their own."""


class Leaf(NamedTuple):
    """A command that does something, and the words that lead to it."""

    words: tuple[str, ...]
    command: click.Command


def leaves(group: click.Group, words: tuple[str, ...] = ()) -> Iterator[Leaf]:
    for name, found in group.commands.items():
        if isinstance(found, click.Group):
            yield from leaves(found, (*words, name))
        else:
            yield Leaf((*words, name), found)


def options(found: click.Command) -> list[click.Option]:
    return [o for o in found.params if isinstance(o, click.Option) and o.expose_value]


LEAVES = list(leaves(commands.cli))
GROUP_FLAGS = [o.opts[0] for o in options(commands.cli)]
EVERY_FLAG = sorted({o.opts[0] for leaf in LEAVES for o in options(leaf.command)} | set(GROUP_FLAGS))
EVERY_COMMAND = pytest.mark.parametrize(
    "leaf", [pytest.param(leaf, id=" ".join(leaf.words)) for leaf in LEAVES]
)


def option_of(found: click.Command, flag: str) -> click.Option | None:
    return next((o for o in options(found) if flag in o.opts), None)


def values(option: click.Option) -> tuple[str, str]:
    if isinstance(option.type, click.Choice):
        return str(option.type.choices[0]), str(option.type.choices[1])
    return ("2026-03-01", "2026-03-02") if option.type is CLINIC_DATE else (ONE, OTHER)


def typed(flag: str, option: click.Option | None, value: int = 0) -> list[str]:
    return (
        [flag] if option is not None and option.is_flag else [flag, values(option)[value] if option else ONE]
    )


def needed(leaf: Leaf) -> list[str]:
    """What the command cannot do without."""
    given: list[str] = []
    for param in leaf.command.params:
        if param.required:
            value = str(param.type.choices[0]) if isinstance(param.type, click.Choice) else ONE
            given += [param.opts[0], value] if isinstance(param, click.Option) else [value]
    return given


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What every command was called with; none of them does anything."""
    calls: list[dict[str, Any]] = []
    for leaf in LEAVES:
        monkeypatch.setattr(leaf.command, "callback", lambda **given: calls.append(given))
    return calls


def run(*arguments: str) -> Result:
    return CliRunner().invoke(commands.cli, arguments, prog_name="armrise")


def refused(done: Result, flag: str) -> None:
    assert done.exit_code == 2, flag
    assert done.stdout == "", flag
    assert [line for line in done.stderr.splitlines() if line.startswith("Error:") and flag in line]


def test_the_commands_are_found_and_each_takes_over_what_stands_before_it() -> None:
    assert {" ".join(leaf.words) for leaf in LEAVES} >= {"list", "demo", "load", "rules show", "rules trial"}
    assert {"--rules", "--author"} <= set(GROUP_FLAGS)
    assert all(isinstance(leaf.command, Command) for leaf in LEAVES)


@EVERY_COMMAND
def test_an_option_before_a_command_counts_for_it_or_is_refused(
    leaf: Leaf, ran: list[dict[str, Any]]
) -> None:
    for flag in EVERY_FLAG:
        ran.clear()
        own = option_of(leaf.command, flag)
        given = typed(flag, own or option_of(commands.cli, flag))
        before = run(*given, *leaf.words, *needed(leaf))
        if own is None or flag not in GROUP_FLAGS:
            refused(before, flag)
            assert ran == [], flag
            continue
        after = run(*leaf.words, *given, *needed(leaf))
        assert (before.exit_code, after.exit_code) == (0, 0), flag
        assert ran[0] == ran[1], flag
        run(*leaf.words, *needed(leaf))
        assert ran[0] != ran[2], flag


@EVERY_COMMAND
def test_twice_with_different_values_is_refused_and_with_the_same_value_counts(
    leaf: Leaf, ran: list[dict[str, Any]]
) -> None:
    for flag in GROUP_FLAGS:
        own = option_of(leaf.command, flag)
        if own is None:
            continue
        ran.clear()
        first, other = typed(flag, own), typed(flag, own, 1)
        refused(run(*first, *leaf.words, *other, *needed(leaf)), flag)
        refused(run(*first, *other, *leaf.words, *needed(leaf)), flag)
        assert ran == [], flag
        assert run(*first, *leaf.words, *first, *needed(leaf)).exit_code == 0, flag
        assert len(ran) == 1, flag


@EVERY_COMMAND
def test_twice_after_a_command_is_refused(leaf: Leaf, ran: list[dict[str, Any]]) -> None:
    for option in options(leaf.command):
        if not option.is_flag and not option.multiple:
            twice = typed(option.opts[0], option), typed(option.opts[0], option, 1)
            refused(run(*leaf.words, *twice[0], *twice[1], *needed(leaf)), option.opts[0])
            assert ran == [], option


def test_what_may_be_given_again_counts_each_time(ran: list[dict[str, Any]]) -> None:
    assert run("list", "--pathway", "PO", "--pathway", "FX", "--tier", "today").exit_code == 0
    assert (ran[0]["pathway"], ran[0]["tier"]) == (("PO", "FX"), ("today",))


def test_rules_alone_reads_the_folder_given_before_it(tmp_path: Path) -> None:
    folder = str(tmp_path / "rules")
    assert run("--rules", folder, "rules", "copy").exit_code == 0
    assert (tmp_path / "rules" / "4" / "rules.toml").is_file()
    alone = run("--rules", folder, "rules")
    assert "the clinic's own versions: 4" in alone.output
    assert alone.output == run("rules", "show", "--rules", folder).output
    refused(run("--author", "AB", "rules"), "--author")


def test_the_list_is_read_under_the_rules_given_before_it(tmp_path: Path) -> None:
    run("rules", "copy", "--rules", str(tmp_path))
    changed = tmp_path / "4" / "rules.toml"
    changed.write_text(changed.read_text("utf-8").replace('version = "4"', 'version = "tried"'), "utf-8")
    assert "Rules version tried," in run("--rules", str(tmp_path / "4"), "list", "--demo").output
    assert "Rules version 3," in run("list", "--demo").output


def test_a_refusal_says_what_to_do() -> None:
    said = run("--rules", "a", "keys").stderr
    assert said.endswith("Error: --rules does not count for armrise keys: leave it out\n")
    said = run("--rules", "a", "list", "--rules", "b").stderr
    assert said.endswith("Error: --rules is given twice, a and b: give one of them\n")
    assert run("list", "--at", "a", "--at", "b").stderr.endswith("Error: --at is given twice: give it once\n")
    said = run("--caseload", "a", "list").stderr
    assert said.endswith("Error: --caseload belongs after the command: armrise COMMAND --caseload\n")
    assert "No such option" in run("--colour", "list").stderr
