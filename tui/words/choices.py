"""The key of every word of a closed list, said once: one outcome, one key, in whatever form it is asked.

A key hangs on the place in the whole list of the record. A form that offers fewer words leaves gaps; it never
counts anew, because a hand that learned "3 is no answer" in one form is not to record a wrong number in
another. Lists that forms had counted differently have letters, and no digit means anything in them any more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from string import ascii_lowercase, digits

from armrise.store.record.kinds.care import ATTENDANCES, CONTACT_OUTCOMES
from armrise.store.record.kinds.head import AGE_BANDS, ANSWERS, HANDS, NEWS, SIDES
from armrise.store.record.kinds.plan import CLEARANCES

BY_PLACE = digits[1:] + ascii_lowercase
"""One bare key a place: digits, then letters."""

LETTERS: Mapping[tuple[str, ...], str] = {
    CONTACT_OUTCOMES: "sanwmr",
    ATTENDANCES: "adbpc",
    SIDES: "lr",
    HANDS: "lrb",
    AGE_BANDS: "01t23456789",
    ANSWERS: "ynad",
    NEWS: "yna",
    CLEARANCES: "ynkw",
}
"""Lists whose words have a key of their own, in the order of the list. An age band has its decade."""


def lettered(words: Sequence[str]) -> dict[str, str]:
    """The words of a list that has letters of its own, by them; nothing for any other list."""
    return dict(zip(LETTERS.get(tuple(words), ""), words, strict=False))


def keys_of(words: Sequence[str]) -> dict[str, str]:
    """The words of a whole closed list by their keys, in the order of the list."""
    return lettered(words) or dict(zip(BY_PLACE, words, strict=False))


def in_words(keys: Iterable[str]) -> str:
    """Keys as a sentence names them: "1 to 6", "1 to 9, a to c", "s, a, n"."""
    placed = enumerate(keys)
    runs = [
        [key for _, key in run]
        for _, run in groupby(placed, lambda one: (one[1].isdigit(), BY_PLACE.find(one[1]) - one[0]))
    ]
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 1 else run[0] for run in runs)
