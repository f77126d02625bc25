"""Everything said to a patient comes from the file of words: nothing is said in the words of the code."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.advice.today import say_to_patient
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.missed import ABOUT as MISSED
from armrise.store.clinic.letter.missed import to_the_patient
from armrise.store.clinic.standing.stand import stand_view
from armrise.store.exchange.paper.letter import PrintedLetter, letter_page
from armrise.store.exchange.paper.page import Lines, Page, Part, Table, Text
from armrise.store.exchange.paper.patient import patient_page
from armrise.store.record.case import CaseRecord
from armrise.store.rules.pathway import Rules
from armrise.store.rules.words.patient import WordsError
from armrise.store.rules.words.read import english
from armrise.tui.case.patient import on_screen
from tests.clinic.build import TODAY, Builder, case, rules
from tests.clinic.spoken import TYPED, exercises, in_marks, spoken_to
from tests.clinic.test_properties import built

WORD = re.compile(r"[^\W\d_]{2,}")
TIME_OF_DAY = re.compile(r"\d\d:\d\d")


def page_texts(page: Page) -> list[str]:
    """Every text of a page but its code."""
    told = [page.title, *page.cautions, page.fictional, *page.foot]
    for part in (Part("", page.top), *page.parts):
        told.append(part.heading)
        for block in part.blocks:
            if isinstance(block, Text):
                told.append(block.text)
            elif isinstance(block, Lines):
                told += block.items
            elif isinstance(block, Table):
                told += [*block.head, *block.notes, *(cell for row in block.rows for cell in row)]
    return told


def all_said(record: CaseRecord, under: Rules) -> list[str]:
    view = View.of(record, under, TODAY)
    found = sheet(view)
    said = [found.title, found.date, *found.say, found.scale, *found.exercises, found.next_visit]
    said += [*found.ring_us, found.emergency, *say_to_patient(view), *exercises(view), *to_the_patient(view)]
    if found.say:
        said += [piece.text for piece in on_screen(found, record.code)]
    letter = PrintedLetter(view, MISSED, "", "", to_the_patient(view), True, TODAY, True)
    pages = (patient_page(view, fictional=True), letter_page(letter))
    return [*said, *(text for page in pages if page for text in page_texts(page))]


def own_words(record: CaseRecord, said: list[str]) -> list[str]:
    """What stands in a text outside the marks, but for what was recorded: names typed, and the code."""
    typed = {item.exercise for item in record.programme}
    found: list[str] = []
    for text in said:
        for name in (*sorted(typed, key=len, reverse=True), record.code):
            text = text.replace(name, "")
        found += WORD.findall(text)
    return found


def test_nothing_is_said_in_words_of_the_code_and_every_key_is_said():
    under, texts = in_marks()
    for record in spoken_to():
        assert not own_words(record, all_said(record, under)), record
    unsaid = {
        key for key in set(texts) - texts.asked if not key.startswith(("dates.months.", "dates.weekdays."))
    }
    assert not unsaid


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(built(12))
def test_nor_to_any_case(made: Builder):
    under, _ = in_marks()
    record = made.record()
    assert not own_words(record, all_said(record, under))


def test_a_word_in_the_code_would_be_found():
    under, _ = in_marks()
    record = case("RC2", day=5).programme(-1, "R1", exercise=TYPED).record()
    assert own_words(record, [*all_said(record, under), "4 times"]) == ["times"]


def test_no_place_on_the_list_follows_from_words():
    under, _ = in_marks()
    for record in spoken_to()[::3]:
        spoken = stand_view(View.of(record, under, TODAY))
        assert spoken == stand_view(View.of(record, rules(), TODAY))
    assert under.digest == rules().digest
    assert under == rules()


def test_words_that_are_refused_say_nothing_in_others():
    under = rules().said_in(replace(english(), fault="words.toml: pain, keep: is missing."))
    for made in (case("PO1", day=5), case("RC2", day=5).screen(-1, "motor or sensory loss", "yes")):
        with pytest.raises(WordsError, match=r"words\.toml: pain, keep: is missing\."):
            say_to_patient(View.of(made.record(), under, TODAY))


def test_a_number_of_things_may_have_its_own_word():
    said = {**english().said, "exercise.times_a_day.2": "twice a day"}
    under = rules().said_in(replace(english(), said=said))
    made = case("RC2", day=5).programme(-1, "R1", exercise="band row", per_week=14)
    assert exercises(View.of(made.record(), under, TODAY)) == ("band row: 3 sets of 10, twice a day",)
