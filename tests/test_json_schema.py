"""The printed schemas hold what is really read and printed, and refuse what the reader refuses.

Judge: jsonschema, an implementation of JSON Schema 2020-12 from outside the project.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from copy import deepcopy
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from armrise.store.caseload import trial
from armrise.store.clinic.standing.explain import explain
from armrise.store.entries.build import HEAD, ONLY_BESIDE, FieldRule, build, build_head, field_rules
from armrise.store.exchange.into.caseload_file import CaseloadRefused, demo_path, parse
from armrise.store.exchange.out.formats import stamped
from armrise.store.exchange.out.schema_caseload import key_of
from armrise.store.exchange.schemas import SCHEMAS
from armrise.store.record.case import KINDS
from armrise.store.record.fields import (
    Absence,
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Rule,
    Series,
    Whole,
    Words,
)
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.rules.read import SHIPPED, load
from armrise.tui.command.main import run
from tests.clinic.demo_records import demo, records

T = date(2026, 3, 2)
GOLDEN = Path(__file__).parent / "golden" / "texts"


@cache
def checked(name: str) -> Any:
    """A printed schema, which is one."""
    schema = json.loads(json.dumps(SCHEMAS[name]()))
    Draft202012Validator.check_schema(schema)
    return schema


@cache
def validator(name: str, part: str = "") -> Draft202012Validator:
    """The judge over a printed schema, or over one of its parts."""
    schema = checked(name)
    if part:
        schema = {"$ref": f"#/$defs/{key_of(part)}", "$defs": schema["$defs"]}
    return Draft202012Validator(schema)


def faults(of: Draft202012Validator, value: Any) -> list[str]:
    return [f"{error.json_path}: {error.message}" for error in of.iter_errors(value)]


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    assert run(words) == 0
    return json.loads(capsys.readouterr().out)


# what is printed


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_schema_is_printed_whole(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(capsys, "schema", name) == SCHEMAS[name]()
    assert validator(name).schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_every_schema_is_named_by_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["schema"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(SCHEMAS)
    assert run(["schema", "letter"]) == 2
    assert "allowed is one of caseload, list" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["list", "case", "why"])
def test_63_the_severity_of_every_reason_is_told(name: str) -> None:
    """By the names and in the order of ruling 63's table: a reason is told once, where it is declared."""
    told: str = SCHEMAS[name]()["$defs"]["reason"]["properties"]["severity"]["description"]
    said = dict(part.split(": ", 1) for part in told.removeprefix("larger first. ").split(". "))
    assert list(said) == [row.name for row in sorted(load().ranks.values(), key=lambda row: row.rank)]
    assert said["urgent message"] == "2 with a warning word, 1 other"
    assert all(said.values())


PRINTED: dict[str, list[Any]] = {}


def outputs(name: str, capsys: pytest.CaptureFixture[str]) -> list[Any]:
    """What a command prints as JSON over the demonstration, printed once and copied for each test."""
    if name not in PRINTED:
        PRINTED[name] = printed_by(name, capsys)
    return deepcopy(PRINTED[name])


def printed_by(name: str, capsys: pytest.CaptureFixture[str]) -> list[Any]:
    """The same from the command itself, or from the golden files, which are what it prints."""
    match name:
        case "caseload":
            return [json.loads(demo_path().read_bytes())]
        case "list":
            return [stamped("list", {"cases": json.loads((GOLDEN / "standings.json").read_bytes())})]
        case "case":
            rules = load()
            return [
                json.loads(json.dumps(stamped("case", explain(record, rules, T))))
                for record in records(demo())
            ]
        case "why":
            now = printed(capsys, "why", "BY-018", "--demo", "--json")
            then = printed(capsys, "why", "BY-015", "--demo", "--json", "--as-of", "2026-02-16")
            assert now["known_since"] == [] != then["known_since"]
            return [then, now]
        case "audit":
            year = printed(capsys, "audit", "--demo", "--json", "--from", "2025-03-01", "--to", "2026-02-28")
            assert year["groups"][0]["overrides"]
            return [year, json.loads((GOLDEN / "audit.json").read_bytes())]
        case _:
            words = {"keys": ["keys"], "rules": ["rules", "show"]}[name]
            return [printed(capsys, *words, "--json")]


ELSEWHERE = ("trial", "verify", "due", "minutes", "handover", "views", "csv", "person")
"""Outputs that the tests of their commands hold against the schema."""


@pytest.mark.parametrize("name", [name for name in SCHEMAS if name not in ELSEWHERE])
def test_the_demonstration_is_what_the_schema_says(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    for value in outputs(name, capsys):
        assert faults(validator(name), value) == []


@pytest.mark.parametrize("name", ["list", "case", "why", "audit"])
def test_a_field_more_or_less_is_refused(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Else a field could go from the output, or come to it, and the schema would not be told."""
    value = outputs(name, capsys)[0]
    if name == "audit":
        value["groups"] = value["groups"][:1]
    if name == "list":
        value["cases"] = value["cases"][:2]
    for path in objects(value):
        for change in (more, less):
            altered = deepcopy(value)
            if change(at(altered, path)):
                assert not validator(name).is_valid(altered), (path, change.__name__)


def more(found: dict[str, Any]) -> bool:
    found["another"] = None
    return True


def less(found: dict[str, Any]) -> bool:
    """Take away a field that is always there."""
    name = next((name for name in reversed(found) if name not in ("parts", "pace")), "")
    return bool(name) and (found.pop(name), True)[1]


def objects(
    value: Any, path: tuple[Any, ...] = (), seen: set[Any] | None = None
) -> Iterator[tuple[Any, ...]]:
    """A path to one object of each sort."""
    seen = set() if seen is None else seen
    sort = tuple(part for part in path if isinstance(part, str))
    if isinstance(value, dict) and sort not in seen and sort[-1:] not in FREE:
        seen.add(sort)
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in inner:
        yield from objects(part, (*path, key), seen)


FREE = [("discharges",), ("slots",), ("override_categories",), ("override_followed",), ("holds",)]
"""Counts by word: whichever words there are."""


def at(value: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        value = value[key]
    return value


def test_a_trial_of_changed_rules_is_what_its_schema_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ten minimum days in RC2 instead of fourteen, over the cases that differ by it."""
    folder = tmp_path / "shorter"
    shutil.copytree(SHIPPED, folder)
    head, stage = (folder / "RC.toml").read_text().split('code = "RC2"')
    (folder / "RC.toml").write_text(f'{head}code = "RC2"{stage.replace("days = 14", "days = 10", 1)}')
    every = trial.plan
    monkeypatch.setattr(trial, "plan", lambda store, **days: every(store, **days)[14:20])
    found = printed(capsys, "rules", "trial", str(folder), "--demo", "--from", "2026-02-16", "--json")
    assert found["differences"]
    assert faults(validator("trial"), found) == []
    assert faults(validator("trial"), found | {"another": 1})


# what is read: the schema beside the reader, field by field


def good(rule: Rule) -> list[Any]:
    """Values at the ends of what the rule allows."""
    match rule:
        case Choice():
            return list(rule.words)
        case Words():
            return ["x" * rule.shortest, "é" * rule.longest, f"  {'x' * rule.longest} "]
        case Flag():
            return [True, False]
        case Day():
            return ["2026-02-27", 0, -60_000, "1900-01-01", "2199-12-31"]
        case ClockTime():
            return ["00:00", "08:40", "19:59", "23:59"]
        case Series():
            most = [rule.high] * rule.most
            return [[], [rule.low], most, *([[rule.low, None]] if rule.blanks else [])]
        case Children():
            return [[], [least(DoneItem)]]
        case _:
            absent = [word.value for word in Absence] if rule.absent else []
            return [rule.low, rule.high, *absent]


def bad(rule: Rule) -> list[Any]:
    """Values just beyond it, of another type, absences where none is allowed."""
    match rule:
        case Choice():
            return [*({""} - {*rule.words}), "perhaps", rule.words[0].upper() + " ", 1, True, []]
        case Words():
            short = ["x" * (rule.shortest - 1)] if rule.shortest > 1 else []
            return [
                *short,
                "",
                "   ",
                "x" * (rule.longest + 1),
                "two\nlines",
                "x\n",
                "\tx",
                "bell\x07bell",
                3,
                [],
            ]
        case Flag():
            return ["yes", 1, 0, "not asked"]
        case ClockTime():
            return ["24:00", "8:40", "08:60", "08:40\n", "08.40", "noon", "", 840, True, []]
        case Day():
            return [
                "27 Feb",
                "2026-2-7",
                "1899-12-31",
                "2200-01-01",
                "2026-02-27\n",
                60_001,
                1.5,
                True,
                "soon",
            ]
        case Series():
            blank = [] if rule.blanks else [[rule.low, None]]
            return [
                *blank,
                [rule.low - 1],
                [rule.high + 1],
                [rule.low] * (rule.most + 1),
                ["1"],
                "1 2",
                1,
                None,
            ]
        case Children():
            return [
                [1],
                [{}],
                {},
                [least(DoneItem) | {"another": 1}],
                [least(DoneItem) | {"load_class": "Z9"}],
            ]
        case _:
            absent = [] if rule.absent else [word.value for word in Absence]
            half = [rule.low + 0.5] if isinstance(rule, Whole) else []
            return [rule.low - 1, rule.high + 1, *half, *absent, "NOT ASKED", "3", True, []]


def least(of: type) -> dict[str, Any]:
    """A record that states only what is needed."""
    return {spec.name: good(spec.rule)[0] for spec in field_rules(of) if spec.required}


def read(kind: str, raw: dict[str, Any]) -> bool:
    """Whether the reader takes it."""
    return build(kind, raw, case="C", label="entry 1", base=T)[0] is not None


FIELDS = [(kind, spec) for kind, of in KINDS.items() for spec in field_rules(of) if kind != Correction.KIND]


@pytest.mark.parametrize(("kind", "spec"), FIELDS, ids=[f"{kind} {spec.name}" for kind, spec in FIELDS])
def test_a_field_is_taken_and_refused_by_schema_and_reader_alike(kind: str, spec: FieldRule) -> None:
    entry, judge = {"on": 0, **least(KINDS[kind])}, validator("caseload", kind)
    decides, allowing, only = ONLY_BESIDE.get(kind, ("", (), ()))
    if spec.name in only:
        entry[decides] = allowing[0]
    if only and spec.name == decides:
        entry |= dict.fromkeys(only)
        entry = {name: value for name, value in entry.items() if name not in only}
    for value in good(spec.rule):
        stated = entry | {spec.name: value}
        assert read(kind, stated), (value, "reader")
        assert faults(judge, {"kind": kind, **stated}) == [], value
    for value in [*bad(spec.rule), *([None] if spec.required or spec.default is not None else [])]:
        stated = entry | {spec.name: value}
        assert not read(kind, stated), (value, "reader")
        assert faults(judge, {"kind": kind, **stated}), value


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != Correction.KIND])
def test_a_kind_takes_its_fields_and_no_other(kind: str) -> None:
    entry, judge = {"on": 0, **least(KINDS[kind])}, validator("caseload", "entry")
    every = {"author": "TK", "source": "surgeon", "history": True, "recorded": 0, "label": "here"}
    assert faults(judge, {"kind": kind, **entry, **every}) == []
    for altered in (entry | {"another": 1}, {n: v for n, v in entry.items() if n != "on"}):
        assert not read(kind, altered)
        assert faults(judge, {"kind": kind, **altered})
    for name in least(KINDS[kind]):
        without = {n: v for n, v in entry.items() if n != name}
        assert not read(kind, without)
        assert faults(judge, {"kind": kind, **without}), name


@pytest.mark.parametrize(
    "recorded", ["2026-03-01", -1, "2026-03-01T09:30:00+00:00", "2026-03-01T09:30Z", None]
)
def test_an_instant_with_its_offset_is_taken(recorded: Any) -> None:
    entry = {"on": -1, "recorded": recorded, **least(KINDS["visit"])}
    assert read("visit", entry)
    assert faults(validator("caseload", "visit"), {"kind": "visit", **entry}) == []


@pytest.mark.parametrize("recorded", ["2026-03-01T09:30:00", "yesterday", 1.5, True, "+00:00"])
def test_an_instant_without_is_refused(recorded: Any) -> None:
    entry = {"on": -1, "recorded": recorded, **least(KINDS["visit"])}
    assert not read("visit", entry)
    assert faults(validator("caseload", "visit"), {"kind": "visit", **entry})


@pytest.mark.parametrize("kind", ONLY_BESIDE)
def test_what_says_something_beside_some_answers_alone(kind: str) -> None:
    decides, allowing, only = ONLY_BESIDE[kind]
    rules = {spec.name: spec.rule for spec in field_rules(KINDS[kind])}
    for word in rules[decides].words:  # type: ignore[union-attr]
        entry = {"on": 0, **least(KINDS[kind]), decides: word}
        for name in only:
            stated = entry | {name: good(rules[name])[0]}
            assert read(kind, stated) == (word in allowing)
            assert (faults(validator("caseload", kind), {"kind": kind, **stated}) == []) == (word in allowing)


HEADS = {"person": "P", "side": "LEFT", "pathway": "RC", "registered": -3}
OF_A_STORE: dict[str, Any] = {"format": "armrise caseload 2"}
NUMBERED = {"kind": "visit", "on": 0, "number": 3, "written_with": 2, "recorded_on": 0}


@pytest.mark.parametrize("name", HEAD)
def test_the_head_of_a_case_is_taken_and_refused_alike(name: str) -> None:
    for value in [*good(HEAD[name]), *bad(HEAD[name])]:
        stated = HEADS | {name: value}
        taken = build_head(stated, code="C", base=T)[0] is not None
        assert taken == (value in good(HEAD[name]))
        assert (faults(validator("caseload", "case"), {"code": "C", **stated}) == []) == taken, value


@pytest.mark.parametrize(
    ("change", "taken"),
    [
        ({}, True),
        ({"clinic": "x" * 120}, True),
        ({"clinic": "x" * 121}, False),
        ({"fictional": "yes"}, False),
        ({"format": "another"}, False),
        ({"note": "an export"}, False),
        (OF_A_STORE | {"note": "an export"}, True),
        (OF_A_STORE | {"note": "x" * 1001}, False),
        ({"cases": [{"code": "C", **HEADS, "entries": [NUMBERED]}]}, False),
        (OF_A_STORE | {"cases": [{"code": "C", **HEADS, "entries": [NUMBERED]}]}, True),
        (OF_A_STORE | {"cases": [{"code": "C", **HEADS, "entries": [NUMBERED | {"number": 0}]}]}, False),
        ({"clinic_date": -3}, False),
        ({"zone": 3}, False),
        ({"another": 1}, False),
        ({"cases": {}}, False),
        ({"cases": [{"code": "a b", **HEADS}]}, False),
        ({"cases": [{"code": "C", **HEADS, "entries": {}}]}, False),
        ({"cases": [{"code": "C", **HEADS, "entries": [{"on": 0}]}]}, False),
        ({"cases": [{"code": "C", **HEADS, "entries": [{"kind": "tea", "on": 0}]}]}, False),
        ({"cases": [{"code": "C", **HEADS, "entries": [{"kind": "visit", "on": 0, "label": ""}]}]}, False),
    ],
    ids=str,
)
def test_the_frame_of_a_file_is_taken_and_refused_alike(change: dict[str, Any], taken: bool) -> None:
    file = {"format": "armrise caseload 1", "clinic_date": "2026-03-02", "zone": "UTC", "cases": []} | change
    assert (faults(validator("caseload"), file) == []) == taken
    try:
        parse(file, "file", load())
        assert taken
    except CaseloadRefused:
        assert not taken


def test_a_correction_points_by_a_label() -> None:
    judge = validator("caseload", Correction.KIND)
    entry = {"kind": "correction", "on": 0, "corrects": "there", "reason": "wrong side"}
    assert faults(judge, entry) == []
    assert faults(judge, entry | {"replaced_by": "here"}) == []
    for wrong in ({"corrects": 3}, {"corrects": None}, {"corrects": "x" * 41}, {"replaced_by": 3}):
        assert faults(judge, entry | wrong)


# the same in words


def test_every_kind_and_field_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["fields"]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    for kind, of in KINDS.items():
        part = text.split(f"\n{kind.upper()}\n")[1].split("\n\n")[0]
        for spec in field_rules(of):
            assert f"\n  {spec.name}{' (needed)' if spec.required else ''}: " in f"\n{part}", (
                kind,
                spec.name,
            )
        assert run(["fields", kind]) == 0
        assert capsys.readouterr().out == f"{kind.upper()}\n{part.rstrip()}\n"
    assert run(["fields", "tea"]) == 2
    assert "allowed is one of visit, session" in capsys.readouterr().err
