"""A thousand messy files of three layouts in four encodings: no traceback, no guess. The soak does more."""

from __future__ import annotations

import random

import pytest

from armrise.store.exchange.sheets.mapping import Map
from armrise.store.exchange.sheets.plan import parse, understood
from armrise.store.exchange.sheets.row import REFUSED, Given
from armrise.store.exchange.sheets.rows import read_rows
from armrise.store.rules.read import load
from tests.sheets import DELIMITERS, ENCODINGS, LAYOUTS, NOW, TODAY, is_date, is_value, judged, messy, truth

RULES = load()
SEED, FILES = 20260302, 1000


def test_of_a_thousand_messy_files_nothing_is_guessed() -> None:
    rng = random.Random(SEED)
    for number in range(FILES):
        made = messy(rng, LAYOUTS[number % len(LAYOUTS)])
        assert judged(made.content, RULES) == [], (number, made.content)


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize("sign", DELIMITERS, ids=["comma", "semicolon", "tab", "bar"])
def test_a_clean_file_is_taken_whole_in_every_encoding(layout: object, encoding: str, sign: str) -> None:
    """What the truth says is what is read: nothing is refused that could be read."""
    rng = random.Random(SEED)
    one = next(each for each in LAYOUTS if each is layout)
    lines = [one.headings, *([truth(rng, kind)[0] for kind in one.kinds] for _ in range(12))]
    content = "\n".join(sign.join(line) for line in lines).encode(encoding)
    (sheet,) = understood(parse(content, "clean.csv"), Map(), Map()).sheets
    rows = list(read_rows(sheet, Given(RULES, TODAY, NOW, "TK")))
    assert len(rows) == 12
    assert not [row.wrong for row in rows if row.status == REFUSED]


def test_the_judge_finds_a_guess() -> None:
    assert not is_value(7, "6-7")
    assert not is_value(0, "")
    assert not is_value(3, "3,5")
    assert is_value(7, "7/10")
    assert not is_date(TODAY, "03/02/2026", "day first")
    assert not is_date(TODAY, "02/03/2026", "")
    assert is_date(TODAY, "02/03/2026", "day first")
