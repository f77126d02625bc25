"""Any entry the record types allow can be typed in a generated form and comes back as it was."""

from __future__ import annotations

import dataclasses
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from armrise.store.entries.build import ONLY_BESIDE, field_rules
from armrise.store.entries.words import unprintable
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Absence, Children, Words
from armrise.store.record.kinds.measured import FINDINGS
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.programme import LOAD_CLASSES, DoneItem
from armrise.tui.forms.kit.entry_text import (
    EXAMPLE_ITEM,
    Unreadable,
    allowed_short,
    child_of,
    chosen,
    form_fields,
    read_texts,
    texts_of,
)
from tests.store.drafts import TODAY, records

TYPED = [kind for kind in KINDS if kind != Correction.KIND]


def trimmed(record: Any) -> Any:
    """The record with its texts as the store keeps them: no blanks around them."""
    changed: dict[str, Any] = {}
    for spec in field_rules(type(record)):
        value = getattr(record, spec.name)
        if isinstance(spec.rule, Words) and value is not None:
            changed[spec.name] = value.strip()
            assume(unprintable(value) is None)
            assume(spec.rule.shortest <= len(value.strip()))
        elif isinstance(spec.rule, Children):
            changed[spec.name] = tuple(trimmed(part) for part in value)
    return dataclasses.replace(record, **changed)


@pytest.mark.parametrize("kind", TYPED)
@settings(max_examples=25, suppress_health_check=[HealthCheck.filter_too_much], deadline=None)
@given(data=st.data())
def test_any_entry_can_be_typed_and_comes_back(kind: str, data: st.DataObject) -> None:
    entry = trimmed(data.draw(records(KINDS[kind])))
    decides, allowing, only = ONLY_BESIDE.get(kind, ("", (), ()))
    if only and getattr(entry, decides) not in allowing:
        cleared = {s.name: s.default for s in field_rules(type(entry)) if s.name in only}
        entry = dataclasses.replace(entry, **cleared)
    read = read_texts(kind, texts_of(entry), TODAY)
    assert read.faults == {}
    assert read.values == {one.name: getattr(entry, one.name) for one in form_fields(kind)}


def test_what_is_left_empty_is_what_the_record_holds_without_it() -> None:
    read = read_texts("session", {"on": "today"}, TODAY)
    assert read.values is not None
    assert read.values["during"] is Absence.NOT_ASKED
    assert read.values["items"] == ()
    assert read.values["ordinal"] == 1


def test_every_way_of_not_being_there_has_a_letter() -> None:
    """Practice note 6.1: four distinct values, none equal to 0 or no."""
    letters = {"n": "not measured", "a": "not asked", "d": "declined", "p": "prohibited"}
    for letter, word in letters.items():
        read = read_texts("measure", {"on": "today", "name": "night pain", "value": letter}, TODAY)
        assert read.values is not None
        assert read.values["value"] == Absence(word)
    zero = read_texts("measure", {"on": "today", "name": "night pain", "value": "0"}, TODAY)
    assert zero.values is not None
    assert zero.values["value"] == 0


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("value", "abc", 'value: "abc" is no number, allowed is a number from -20 to 200'),
        ("value", "400", "value: 400 is out of range, allowed is"),
        ("value", "", "value: is missing, needed is"),
        ("name", "sitting", '"sitting" is not in the list'),
        ("name", "passive", '"passive" could be 4 of the list'),
        ("name", "99", '"99" is not 1 to 18'),
        ("on", "sometime", '"sometime" is no date'),
        ("repeated", "maybe", '"maybe" is neither yes nor no'),
        ("rater", "a name too long for it", "rater:"),
    ],
)
def test_a_fault_names_the_field_the_value_and_what_is_allowed(field: str, text: str, words: str) -> None:
    texts = {"on": "today", "name": "passive flexion", "value": "90"} | {field: text}
    read = read_texts("measure", texts, TODAY)
    assert read.values is None
    assert words in read.faults[field]


def test_a_closed_list_takes_the_number_the_word_or_a_part_of_it() -> None:
    assert chosen(FINDINGS, "4") == FINDINGS[3]
    assert chosen(FINDINGS, "Shrug Seen") == "shrug seen"
    assert chosen(FINDINGS, "shrug") == "shrug seen"
    assert chosen(LOAD_CLASSES, "r1") == "R1"
    assert chosen(LOAD_CLASSES, "light resisted") == "R1"
    with pytest.raises(Unreadable, match="could be 2 of the list"):
        chosen(FINDINGS, "sling")


def test_dates_are_typed_as_words_and_those_ahead_only_where_they_may_be() -> None:
    read = read_texts("hold", {"on": "-3", "until": "+14", "reason": "holiday"}, TODAY)
    assert read.values is not None
    assert (read.values["on"], read.values["until"]) == (date(2026, 2, 27), date(2026, 3, 16))


def test_the_example_of_an_exercise_is_one() -> None:
    raw = child_of(DoneItem, EXAMPLE_ITEM, TODAY)
    assert raw["exercise"] == "wall slide"
    assert (raw["load_class"], raw["sets"], raw["sets_asked"]) == ("R1", 3, 3)


@pytest.mark.parametrize(
    ("line", "words"),
    [("three sets of wall slide", 'no ":"'), ("speed 3: wall slide", '"speed 3" is not one of')],
)
def test_an_exercise_that_cannot_be_read_says_why(line: str, words: str) -> None:
    with pytest.raises(Unreadable, match=words):
        child_of(DoneItem, line, TODAY)


def test_the_parts_of_an_exercise_are_checked_like_its_own_fields() -> None:
    read = read_texts("session", {"on": "today", "items": "load class R1, sets 99: wall slide"}, TODAY)
    assert "99 is out of range, allowed is a whole number from 0 to 20" in read.faults["items"]


@pytest.mark.parametrize("kind", TYPED)
def test_every_field_says_what_it_takes(kind: str) -> None:
    for one in form_fields(kind):
        said = allowed_short(one)
        assert said
        assert ("may stay empty" in said or "empty is" in said) != one.required or one.name == "on"
