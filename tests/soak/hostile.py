"""Hostile texts from a seed, and what counts as raw when it comes out.

Kinds of signs are those of the Unicode character database (UAX #44) and of the bidirectional algorithm
(UAX #9); ``unicodedata`` has the first. What counts as raw is said here apart from the program, so that the
program can be found wrong.
"""

from __future__ import annotations

import random
import unicodedata

ALPHABETS: dict[str, str] = {
    "controls": "".join(map(chr, (*range(32), 127, *range(128, 160)))),
    "sequences": "\x1b\x9b\x90\x9d[]()?;0123456789mHJhl\x07\\",
    "lines": "\n\r\x0b\x0c\x85\u2028\u2029",
    "directions": "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069",
    "no width": "\u00ad\u200b\u200c\u200d\u2060\u2061\u2064\ufeff\u180e\u034f\u115f\u3164\U000e0041",
    "marks": "\u0300\u0301\u0323\u0489\u20dd\u0e49\u05b7\ufe0f\ufe0e",
    "no characters": "\ud800\udbff\udc00\udfff\ue000\uf8ff\U000f0000\uffff\ufdd0\u0378",
    "markup": "[]{}<>&\"'/\\`$#bold red link=@click",
    "numbers": "0123456789٣५０²½ⅷeE+-.,:/*!?_ xinfNaN",
    "lawful": "äöüßéñłøåçŽσжאבגםمرحباک中文字カナ한👩🏽✔°→ ",
}
"""Signs by what is hostile about them; the last are letters of many scripts, to stay as they are."""
UNSEEN = "\u115f\u3164\u034f"
CHOOSERS = ("\ufe0e", "\ufe0f")
"""Choose between two looks of the sign before them (UTS #51, 1.4.3) and put nothing over it."""
PLAIN = "abc LEFT RC2 012-"
LONG = 5000
"""One text in a hundred is as long as this."""


def text(draw: random.Random, kind: str = "", longest: int = 24) -> str:
    """A text in which signs of one kind (any, where none is named) stand among plain ones."""
    signs = ALPHABETS[kind or draw.choice(list(ALPHABETS))]
    return "".join(
        draw.choice(signs if draw.random() < 0.6 else PLAIN) for _ in range(draw.randint(1, longest))
    )


def typed(draw: random.Random, longest: int = 24) -> str:
    """A text as :func:`text`, now and then of nothing, or very long."""
    chance = draw.random()
    if chance < 0.02:
        return ""
    return text(draw, longest=longest) * (LONG // longest if chance < 0.03 else 1)


def raw(told: str) -> list[str]:
    """Every sign of an output that a terminal obeys, hides or piles up, by its code point."""
    if told.isascii() and told.replace("\n", "").isprintable():
        return []
    found = [f"U+{ord(sign):04X}" for sign in told if sign != "\n" and _hostile(sign)]
    marks, before = 0, ""
    for sign in told:
        if sign in CHOOSERS:
            found += [f"a row of U+{ord(sign):04X}"] * (before in CHOOSERS)
        elif unicodedata.category(sign) in ("Mn", "Me"):
            marks += 1
            found += [f"a flood of U+{ord(sign):04X}"] * (marks > 4)
        else:
            marks = 0
        before = sign
    return found


def _hostile(sign: str) -> bool:
    return unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") or sign in UNSEEN


def os_text(word: str) -> str:
    """The word as the system can pass it: without NUL, a lone surrogate as the byte it stands for."""
    kept = "".join(
        s for s in word if s != "\0" and not ("\ud800" <= s < "\udc80" or "\udcff" < s <= "\udfff")
    )
    return kept or "x"
