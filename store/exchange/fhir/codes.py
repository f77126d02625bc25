"""The table of codes beside this file, read once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import INSTRUMENTS, MEASURES
from armrise.store.rules.pathway import Rules

FILE = Path(__file__).with_name("codes.toml")
OF_SESSION = {
    "during": "pain during exercise",
    "later": "pain later that day",
    "morning": "pain on the next waking",
}
"""The scores of a session by their fields: what the code of each is called."""
WAKING = "pain on waking"
SESSION = "exercise session"
STAGE = "stage"
PAINS = (*OF_SESSION.values(), WAKING)
WORDS = frozenset((*MEASURES, *INSTRUMENTS, *PAINS, SESSION, STAGE))
"""Everything that is told in an Observation."""
OF_TEN, POINTS = "of 10", "points"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit in words, and as UCUM writes it; empty for one that has no place in the table."""

    words: str
    ucum: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """One thing that is observed: the record's word for it, and what other systems call it."""

    code: str
    status: str = "own"
    loinc: str = ""
    display: str = ""
    snomed: str = ""
    sided: Mapping[str, str] = field(default_factory=dict[str, str])
    """LOINC codes that name the side too, by the side."""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One shoulder, in words and as SNOMED CT names it."""

    words: str
    snomed: str
    display: str
    source: str
    status: str


@dataclass(frozen=True)
class Table:
    """All of it; ``by_loinc`` gives what a LOINC code may mean, with the side where it names one."""

    codes: Mapping[str, Code]
    units: Mapping[str, str]
    sides: Mapping[str, Side]
    by_loinc: Mapping[str, tuple[tuple[str, str], ...]]


@cache
def table() -> Table:
    """The table of codes."""
    read = tomllib.loads(FILE.read_text(encoding="utf-8"))
    codes = {code: Code(code=code, **row) for row in read["code"] for code in row.pop("codes")}
    found: dict[str, list[tuple[str, str]]] = {}
    for code in codes.values():
        for side, loinc in {"": code.loinc, **code.sided}.items():
            if loinc:
                found.setdefault(loinc, []).append((code.code, side))
    return Table(
        codes,
        read["units"],
        {name: Side(**row) for name, row in read["sides"].items()},
        {loinc: tuple(meant) for loinc, meant in found.items()},
    )


def code_of(word: str) -> Code:
    """What other systems call one of :data:`WORDS`."""
    return table().codes.get(word) or Code(code=word)


def unit_of(word: str, rules: Rules, stated: str | None = None) -> Unit | None:
    """The unit of a value, None where there is none; ``stated`` is one that a strength test was taken in."""
    if word in (SESSION, STAGE):
        return None
    measure = rules.measures.get(word)
    words = stated or (measure.unit if measure else POINTS if word in INSTRUMENTS else OF_TEN)
    return Unit(words, table().units.get(words, ""))


def category_of(word: str, rules: Rules) -> str:
    """The category of an Observation: what is asked is a survey, what is measured an examination."""
    if word in (SESSION, STAGE):
        return "activity" if word == SESSION else "therapy"
    measure = rules.measures.get(word)
    return "exam" if measure and not measure.question else "survey"


ABSENCES: Mapping[Absence, tuple[str, str]] = {
    Absence.NOT_ASKED: ("not-asked", ""),
    Absence.DECLINED: ("asked-declined", ""),
    Absence.NOT_MEASURED: ("not-performed", ""),
    Absence.PROHIBITED: ("not-performed", Absence.PROHIBITED.value),
}
"""Each absence with its reason in the standard, and the record's own word where that says too little.

"not-permitted" of the standard is about profiles and types of data, and no limit of a shoulder.
"""
INCOMPLETE = ("unknown", "incomplete")
"""The same of a questionnaire that came back incomplete and has no total."""


def has_check_digit(loinc: str) -> bool:
    """True when the last digit of a LOINC code is the one that its other digits ask for (mod 10)."""
    body, _, check = loinc.partition("-")
    if not (body.isascii() and body.isdigit() and check.isascii() and check.isdigit() and len(check) == 1):
        return False
    doubled = (int(digit) * (2 - place % 2) for place, digit in enumerate(reversed(body)))
    return (sum(n - 9 if n > 9 else n for n in doubled) + int(check)) % 10 == 0
