"""Ranges on one line: worked lines, refusals, and what holds for every line.

Grammar: practice note 1.3 (one line in fixed order, "." repeats and is marked). Levels behind the back:
evidence table 6.1 (order from memory, numbering by design).
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armrise.store.record.fields import Absence
from armrise.tui.forms.measures.range_line_parse import (
    ABSENT,
    BAR,
    LEVELS,
    LIMITED,
    REPEAT,
    Asked,
    Line,
    Reading,
    read,
    shown,
    words,
)
from tests.clinic.build import rules

SIDES = ("RIGHT", "LEFT")
D = Decimal


def asked(
    name: str, said: str, places: int = 0, before: tuple[int | None, int | None] = (None, None)
) -> Asked:
    spec = rules().measures[name]
    held = [None if value is None else D(value) for value in before]
    return Asked(name, said, spec.low, spec.high, spec.unit, places, *held)


ACTIVE = (
    asked("active_flexion", "flexion", before=(140, None)),
    asked("active_abduction", "abduction"),
    asked("active_external_rotation", "external rotation at side"),
    asked("hand_behind_back", "hand behind back"),
)
KG = (asked("external_rotation_strength", "external rotation", 2),)


def test_the_line_of_the_practice_note() -> None:
    line = read("150 90 45 T7 | 170 110 60 T5", ACTIVE, SIDES)
    assert line.faults == ()
    assert [(r.measure, r.affected, r.value) for r in line.readings] == [
        ("active_flexion", True, D(150)),
        ("active_abduction", True, D(90)),
        ("active_external_rotation", True, D(45)),
        ("hand_behind_back", True, D(13)),
        ("active_flexion", False, D(170)),
        ("active_abduction", False, D(110)),
        ("active_external_rotation", False, D(60)),
        ("hand_behind_back", False, D(15)),
    ]


def test_it_is_said_back_in_words_before_it_is_written() -> None:
    line = read(". 90p - sac | 170 d x T5g", ACTIVE, SIDES)
    assert words(line, ACTIVE, SIDES) == [
        "RIGHT: flexion 140 repeated, not measured, abduction 90 limited by pain, "
        "external rotation at side not measured, hand behind back sacrum",
        "LEFT: flexion 170, abduction declined, external rotation at side prohibited, "
        "hand behind back T5 limited by guarding",
    ]
    assert line.readings[0] == Reading("active_flexion", True, D(140), repeated=True)


@pytest.mark.parametrize(
    ("text", "level"),
    [("trochanter", 0), ("buttock", 1), ("sa", 2), ("L5", 3), ("l1", 7), ("t12", 8), ("T11", 9), ("T1", 19)],
)
def test_levels_behind_the_back(text: str, level: int) -> None:
    # Evidence table 6.1: trochanter 0, buttock 1, sacrum 2, L5 3 ... L1 7, T12 8, T11 9 ... T1 19.
    (reading,) = read(f"0 0 0 {text}", ACTIVE, SIDES).readings[3:]
    assert reading.value == level


def test_what_is_left_out_is_not_recorded_and_nought_is_nought() -> None:
    assert read("", ACTIVE, SIDES) == Line()
    assert read("   | ", ACTIVE, SIDES) == Line()
    assert read("0", ACTIVE, SIDES).readings == (Reading("active_flexion", True, D(0)),)
    assert read("| 170", ACTIVE, SIDES).readings == (Reading("active_flexion", False, D(170)),)


def test_strength_takes_decimals_and_degrees_do_not() -> None:
    assert read("6.2 | 12.4", KG, SIDES).readings[1].value == D("12.4")
    assert read("90.5", ACTIVE, SIDES).faults == (
        'value 1 RIGHT, flexion: "90.5" is no whole number, allowed is 0 to 180 degrees.',
    )


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("190", 'value 1 RIGHT, flexion: "190" is out of range, allowed is 0 to 180 degrees.'),
        (
            "150 90 45 T7 | 170 110 111",
            'value 3 LEFT, external rotation at side: "111" is out of range, allowed is -20 to 110 degrees.',
        ),
        ("15O", 'value 1 RIGHT, flexion: "15O" is no number, allowed is 0 to 180 degrees, or . - d x.'),
        ("1 | .", 'value 1 LEFT, flexion: "." repeats the value before, and there is none.'),
        (
            "1 2 3 7",
            'value 4 RIGHT, hand behind back: "7" is no level, allowed is trochanter, buttock, sacrum, '
            "L5 to L1, T12 to T1.",
        ),
        (
            "1 2 3 T13",
            'value 4 RIGHT, hand behind back: "T13" is no level, allowed is trochanter, buttock, sacrum, '
            "L5 to L1, T12 to T1.",
        ),
        ("1 2 3 T7 5", 'value 5 RIGHT: "5" is one too many, 4 are asked for on each side.'),
        ("1 | 2 | 3", 'one "|" parts RIGHT from LEFT; 2 are typed.'),
    ],
)
def test_a_refusal_names_position_value_and_what_is_allowed(text: str, fault: str) -> None:
    assert read(text, ACTIVE, SIDES).faults == (fault,)


def test_a_refused_value_takes_no_other_with_it() -> None:
    line = read("150 300 45", ACTIVE, SIDES)
    assert [r.value for r in line.readings] == [150, 45]
    assert [r.measure for r in line.readings] == ["active_flexion", "active_external_rotation"]


def a_reading(of: Asked, affected: bool) -> st.SearchStrategy[Reading]:
    limits = st.sampled_from([None, "pain", "guarding"])
    whole = st.integers(int(of.low), int(of.high)).map(Decimal)
    number = whole if not of.places else st.decimals(of.low, of.high, places=2)
    absent = st.sampled_from([Absence.NOT_MEASURED, Absence.DECLINED, Absence.PROHIBITED])
    options = [
        st.tuples(number, limits).map(lambda v: Reading(of.measure, affected, v[0], False, v[1])),
        absent.map(lambda why: Reading(of.measure, affected, why)),
    ]
    before = of.before(affected)
    if before is not None:
        options.append(st.just(Reading(of.measure, affected, before, repeated=True)))
    return st.one_of(options)


def a_side(of: tuple[Asked, ...], affected: bool) -> st.SearchStrategy[list[Reading]]:
    return st.integers(0, len(of)).flatmap(
        lambda n: st.tuples(*(a_reading(one, affected) for one in of[:n])).map(list)
    )


def written(readings: Sequence[Reading], asked: Sequence[Asked]) -> str:
    """The line that says ``readings``."""
    halves = [" ".join(token(r, asked) for r in readings if r.affected is side) for side in (True, False)]
    return f"{halves[0]} {BAR} {halves[1]}".strip() if halves[1] else halves[0]


def token(reading: Reading, asked: Sequence[Asked]) -> str:
    if reading.repeated:
        return REPEAT
    if isinstance(reading.value, Absence):
        return next(sign for sign, absent in ABSENT.items() if absent is reading.value)
    limit = next((sign for sign, words in LIMITED.items() if words == reading.limited_by), "")
    return shown(reading.value, next(one for one in asked if one.measure == reading.measure)) + limit


@given(own=a_side(ACTIVE, True), other=a_side(ACTIVE, False))
def test_what_is_written_is_read_back(own: list[Reading], other: list[Reading]) -> None:
    readings = (*own, *other)
    assert read(written(readings, ACTIVE), ACTIVE, SIDES) == Line(readings)


@given(own=a_side(KG, True), other=a_side(KG, False))
def test_kilograms_are_read_back(own: list[Reading], other: list[Reading]) -> None:
    readings = (*own, *other)
    assert read(written(readings, KG), KG, SIDES) == Line(readings)


@given(text=st.text(alphabet="0159 .-dxpgTLs|tbuaZ", max_size=24))
def test_nought_is_never_read_where_none_was_typed(text: str) -> None:
    """A value of nought in degrees comes of a typed 0 alone; every token is a reading or a fault."""
    line = read(text, ACTIVE, SIDES)
    if text.count("|") < 2:
        assert len(line.readings) + len(line.faults) == len(text.replace("|", " ").split())
    noughts = [r for r in line.readings if r.value == 0 and r.measure != "hand_behind_back"]
    assert not noughts or "0" in text


def test_every_level_has_its_own_number() -> None:
    spec = rules().measures["hand_behind_back"]
    assert len(set(LEVELS)) == len(LEVELS) == spec.high - spec.low + 1
