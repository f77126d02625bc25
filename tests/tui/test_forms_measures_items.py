"""Questionnaires by their numbered answers or by a total: real keys, and what is then stored.

Worked values: SPADI Roach 1991 Arthritis Care Res 4:143 (both totals in circulation); QuickDASH scoring
sheet, Institute for Work and Health; Oxford score 0 to 48 and 60 - total, Oxford guide 2018; Constant 2008
JSES 17:355; WORC per cents as printed in PMC3505890, table 1. A form without a total leaves the score owed:
practice note 4.13, case 36.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Score
from armrise.tui.forms.measures.items import ItemsScreen
from armrise.tui.forms.measures.screen import MeasuresScreen
from armrise.tui.shell.door import Door
from tests.quiet import in_one_go, settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import TODAY, new_entries, newest, painted, press
from tests.tui.visit_keys import keys

CODE = "BY-018"
PLACE = "123456789abcdefghijklmnopqrstuvwxyz"


def choose(door: Door, instrument: str, formula: str = "enter") -> list[str]:
    """The key of a questionnaire, Enter past the day, the formula where there are several."""
    form = door.rules.instruments[instrument].form
    several = [formula] if form and form.formulas else []
    return [PLACE[list(door.rules.instruments).index(instrument)], "enter", *several]


def items_of(door: Door, instrument: str, formula: str = "enter") -> list[str]:
    """The same, and past the total to item 1."""
    return [*choose(door, instrument, formula), "enter"]


def answers(*numbers: str) -> list[str]:
    """Answers each with Enter; "" leaves one blank."""
    return [key for number in numbers for key in (*keys(number), "enter")]


async def fill(door: Door, *given: str, size: tuple[int, int] = (100, 60)) -> tuple[list[Score], str]:
    """What the form writes after these keys and F2, and what was said before F2."""
    before = newest(door)
    app = FormApp(ItemsScreen(door, door.standing(CODE)))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await in_one_go(pilot, given)
        said = painted(pilot)
        await press(pilot, "f2")
        if app.screen_stack[1:]:
            said += " AFTER F2 " + painted(pilot)
    return [e for e in new_entries(door, CODE, before) if isinstance(e, Score)], said


SPADI = answers("7", "6", "8", "5", "4", "5", "6", "3", "4", "2", "7", "6", "3")


@pytest.mark.parametrize(
    ("formula", "total", "named"),
    [("enter", "52.5", "mean of subscales"), ("2", "50.77", "all items")],
)
async def test_spadi_by_either_total(door: Door, formula: str, total: str, named: str):
    """Pain 30 of 50, disability 36 of 80: 60 and 45 per cent; mean 52.5; all items 66 of 130."""
    [entry], said = await fill(door, *items_of(door, "SPADI", formula), *SPADI)
    assert (entry.total, entry.formula) == (Decimal(total), named)
    assert entry.items == tuple(map(Decimal, (7, 6, 8, 5, 4, 5, 6, 3, 4, 2, 7, 6, 3)))
    assert "13 of 13 answered" in said
    assert "pain 30, 60 per cent; disability 36, 45 per cent" in said
    assert f"(lower is better, {named})" in said


async def test_a_blank_of_spadi_is_left_out_and_never_counts_as_nothing(door: Door):
    """The disability item of 7 left blank: 29 of 70 is 41.429 per cent; mean with 60 is 50.714."""
    typed = answers("7", "6", "8", "5", "4", "5", "6", "3", "4", "2", "", "6", "3")
    [entry], said = await fill(door, *items_of(door, "SPADI"), *typed)
    assert entry.total == Decimal("50.71")
    assert entry.items[10] is None
    assert "item 11 blank; at most 2 may be" in said


QUICK = ["3"] * 8 + ["2"] * 3
"""Sum 30: (30/11 - 1) x 25 = 43.182. Without a 3, sum 27 of 10: 42.5. Two blank: no score."""


@pytest.mark.parametrize(
    ("blank", "total", "words"),
    [
        (0, "43.18", "QuickDASH 43.2 (lower is better); 11 of 11 answered"),
        (1, "42.5", "QuickDASH 42.5 (lower is better); 10 of 11 answered"),
        (2, None, "QuickDASH incomplete, NO TOTAL: items 1, 2 blank, at most 1 may be; 9 of 11 answered"),
    ],
)
async def test_quickdash_with_none_one_and_two_blank(door: Door, blank: int, total: str | None, words: str):
    """One digit an answer; Enter leaves one blank. Two blank: stored incomplete, and still owed."""
    typed = [*["enter"] * blank, *QUICK[blank:]]
    [entry], said = await fill(door, *items_of(door, "QuickDASH"), *typed)
    assert entry.total == (Decimal(total) if total else None)
    assert entry.items == tuple([None] * blank + [Decimal(n) for n in QUICK[blank:]])
    assert words in said
    assert ("the score stays owed" in said) is (total is None)


async def test_own_activities_by_their_number(door: Door):
    """Activities rated 3, 4, 2: mean 3.0."""
    [entry], said = await fill(door, *items_of(door, "PSFS"), *answers("3", "4", "2"))
    assert (entry.total, entry.items) == (Decimal(3), (Decimal(3), Decimal(4), Decimal(2)))
    assert "PSFS 3 (higher is better); 3 of 3 answered" in said


async def test_the_change_is_said_with_figures_and_sources_and_the_form_is_remembered(door: Door):
    """WORC 1619 to 570, printed as 23 and 73 per cent: 1049 better."""
    then = TODAY - timedelta(days=21)
    old = door.draft("score", instrument="WORC", total=Decimal(1619), on=then, version="2", language="en")
    door.append(CODE, [old])
    [entry], said = await fill(door, *total_of(door, "WORC", "570"))
    assert (entry.total, entry.version, entry.language) == (Decimal(570), "2", "en")
    assert "WORC 1619 to 570 (lower is better): 1049 better" in said
    assert "reaches the change patients notice, 245 (NICE consultation document 1789" in said
    assert "measurement error of this score not known" in said
    assert "72.9 per cent of the best" in said


async def test_another_language_is_not_compared(door: Door):
    then = TODAY - timedelta(days=21)
    door.append(CODE, [door.draft("score", instrument="SANE", total=Decimal(40), on=then, language="en")])
    typed = [*total_of(door, "SANE", "70"), "enter", *keys("x"), "enter"]
    [entry], said = await fill(door, *typed)
    assert (entry.total, entry.language) == (Decimal(70), "x")
    assert "SANE: not comparable (language: en, then x)" in said


OXFORD = ["3", "3", "2", "4", "3", "2", "3", "4", "3", "2", "3", "3"]
"""Sum 35 of 48; by the old form each answer is 5 - answer: sum 25 = 60 - 35."""


@pytest.mark.parametrize(
    ("formula", "typed", "total", "named", "way"),
    [
        ("1", OXFORD, 35, "new 0-48", "higher is better"),
        ("2", [str(5 - int(n)) for n in OXFORD], 25, "old 12-60", "lower is better"),
    ],
)
async def test_the_oxford_score_of_either_form(door: Door, formula, typed, total, named, way):
    [entry], said = await fill(door, *items_of(door, "OSS", formula), *typed)
    assert (entry.total, entry.formula) == (Decimal(total), named)
    assert f"OSS {total} ({way}, {named}); 12 of 12 answered" in said


MEASURED = [
    *answers("5", "4", "7"),  # pain 5 cm is 10 points, work 4 cm 3, recreation 7 cm 2
    "2",  # sleep sometimes disturbed, 1
    "5",  # top of the head, 8
    *answers("140", "110"),  # 8 and 6
    "4",  # hand on top of head, elbow forward, 6
    "4",  # waist, 6
]


async def test_constant_by_its_parts(door: Door):
    """10 + 14 + 26 + 11 = 61, strength 5.0 kg x 2.2. Points that the rule file has from memory are named."""
    [entry], said = await fill(door, *items_of(door, "Constant-Murley"), *MEASURED, *answers("5"))
    assert entry.total == Decimal(61)
    assert entry.items == tuple(map(Decimal, (10, 3, 2, 1, 8, 8, 6, 6, 6, 11)))
    assert "Constant-Murley 61 (higher is better); 10 of 10 answered" in said
    unsure = "hand level, flexion, abduction, external rotation, internal rotation, strength"
    assert f"points from memory: {unsure}" in said


async def test_constant_without_strength_has_no_total(door: Door):
    """A clinic that may not test strength gets the points of the parts and no total (design)."""
    [entry], said = await fill(door, *items_of(door, "Constant-Murley"), *MEASURED)
    assert entry.total is None
    assert entry.items[-1] is None
    assert "NO TOTAL: item 10 blank (strength), every item is needed" in said
    assert "external rotation 6, internal rotation 6 " in said


# totals


def total_of(door: Door, instrument: str, total: str) -> list[str]:
    """The keys of a total by itself."""
    return [*choose(door, instrument), *keys(total), "enter"]


@pytest.mark.parametrize(
    ("instrument", "typed", "answer", "total", "formula"),
    [
        ("SPADI", "83", "1", "83", None),
        ("SPADI", "83", "2", "63.85", "all items"),
        ("SPADI", "120", "2", "92.31", "all items"),
        ("OSS", "25", "1", "25", "new 0-48"),
        ("OSS", "25", "2", "25", "old 12-60"),
        ("WORC", "73", "2", "567", None),
        ("WORC", "73", "1", "73", None),
    ],
)
async def test_a_total_that_may_be_on_another_scale_is_asked_about(
    door: Door, instrument: str, typed: str, answer: str, total: str, formula: str | None
):
    """83 of 130 is 63.8 of 100; WORC 73 per cent is 567 of 2100 (570 printed beside 73 per cent)."""
    before = newest(door)
    nothing, said = await fill(door, *total_of(door, instrument, typed))
    assert not nothing
    assert newest(door) == before
    assert "QUESTION: " in said
    [entry], _ = await fill(door, *total_of(door, instrument, typed), answer)
    assert (entry.total, entry.formula) == (Decimal(total), formula)


async def test_a_total_that_no_scale_has_is_refused_and_stays(door: Door):
    entries, said = await fill(door, *total_of(door, "QuickDASH", "140"))
    assert not entries
    assert "total: 140 is out of range, allowed is 0 to 100." in said


async def test_a_total_that_does_not_follow_from_its_answers_is_refused(door: Door):
    entries, said = await fill(door, *choose(door, "QuickDASH"), *keys("50"), "enter", *QUICK)
    assert not entries
    assert "total 50 recorded, the answers give 43.2" in said
    [entry], _ = await fill(door, *choose(door, "QuickDASH"), *keys("43.2"), "enter", *QUICK)
    assert (entry.total, len(entry.items)) == (Decimal("43.2"), 11)


@pytest.mark.parametrize(
    ("instrument", "typed", "total"),
    [("GROC", "-3", Decimal(-3)), ("WOOS", "71.5", Decimal("71.5")), ("SANE", "d", Absence.DECLINED)],
)
async def test_scores_of_one_number_and_totals_alone(door: Door, instrument, typed, total):
    [entry], _ = await fill(door, *total_of(door, instrument, typed))
    assert (entry.total, entry.items) == (total, ())


async def test_an_answer_out_of_its_range_is_named_and_nothing_is_written(door: Door):
    entries, said = await fill(door, *items_of(door, "QuickDASH"), "7")
    assert not entries
    assert 'item 1: "7" cannot be; allowed is a whole number from 1 to 5.' in said
    entries, said = await fill(door, *items_of(door, "SPADI"), *keys("12"), "enter")
    assert not entries
    assert 'item 1 pain: "12" cannot be; allowed is at most 1 decimals, from 0 to 10.' in said


async def test_it_is_one_key_from_the_measures_and_closes_with_them(door: Door):
    before = newest(door)
    app = FormApp(MeasuresScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4")
        assert isinstance(pilot.app.screen, ItemsScreen)
        await press(pilot, *items_of(door, "NRS"), *answers("4", "5", "6"), "f2")
        assert not isinstance(pilot.app.screen, ItemsScreen | MeasuresScreen)
    [entry] = new_entries(door, CODE, before)
    assert isinstance(entry, Score)
    assert (entry.instrument, entry.total) == ("NRS", Decimal(5))
