"""Cases to which, together, everything is said that a patient can be told; and words that are marks."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache

from armrise.store.clinic.advice.today import told_exercises
from armrise.store.clinic.case.view import View
from armrise.store.record.case import CaseRecord
from armrise.store.rules.pathway import Rules
from armrise.store.rules.words.beside_rules import said_by_rules
from armrise.store.rules.words.patient import PatientWords
from armrise.store.rules.words.read import english
from tests.clinic.build import Builder, case, rules, waiting
from tests.clinic.demo_records import demo, records

MARK = "¤"
TYPED = "QQ1"
"""An exercise whose name the clinician typed."""


def exercises(view: View) -> tuple[str, ...]:
    """Today's home exercises, each in one line."""
    return tuple(one.line(view.rules.words) for one in told_exercises(view))


class Followed(dict[str, str]):
    """Texts by key, and which of them were asked for."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        super().__init__(texts)
        self.asked: set[str] = set()

    def __getitem__(self, key: str) -> str:
        self.asked.add(key)
        return super().__getitem__(key)


def marked(text: str) -> str:
    """A text of which only the parts are left, each between marks."""
    parts = re.findall(r"\{\w+\}", text)
    return MARK + "".join(f"{part}{MARK}" for part in parts)


def in_marks() -> tuple[Rules, Followed]:
    """The rules in a language whose every word is a mark."""
    texts = Followed({key: marked(text) for key, text in english().said.items()})
    named = said_by_rules(rules())
    words = PatientWords(
        language="und",
        said=texts,
        red_flags={item: (MARK,) * len(lines) for item, lines in named["red_flags"].items()},
        stages=dict.fromkeys(named["stages"], MARK),
        exercises=dict.fromkeys(named["exercises"], MARK),
    )
    return rules().said_in(words), texts


@cache
def spoken_to() -> tuple[CaseRecord, ...]:
    """The whole demonstration, then a case for each sentence that it leaves unsaid."""
    return (
        *records(demo()),
        *(replace(one.record(), side=side) for one in _made() for side in ("LEFT", "RIGHT")),
    )


def _made() -> Iterator[Builder]:
    yield from _told()
    for stage, day in (
        ("PO1", 5),
        ("PO2", 19),
        ("PO3", 47),
        ("PO4", 89),
        ("AD1", 5),
        ("AD2", 12),
        ("FX1", 5),
    ):
        yield case(stage, day=5, onset=day)
    yield case("AD3", day=5, onset=47).mornings(-4, 6, 6, 6)
    for limit in (40, 0, -10):
        yield case("PO2", day=5).orders(
            -1, external_rotation_limit=limit, elevation_limit=90, lifting_limit=0
        )
    yield case("PO2", day=5).orders(-1, elevation_limit=60, lifting_limit=Decimal("1.5"), text="no driving")
    yield case("RC2", day=60).onset(-5, "surgery").orders(-1, sling_until=date(2027, 1, 8))
    yield case("PO2", day=19, onset=33).session(-1, 1, 1, None, R1=(3, 10))
    yield case("RC2", day=60, last_visit=40).missed(-12).contact(-3, "no answer")
    yield from _exercised()


def _told() -> Iterator[Builder]:
    yield waiting()
    yield case("RC2", day=5).event(-1, "fall")
    yield case("RC2", day=5).step(-1, "RC9", "forward")
    yield case("RC2", day=5).hold(-1, 9)
    yield case("RC4", day=30).discharge(-2)
    yield case("RC4", day=30).discharge(-2, "died")
    yield case("RC4", day=30).finding(-2, "open access set").discharge(-2)
    for item in rules().screen_items:
        yield case("PO2", day=5).screen(-1, item, "yes")
    for to in (0, 1, 9, 400):
        yield case("RC2", day=5).booked(to, at="09:20" if to else None)
    for stage in ("RC3", "PO3", "FS2"):
        for usual in (None, 2, 6):
            made = case(stage, day=30).programme(-20, "R1", exercise="band row", band=1)
            yield made if usual is None else made.mornings(-14, *[usual] * 10)
        yield case(stage, day=30).session(-3, 9, 9, None).session(-2, 9, 9, None)
    flaring = case("RC3", day=30).mornings(-14, *[2] * 10)
    flaring.programme(-28, "R1", exercise="band row", band=1).programme(-5, "R1", exercise="band row", band=2)
    yield flaring.session(-3, 4, 7, 6).session(-2, 4, 7, 6)


def _exercised() -> Iterator[Builder]:
    from armrise.store.clinic.programme.ladder import start_of
    from armrise.store.record.kinds.programme import ProgrammeItem

    for exercise in rules().exercises:
        yield case("RC4", day=5).add(ProgrammeItem, -1, **start_of(exercise))
    for often in (1, 2, 4, 7, 14, 21):
        yield case("RC4", day=5).programme(-1, "R1", 1, 8, exercise=TYPED, per_week=often, effort=4)
    for sets, kind in ((1, "R1"), (3, "R3")):  # the second is barred
        made = case("PO4" if kind == "R3" else "RC4", day=5, onset=89 if kind == "R3" else None)
        held = made.programme(-1, "S1", sets, 1, exercise="doorway stretch", hold=30, rest=1, sides="both")
        yield held.programme(-1, kind, 2, 8, exercise=TYPED, load=Decimal("1.50"))
    for lift in ("other arm lifts", "both ways", ""):
        for load in ({"band": 2}, {"load": Decimal(1)}):
            made = case("RC4", day=5).programme(-1, "R1", 1, 8, exercise=TYPED, assist=lift, **load)
            yield made
            slow = {"lift_s": 2, "pause_s": 1, "lower_s": 3, "lower_s_high": 4, "arc_to": 70}
            yield case("RC4", day=5).programme(-1, "R1", 1, 8, exercise=TYPED, assist=lift, **load, **slow)
