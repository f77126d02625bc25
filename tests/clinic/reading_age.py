"""How old a reader has to be: the grade of Flesch and Kincaid, and five years.

Kincaid 1975, with Fishburne, Rogers and Chissom, Navy Research Branch Report 8-75:
grade = 0.39 words a sentence + 11.8 syllables a word - 15.59. A pupil begins grade 1 at six: the age is the
grade and five. Syllables are counted as a text is read aloud, numbers and short forms too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

ENDS = re.compile(r"(?<=[.!?;])\s+")
"""Ends of what is said on its own; a semicolon counts as in Flesch's directions (from memory)."""
WORD = re.compile(r"[A-Za-z]+(?:'[a-z]+)?|\d+")
READ_ALOUD = {
    **{"mon": 2, "tue": 2, "wed": 2, "thu": 2, "fri": 2, "sat": 3, "sun": 2},
    **{"jan": 4, "feb": 4, "apr": 2, "jul": 2, "aug": 2, "sep": 3, "oct": 3, "nov": 3, "dec": 3, "kg": 3},
    **{"usual": 3, "movement": 2, "movements": 2, "whoever": 3},
}
"""Short forms as they are said, and words in which the rule below hears a vowel too few or too many."""
_SAID = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)
"""Syllables of "zero" to "nineteen"."""
_TENS = {2: 2, 3: 2, 4: 2, 5: 2, 6: 2, 7: 3, 8: 2, 9: 2}


def syllables(word: str) -> int:
    """Of one word or number, as it is read aloud."""
    if word.isdigit():
        return _of_number(word)
    word = word.lower()
    if word in READ_ALOUD:
        return READ_ALOUD[word]
    heard = len(re.findall(r"[aeiouy]+", re.sub(r"(?<=[aeiouy])(?=ing$|er$)", "-", word)))
    silent = re.search(r"[^aeiouyl]e$|[aeiouy]le$|[^aeiouytd]ed$|[^aeiouysxzcgh]es$", word)
    return max(1, heard - (1 if silent and heard > 1 else 0))


def _of_number(digits: str) -> int:
    """Up to ninety-nine as such; a longer one in pairs, as a year is said."""
    if len(digits) > 2:
        return _of_number(digits[:-2]) + _of_number(digits[-2:])
    number = int(digits)
    if number < len(_SAID):
        return _SAID[number]
    tens, rest = divmod(number, 10)
    return _TENS[tens] + (_SAID[rest] if rest else 0)


def grade(words: int, sentences: int, heard: int) -> float:
    """The grade of a text with so many words, sentences and syllables."""
    return 0.39 * words / sentences + 11.8 * heard / words - 15.59


def sentences_of(line: str) -> list[str]:
    """What a line says, one thing after the other."""
    return ENDS.split(line)


def reading_age(lines: Iterable[str]) -> float:
    """In years, of lines that each end what they say."""
    sentences = [found for line in lines for part in sentences_of(line) if (found := WORD.findall(part))]
    words = [word for sentence in sentences for word in sentence]
    return grade(len(words), len(sentences), sum(map(syllables, words))) + 5
