"""What differs between two versions of the rules is said in plain lines, and nothing is left out."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.rules import read as rulefile
from armrise.store.rules.diff import difference
from armrise.store.rules.read import RuleFileError, load
from armrise.store.rules.rows import counted, pick, rows
from tests.store.test_rulefaults import WHERE, mutated, untouched

OLD = load()
DESIGN = 'source = "design of this clinic", status = "design"'


def after(tmp_path: Path, name: str, *edits: tuple[str, str]) -> tuple[str, ...]:
    """The difference after replacing texts in one file."""
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    text = WHERE[name]
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    (folder / name).write_text(text, encoding="utf-8")
    return difference(OLD, load(folder))


def test_the_same_rules_show_no_difference() -> None:
    assert difference(OLD, load()) == ()
    signed = replace(OLD, version="2", origin="elsewhere", doubt="changed since signed")
    assert difference(OLD, signed) == (), "version and signature stand in the heading"


MINIMUM = (
    'minimum = { days = 14, source = "common practice", status = "common practice" }\nusual = { days = 35'
)
PRECAUTION = '    "never two changes of load at once",\n'
GOAL = 'kind = "finding"\ntext = "plan for flares given"\nfinding = "flare plan given"\nanswer = "yes"\n'
GOAL += 'source = "common practice"\nstatus = "common practice"\n'


@pytest.mark.parametrize(
    ("name", "old", "new", "lines"),
    [
        (
            "RC.toml",
            MINIMUM,
            f"minimum = {{ days = 10, {DESIGN} }}\nusual = {{ days = 35",
            [
                "RC2, minimum days: 14 -> 10 (common practice -> design);"
                ' source "common practice" -> "design of this clinic"'
            ],
        ),
        (
            "RC.toml",
            MINIMUM,
            MINIMUM.replace('status = "common practice" }', 'status = "from memory" }', 1),
            ["RC2, minimum days: 14 (common practice -> from memory)"],
        ),
        (
            "RC.toml",
            'text = "worst pain 5 or less"\nmeasure = "worst_pain"\nat_most = 5',
            'text = "worst pain 4 or less"\nmeasure = "worst_pain"\nat_most = 4',
            [
                'RC1, exit criterion: "worst pain 5 or less" -> "worst pain 4 or less"'
                " (measure worst pain, at most 5 -> measure worst pain, at most 4)"
            ],
        ),
        (
            "RC.toml",
            'measure = "worst_pain"\nat_most = 5',
            'measure = "worst_pain"\nat_most = 6',
            [
                'RC1, exit criterion: "worst pain 5 or less":'
                " measure worst pain, at most 5 -> measure worst pain, at most 6"
            ],
        ),
        ("RC.toml", PRECAUTION, "", ['RC3, precaution: removed, "never two changes of load at once"']),
        (
            "RC.toml",
            "[[stage.exit]]\n" + GOAL,
            "",
            ['RC4, exit criterion: removed, "plan for flares given" (common practice)'],
        ),
        (
            "RC.toml",
            'adds = ["R2", "W2"]',
            'adds = ["R2"]',
            ['RC3, adds load classes: "R2 W2" -> "R2"'],
        ),
        ("RC.toml", 'name = "Settle"', 'name = "Calm"', ['RC1, name: "Settle" -> "Calm"']),
        (
            "rules.toml",
            'STL  = { rank = 23, tier = "move on", name = "long in stage" }\n'
            'PRM  = { rank = 24, tier = "move on", name = "outcome score due" }',
            'STL  = { rank = 24, tier = "move on", name = "long in stage" }\n'
            'PRM  = { rank = 23, tier = "move on", name = "outcome score owed" }',
            [
                'ranks, long in stage: "rank 23 in move on" -> "rank 24 in move on"',
                'ranks, outcome score owed: "outcome score due" -> "outcome score owed",'
                ' "rank 24 in move on" -> "rank 23 in move on"',
            ],
        ),
        (
            "rules.toml",
            "detectable = { points = 3, source",
            "detectable = { points = 4, source",
            ["NRS, detectable points: 3 -> 4"],
        ),
        (
            "exercises.toml",
            'name = "pendular swing"',
            'name = "pendulum"',
            [
                'exercises, pendular swing: removed, "load class P1, equipment table to lean on, sets 1,'
                ' reps 10, per week 21" (common practice)',
                'exercises, pendulum: added, "load class P1, equipment table to lean on, sets 1, reps 10,'
                ' per week 21" (common practice)',
            ],
        ),
    ],
)
def test_a_change_is_one_plain_line(tmp_path: Path, name: str, old: str, new: str, lines: list[str]) -> None:
    if name == "rules.toml" and "detectable = { points = 3" in old:
        start = WHERE[name].index("[instruments.NRS]")
        old = WHERE[name][start : WHERE[name].index("detectable", start)] + old
        new = old.replace("points = 3", "points = 4")
    assert list(after(tmp_path, name, (old, new))) == lines


def test_stages_that_come_and_go_are_one_line_each(tmp_path: Path) -> None:
    text = WHERE["RC.toml"]
    last = text[text.index('[[stage]]\ncode = "RC4"') :]
    assert after(tmp_path, "RC.toml", (last, last.replace("RC4", "RC5"))) == (
        "RC4 Return and self-manage: stage removed",
        "RC5 Return and self-manage: stage added",
    )


def test_criteria_in_another_order_are_said(tmp_path: Path) -> None:
    text = WHERE["RC.toml"]
    parts = text.split("[[stage.exit]]\n")
    assert after(
        tmp_path,
        "RC.toml",
        (parts[1] + "[[stage.exit]]\n" + parts[2], parts[2] + "[[stage.exit]]\n" + parts[1]),
    ) == ("RC1, exit criterion: in another order",)


def test_rows_count_each_status_and_are_found_by_place_and_status() -> None:
    every = rows(OLD)
    assert sum(number for _, number in counted(every)) == sum(1 for row in every if row.status)
    assert dict(counted(pick(every, "rc2"))) == {
        "published": 0,
        "common practice": 8,
        "from memory": 0,
        "design": 3,  # 70 % of the other side: ruling 89
    }
    memory = pick(every, status="from memory")
    assert {row.status for row in memory} == {"from memory"}
    assert any(row.place == ("figures", "dose") and row.name == "reps run" for row in memory)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(sorted(WHERE)), seed=st.integers(0, 10**9))
def test_whatever_changes_the_rules_is_in_the_difference(
    monkeypatch: pytest.MonkeyPatch, name: str, seed: int
) -> None:
    data = mutated(name, seed, 1)

    def read(path: Path) -> dict[str, Any]:
        return data if path.name == name else untouched(path)

    with monkeypatch.context() as patched:
        patched.setattr(rulefile, "_read", read)
        try:
            new = load()
        except RuleFileError:
            return
    same = replace(new, version=OLD.version, signed_by="", signed_on=None, doubt="") == replace(OLD, doubt="")
    assert bool(difference(OLD, new)) is not same
