"""Sentences are a clinician's and no machine's: kinds of prose that no screen, listing or page may print.

They are looked for in ``tests/golden/texts``, which ``tests/test_golden.py`` holds to what is printed over
the whole demonstration.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from armrise.store.record.words import with_unit

TEXTS = Path(__file__).with_name("golden") / "texts"
READ = ("screen-case", "screen-patient", "screen-sweep", "list", "due", "minutes", "forms", "why", "audit")
"""What somebody reads. ``case`` opens every working, value by value, for whoever checks a rule."""
VERDICT = r"(?:ready|refer|on hold|not yet|unknown)\b"
MACHINE = {
    "the same words twice, once in brackets": r"\b(\w[\w ]{3,}) \(\1\)",
    "a value that is missing, in the program's word": r"\bNone\b|\bnull\b|\bnan\b",
    "a list of alternatives strung together": r"\bor [^.;:,\n]{2,60} or [^.;:,\n]{2,60} or ",
    "a negation of a negation": r"needed none open",
    "a verdict that says itself twice": rf"(?i)\b{VERDICT}[:;] {VERDICT}",
    "a class by its code": r"\bclass [A-Z]\d\b|\bof [A-Z]\d\b|\([A-Z]\d\)",
    "one of many": r"\b1 (?:days|weeks|points|sessions|cases|mornings|visits|exercises|nights)\b",
    "a plural in brackets": r"\w\(s\)",
    "a score of severity without a measure": r"severity \d",
}


@pytest.mark.parametrize("kind", MACHINE)
@pytest.mark.parametrize("name", READ)
def test_no_machine_prose(name: str, kind: str) -> None:
    told = (TEXTS / f"{name}.txt").read_text(encoding="utf-8")
    joined = re.sub(r"\n +(?![ -])", " ", told)  # a sentence that goes on in the next line
    found = re.search(MACHINE[kind], joined)
    assert found is None, joined[max(0, found.start() - 80) : found.end() + 40]


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("the same words twice, once in brackets", "source: common practice (common practice)"),
        ("a list of alternatives strung together", "A or the shoulder or patient accepts or B"),
        ("a verdict that says itself twice", "READY: ready to step forward"),
        ("a verdict that says itself twice", "UNKNOWN; unknown: external rotation"),
        ("a class by its code", "load class A1"),
        ("one of many", "after 1 days"),
        ("a score of severity without a measure", "since today; severity 3"),
    ],
)
def test_each_kind_is_found_where_it_stands(kind: str, said: str) -> None:
    assert re.search(MACHINE[kind], said)


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        ("1", "nights a week", "1 night a week"),
        ("2", "nights a week", "2 nights a week"),
        ("1", "days", "1 day"),
        ("1.5", "kg", "1.5 kg"),
        ("1", "", "1"),
    ],
)
def test_one_of_a_unit_is_one(value: str, unit: str, said: str) -> None:
    assert with_unit(value, unit) == said
