"""All faults of a set of rule files at once, each one sentence; and nothing makes the check crash."""

from __future__ import annotations

import copy
import random
import shutil
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from armrise.store.rules import read as rulefile
from armrise.store.rules.read import RuleFileError, faults, load

WHERE = {path.name: path.read_text(encoding="utf-8") for path in sorted(rulefile.SHIPPED.glob("*.toml"))}
DATA = {name: tomllib.loads(text, parse_float=str) for name, text in WHERE.items()}
untouched = cache(rulefile._read)
"""A shipped file decoded, once: what is read out of it changes nothing in it."""
ODD: list[Any] = [
    *("", "x", "two\nlines", "y" * 300, "RC", "other side", "measure"),
    *(-1, 0, 1, 5, 10**30, 2.5, float("nan"), float("inf"), True, False),
    *([], {}, [[]], [{}], ["P0", 3], {"days": 1}, {"a": {"b": []}}, [1, 2]),
]


def copied(folder: Path, edits: dict[str, list[tuple[str, str]]]) -> Path:
    shutil.copytree(rulefile.SHIPPED, folder)
    for name, pairs in edits.items():
        text = WHERE[name]
        for old, new in pairs:
            assert old in text, (name, old)
            text = text.replace(old, new, 1)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_the_shipped_rules_have_no_fault() -> None:
    assert faults() == ()


def test_every_fault_is_said_with_file_place_key_value_and_what_is_allowed(tmp_path: Path) -> None:
    folder = copied(
        tmp_path / "rules",
        {
            "RC.toml": [
                ("minimum = { days = 14,", 'minimum = { days = "ten",'),
                ("usual = { days = 35,", "usual = { days = 90,"),
                ('measure = "night_pain"', 'measure = "night_pane"'),
                ("during = { points = 4,", "during = { points = 11,"),
                ('name = "Build"', 'name = "Build"\ncolour = "red"'),
            ],
            "FS.toml": [('code = "FS"', 'code = "FX"')],
            "rules.toml": [
                ("rank = 7,", "rank = 8,"),
                ("take = { value = 7,", "take = { value = 2,"),
                ('status = "published" }', 'status = "hearsay" }'),
                ("low = 0", "low = 10"),
            ],
        },
    )
    found = faults(folder)
    for start in (
        "RC.toml, stage RC2, minimum, days: is 'ten', allowed is a whole number from 0 to 3660.",
        "RC.toml, stage RC2, usual: is 90, allowed is at most stall, which is 56.",
        "RC.toml, stage RC1, exit criterion 1, measure: is 'night_pane', allowed is one of",
        "RC.toml, stage RC2, limits, during, points: is 11, allowed is a whole number from 0 to 10.",
        "RC.toml, stage RC3, colour: is not known here, allowed are",
        "FS.toml, code: is FX, allowed is the name of the file, FS.",
        "rules.toml, ranks, LOST: has rank 8 like FLA, allowed is each rank once.",
        "rules.toml, figures, baseline.least: is 3, allowed is at most baseline.take, 2.",
        "rules.toml, figures, drift, other_watch, status: is 'hearsay', allowed is one of",
        "rules.toml, measures, worst_pain, low: is 10, allowed is less than high, 10.",
    ):
        assert any(fault.startswith(start) for fault in found), (start, found)
    assert len(found) == 10, found
    with pytest.raises(RuleFileError) as caught:
        load(folder)
    assert str(caught.value) in found


def test_a_file_that_is_no_toml_is_one_fault_and_the_others_are_still_read(tmp_path: Path) -> None:
    folder = copied(tmp_path / "rules", {"RC.toml": [("minimum = { days = 14,", "minimum = { days = -1,")]})
    (folder / "rules.toml").write_text("version = \n", encoding="utf-8")
    (folder / "exercises.toml").unlink()
    found = faults(folder)
    assert found[0].startswith("rules.toml: is not valid TOML")
    assert any(fault.startswith("exercises.toml: is missing from") for fault in found)
    assert any(fault.startswith("RC.toml, stage RC2, minimum, days: is -1") for fault in found)
    assert len(found) == 3, found


def test_an_empty_folder_is_a_fault_and_no_crash(tmp_path: Path) -> None:
    assert faults(tmp_path)[0].startswith("rules.toml: is missing")
    assert faults(tmp_path / "nowhere")[0].startswith("rules.toml: is missing")


def nodes(value: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) of a decoded file."""
    if isinstance(value, dict):
        return [(value, key) for key in value] + [spot for part in value.values() for spot in nodes(part)]
    if isinstance(value, list):
        spots = [(value, at) for at in range(len(value))]
        return spots + [spot for part in value for spot in nodes(part)]
    return []


def mutated(name: str, seed: int, number: int) -> dict[str, Any]:
    """A file with so many of its values replaced, removed or doubled; fewer where nothing is left of it."""
    chance = random.Random(seed)
    data = copy.deepcopy(DATA[name])
    for _ in range(number):
        spots = nodes(data)
        if not spots:
            break  # the only table of the file was removed: an empty file is a case of its own
        container, key = chance.choice(spots)
        match chance.randrange(4):
            case 0:
                del container[key]
            case 1 if isinstance(container, dict):
                container[chance.choice(["colour", "days", "code", "a b"])] = chance.choice(ODD)
            case 2 if isinstance(container, list):
                container.append(copy.deepcopy(container[key]))
            case _:
                container[key] = copy.deepcopy(chance.choice(ODD))
    return data


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(sorted(WHERE)), seed=st.integers(0, 10**9), number=st.integers(1, 6))
@example(name="exercises.toml", seed=215929, number=4)  # empties the file and has values left to change
def test_whatever_a_file_holds_the_check_names_faults_and_never_crashes(
    monkeypatch: pytest.MonkeyPatch, name: str, seed: int, number: int
) -> None:
    data = mutated(name, seed, number)

    def read(path: Path) -> dict[str, Any]:
        return data if path.name == name else untouched(path)

    with monkeypatch.context() as patched:
        patched.setattr(rulefile, "_read", read)
        found = faults()
        if found:
            with pytest.raises(RuleFileError) as caught:
                load()
            assert str(caught.value) in found
        else:
            load()
    assert all("\n" not in fault and fault.endswith(".") for fault in found)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from(sorted(WHERE)),
    at=st.integers(0, 40_000),
    junk=st.sampled_from(['"', "[", "]", "=", "{", "}", "\n", "#", "\x00", "9", "é", "[[", "1e9999", "-"]),
)
def test_a_slip_of_the_hand_anywhere_in_a_file_never_crashes(
    tmp_path: Path, name: str, at: int, junk: str
) -> None:
    folder = tmp_path / "rules"
    if not folder.exists():
        shutil.copytree(rulefile.SHIPPED, folder)
    text = WHERE[name]
    spot = at % len(text)
    (folder / name).write_text(text[:spot] + junk + text[spot:], encoding="utf-8")
    try:
        found = faults(folder)
    finally:
        (folder / name).write_text(text, encoding="utf-8")
    assert all("\n" not in fault and fault.endswith(".") for fault in found)
