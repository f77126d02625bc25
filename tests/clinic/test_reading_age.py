"""The patient's sheet is read by a child of eleven (Flesch and Kincaid, see tests/clinic/reading_age.py)."""

from __future__ import annotations

import re

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.exchange.paper.page import Lines, Page, Text
from armrise.store.exchange.paper.patient import patient_page
from armrise.store.rules.words.as_file import as_file
from tests.clinic.build import TODAY, rules
from tests.clinic.reading_age import READ_ALOUD, WORD, grade, reading_age, sentences_of, syllables
from tests.clinic.spoken import spoken_to

WHOLE, SENTENCE = 11, 16
"""Years: of a whole sheet, and of each of its sentences."""
FEWEST = 6
"""Words of a sentence, without its numbers: the formula says nothing of fewer."""
NAMES = {exercise.name for exercise in rules().exercises}
"""Names of exercises are the trade's, and stand as they are; the clinician has shown each of them."""


def prose(page: Page) -> list[str]:
    """What is read as sentences: no heading, no date of a visit, no box of the diary."""
    said = list[str]()
    for part in page.parts:
        for block in part.blocks:
            said += (
                [block.text] if isinstance(block, Text) else block.items if isinstance(block, Lines) else ()
            )
    return [*said, *(block.text for block in page.top if isinstance(block, Text) and block.look != "strong")]


def sheets() -> dict[str, list[str]]:
    pages = [patient_page(View.of(record, rules(), TODAY)) for record in spoken_to()]
    return {f"{n} {page.mark.text}": prose(page) for n, page in enumerate(pages) if page and page.mark}


def test_the_formula_against_figures_printed_elsewhere():
    """The lowest grade there is, of one word of one syllable, -3.40; and a children's book of 5.7 words a
    sentence and 1.02 syllables a word, of grade -1.3: both often printed beside the formula (from memory).
    """
    assert grade(1, 1, 1) == pytest.approx(-3.40)
    assert grade(5700, 1000, 5814) == pytest.approx(-1.3, abs=0.05)


@pytest.mark.parametrize(
    ("word", "heard"),
    [
        *[("the", 1), ("degrees", 2), ("usual", 3), ("pushing", 2), ("carrying", 3), ("table", 2)],
        *[("closed", 1), ("counted", 2), ("exercises", 4), ("going", 2), ("earlier", 3), ("weighs", 1)],
        *[("0", 2), ("7", 2), ("12", 1), ("20", 2), ("25", 3), ("70", 3), ("2026", 5), ("Wed", 2), ("kg", 3)],
    ],
)
def test_syllables_are_counted_as_read_aloud(word: str, heard: int) -> None:
    assert syllables(word) == heard


def test_no_word_has_fewer_syllables_than_places_to_break_it():
    """Beside the hyphenation patterns of TeX for American English, by pyphen."""
    pyphen = pytest.importorskip("pyphen").Pyphen(lang="en_US")
    text = re.sub(r"#.*|\{\w+\}", "", as_file(rules()))
    words = {word.lower() for word in WORD.findall(text) if not word.isdigit()} - set(READ_ALOUD)
    assert len(words) > 300
    assert not [word for word in words if syllables(word) < len(pyphen.inserted(word).split("-"))]


def test_every_whole_sheet():
    ages = {code: reading_age(said) for code, said in sheets().items()}
    assert len(ages) > 100
    assert max(ages.values()) <= WHOLE, max(ages, key=lambda code: ages[code])


def test_every_sentence():
    said = {part for lines in sheets().values() for line in lines for part in sentences_of(line)}
    for name in NAMES:
        said = {part.replace(name, "it") for part in said}
    long = {part: reading_age([part]) for part in said if _words(part) >= FEWEST}
    assert len(long) > 60
    assert not {part: age for part, age in long.items() if age > SENTENCE}


def _words(sentence: str) -> int:
    return sum(not word.isdigit() for word in WORD.findall(sentence))


def test_a_hard_sentence_would_be_found():
    hard = (
        "Discontinue progressive resistance exercises immediately in the event of disproportionate symptoms."
    )
    assert reading_age([hard]) > SENTENCE
