"""Every sign that a terminal would obey, hide or pile up is shown by its code point; every other stays.

Categories are those of the Unicode character database (UAX #44, by ``unicodedata``), directions of UAX #9.
"""

from __future__ import annotations

import sys
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.record.visible import _OWN, MARKS_AT_MOST, visible, visible_lines
from tests.soak.hostile import ALPHABETS, raw

DIRECTIONS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""The explicit directional formatting characters of UAX #9, table 4, and the marks of its 2.6."""


OTHERS = "\x00\x1b\x7f\x9b\u200b\u200d\ufeff\u00ad\u2028\ud800\ue000\u3164"


@pytest.mark.parametrize("sign", [*DIRECTIONS, *OTHERS], ids=lambda sign: f"{ord(sign):04X}")
def test_a_hostile_sign_is_shown_as_what_it_is(sign: str) -> None:
    assert visible(f"left {sign}thgir") == f"left <U+{ord(sign):04X}>thgir"


@pytest.mark.parametrize(
    "lawful",
    ["Müller-Lüdenscheidt", "Ångström, naïve, Łódź", "שלום", "مرحبا", "肩の痛み", "어깨",
     "плечо", "ώμος", "ไหล่",
     "à é ñ", "👩🏽 ✔\ufe0f 3\ufe0f\u20e3", "45° → 60° · 1–2 ≥ 3 …", "a\u00a0b"],
)  # fmt: skip
def test_lawful_words_stay_as_they_are(lawful: str) -> None:
    assert visible(lawful) is lawful


def test_a_flood_of_marks_is_shown_from_the_fifth_on() -> None:
    told = visible("a" + "\u0301" * 6)
    assert told == "a" + "\u0301" * MARKS_AT_MOST + "<U+0301>" * 2
    assert visible("\u0301a") == "<U+0301>a", "and one that would stand on what was printed before"


def test_the_quick_way_lets_no_hostile_sign_through() -> None:
    """Every code point there is: what the fast test takes for its own is printed and has no mark."""
    let = [chr(n) for n in range(sys.maxunicode + 1) if _OWN.fullmatch(chr(n))]
    assert len(let) > 1500
    assert not raw("".join(let))
    assert not [s for s in let if unicodedata.category(s)[0] == "M"]


def test_code_points_are_seen_or_shown() -> None:
    """All of the first blocks, and a part of every plane."""
    some = map(chr, (*range(0x3400), *range(0x3400, sys.maxunicode + 1, 97)))
    assert [sign for sign in some if sign != "\n" and raw(visible(f"a{sign}"))] == []


@settings(max_examples=60, deadline=None)
@given(st.text(st.sampled_from("".join(ALPHABETS.values()))))
def test_nothing_raw_is_left_and_nothing_is_shown_twice(text: str) -> None:
    told = visible(text)
    assert raw(told) == []
    assert "\n" not in told
    assert visible(told) == told
    assert raw(visible_lines(text)) == []
    assert visible_lines(text).count("\n") == text.count("\n")
