"""Scores from numbered answers against the check values of the evidence notes, section 12, and section 1.

Marks beside each value: P printed in a public source that was read, D derived by hand from the formula, M the
rule is from memory (in the rule file as such). Rows 20 to 22 and 24 (side-to-side strength, range against the
other side, error of two raters) are held by ``test_published_cases.py``; rows 23 and 25 (a rating by
abduction, bands of muscle activity) are no part of scoring.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from armrise.store.clinic.scores.constant_murley import ConstantParts, constant_answers, constant_score
from armrise.store.clinic.scores.doubtful_scale import raw_as_per_cent, scale_doubt
from armrise.store.clinic.scores.scoring import TOTALS, Scored, answer_range, rounded, score
from armrise.store.clinic.scores.sums import other_oxford, per_cent_of_best
from armrise.store.record.kinds.measured import INSTRUMENTS
from armrise.store.rules.questionnaire import Answer, ScoringError
from tests.clinic.build import rules

B = None
"""A blank."""


def scored(instrument: str, answers: list[int | float | str | None], formula: str | None = None) -> Scored:
    """The answers scored by the shipped rules."""
    numbers: list[Answer] = [None if a is None else Decimal(str(a)) for a in answers]
    return score(rules().instruments[instrument], numbers, formula)


def spread(total: int, items: int, low: int, high: int, blanks: int = 0) -> list[int | None]:
    """Any ``items`` answers from ``low`` to ``high`` that sum to ``total``, then ``blanks`` blanks."""
    answers = [low] * items
    for at in range(items):
        answers[at] += min(high - low, total - sum(answers))
    assert sum(answers) == total
    return [*answers, *[None] * blanks]


def two(value: Decimal | None) -> str:
    """A total to two decimals, as the check values are printed."""
    return str(rounded(value, 2))


# --- section 12, row by row -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "instrument", "total", "answered", "blanks", "expected"),
    [
        (1, "QuickDASH", 30, 11, 0, "43.18"),  # D
        (2, "QuickDASH", 27, 10, 1, "42.50"),  # D
        (3, "QuickDASH", 27, 9, 2, "None"),  # P (rule): at least 10 of 11
        (4, "DASH", 75, 30, 0, "37.50"),  # D
        (5, "DASH", 60, 30, 0, "25.00"),  # P: docslib.org/download/4362273, poletoparis.com
        (6, "DASH", 66, 27, 3, "36.11"),  # D
        (7, "DASH", 66, 26, 4, "None"),  # P (rule): at least 27 of 30, scoring sheet
    ],
)
def test_rows_1_to_7(row: int, instrument: str, total: int, answered: int, blanks: int, expected: str):
    found = scored(instrument, [*spread(total, answered, 1, 5, blanks)])
    assert two(found.total) == expected, f"row {row}"
    assert (found.answered, len(found.missing)) == (answered, blanks)
    assert bool(found.why_none) == (expected == "None")


@pytest.mark.parametrize("family", ["DASH", "QuickDASH"])
@pytest.mark.parametrize("module", ["work", "sport or music"])
def test_row_8_optional_modules(family: str, module: str):
    """D 50.0; P (rule): all four must be answered, scoring sheet of the Institute for Work and Health."""
    name = f"{family} {module} module"
    assert scored(name, [2, 3, 3, 4]).total == 50
    blank = scored(name, [2, 3, 3, B])
    assert (blank.total, blank.missing) == (None, (4,))
    assert blank.why_none == "item 4 blank, every item is needed"


PAIN, DISABILITY = [7, 6, 8, 5, 4], [5, 6, 3, 4, 2, 7, 6, 3]


@pytest.mark.parametrize(
    ("answers", "pain", "disability", "by_mean", "by_items"),
    [
        ([*PAIN, *DISABILITY], "60.00", "45.00", "52.50", "50.77"),  # row 9, D
        ([*PAIN, 5, 6, 3, 4, 2, B, 6, 3], "60.00", "41.43", "50.71", "49.17"),  # row 10, D
    ],
)
def test_rows_9_and_10_both_totals_of_spadi(
    answers: list[int | None], pain: str, disability: str, by_mean: str, by_items: str
):
    """Roach 1991: mean of the subscales; many public forms print the sum of all items."""
    first, second = scored("SPADI", [*answers]), scored("SPADI", [*answers], "all items")
    assert [two(part.per_cent) for part in first.parts] == [pain, disability]
    assert (two(first.total), two(second.total)) == (by_mean, by_items)
    assert (first.formula, second.formula) == ("mean of subscales", "all items")
    assert first.direction == "lower is better"


def test_row_11_a_raw_sum_of_spadi():
    """P raw 83 and 20 of 130 (urbanpt.pro), D 63.85 and 15.38 per cent by all items."""
    form = rules().instruments["SPADI"].form
    assert form is not None
    assert [two(raw_as_per_cent(form, Decimal(raw))) for raw in (83, 20)] == ["63.85", "15.38"]


@pytest.mark.parametrize(
    ("pain", "function", "expected"),
    [("4", 18, "60.00"), ("3.5", 21, "67.50"), ("0", 30, "100.00"), ("10", 0, "0.00")],  # row 12 and 1.4, D
)
def test_row_12_ases(pain: str, function: int, expected: str):
    """Formula read at issh.org/outcome-measures-shoulder."""
    found = scored("ASES", [pain, *spread(function, 10, 0, 3)])
    assert (two(found.total), found.direction) == (expected, "higher is better")


@pytest.mark.parametrize(("raw", "printed"), [(1619, 23), (570, 73), (192, 91)])
def test_row_13_worc_per_cent(raw: int, printed: int):
    """P: PMC3505890, table 1, prints raw totals and per cent side by side."""
    form = rules().instruments["WORC"].form
    assert form is not None
    assert rounded(per_cent_of_best(form, Decimal(raw)), 0) == printed
    assert {1619: "22.90", 570: "72.86", 192: "90.86"}[raw] == two(per_cent_of_best(form, Decimal(raw)))


def test_row_14_wosi_total():
    """P: PMC7350677, table 4, subscales 455, 228, 151, 203 of 1037: any answers with these sums."""
    answers = [
        *spread(455, 10, 0, 100),
        *spread(228, 4, 0, 100),
        *spread(151, 4, 0, 100),
        *spread(203, 3, 0, 100),
    ]
    found = scored("WOSI", [*answers])
    assert [part.sum for part in found.parts] == [455, 228, 151, 203]
    assert (found.total, found.shown) == (1037, 1037)


@pytest.mark.parametrize(
    ("old", "new"), [("15.3", "44.7"), ("36.7", "23.3"), ("18.8", "41.2"), ("16.3", "43.7")]
)
def test_row_15_old_and_new_oxford(old: str, new: str):
    """P old means (Younis 2011, PMC3566690; Clement 2014 Int J Shoulder Surg 8:10), D new ones."""
    form = rules().instruments["OSS"].form
    assert form is not None
    assert other_oxford(form, Decimal(old)) == Decimal(new)
    assert other_oxford(form, Decimal(new)) == Decimal(old)


def test_row_16_constant():
    """D: the patient of section 1.5. Pain 10, daily living 14, range 26, strength 11: total 61."""
    known = rules()
    parts = ConstantParts(
        pain_points=Decimal(10),
        work=Decimal(5),  # more than 3 to 6 cm: 3
        recreation=Decimal(8),  # more than 6 to 9 cm: 2
        sleep="sometimes disturbed",
        hand_level="top of head",
        flexion=Decimal(140),
        abduction=Decimal(110),
        external_rotation="hand on top of head, elbow forward",
        internal_rotation="waist, L3",
        strength=Decimal("5.0"),
    )
    assert constant_answers(known, parts) == (10, 3, 2, 1, 8, 8, 6, 6, 6, 11)
    assert constant_score(known, parts).total == 61


def test_row_17_psfs():
    """D 3.0 and 6.0; +3.0 lies beyond both figures."""
    assert [scored("PSFS", a).total for a in ([3, 4, 2], [6, 7, 5])] == [3, 6]


# --- section 1, worked examples not among the rows ------------------------------------------------------


def test_three_blank_pain_items_give_no_subscale_and_no_total():
    """1.2, M: more than two blanks in a subscale."""
    for formula in ("mean of subscales", "all items"):
        found = scored("SPADI", [7, B, B, 5, B, *DISABILITY], formula)
        assert found.total is None
        assert found.why_none == "items 2, 3, 5 blank in pain, at most 2 may be (from memory)"
        assert found.rule.status == "from memory"
    assert scored("SPADI", [7, B, B, 5, 6, *DISABILITY]).total is not None


def test_two_blanks_in_each_subscale_are_within_the_limit():
    found = scored("SPADI", [6, 6, 6, B, B, 4, 4, 4, 4, 4, 4, B, B])
    assert (found.total, found.missing) == (50, (4, 5, 12, 13))
    assert found.note == "items 4, 5, 12, 13 blank; at most 2 may be (from memory)"


@pytest.mark.parametrize(("answer", "expected"), [(1, 0), (5, 100)])
def test_the_ends_of_the_dash_family(answer: int, expected: int):
    """1.3, D: all 1 is 0, all 5 is 100."""
    for instrument, items in (("DASH", 30), ("QuickDASH", 11)):
        assert scored(instrument, [answer] * items).total == expected


def test_oxford_worked():
    """1.6: twelve answers of 35 (D); two blanks of twelve, ten sum 28: 33.6, shown 34 (M)."""
    full = [3, 3, 2, 4, 3, 2, 3, 4, 3, 2, 3, 3]
    assert scored("OSS", [*full]).total == 35
    assert scored("OSS", [5 - a for a in full], "old 12-60").total == 25
    two_blank = scored("OSS", [*spread(28, 10, 0, 4, 2)])
    assert (two_blank.total, two_blank.shown) == (Decimal("33.6"), 34)
    three = scored("OSS", [*spread(28, 9, 0, 4, 3)])
    assert (three.total, three.missing) == (None, (10, 11, 12))
    assert three.rule.status == "from memory"


def test_the_old_oxford_runs_the_other_way_and_says_so():
    answers = [1] * 12
    assert (scored("OSS", [*answers], "old 12-60").total, scored("OSS", [*answers]).total) == (12, 12)
    assert scored("OSS", [*answers], "old 12-60").direction == "lower is better"
    assert scored("OSS", [*answers]).direction == "higher is better"


def test_the_instability_score_has_twelve_items_to_48():
    """J Orthop Surg Res 2015, doi 10.1186/s13018-015-0286-5."""
    assert scored("OSIS", [4] * 12).total == 48


def test_pain_alone_and_as_a_mean_of_three():
    """Michener 2011: rest, usual and strenuous activity. A mean of two is none of the two."""
    assert scored("NRS", [7]).total == 7
    assert scored("NRS", [2, 4, 7]).total == Decimal(13) / 3
    assert str(scored("NRS", [2, 4, 7]).shown) == "4.3"
    assert scored("NRS", [2, B, 7]).why_none == "item 2 blank, every item is needed"
    with pytest.raises(ScoringError, match=r"NRS has 2 answers, needed are 1 or 3"):
        scored("NRS", [2, 4])


def test_psfs_means_over_the_rated_activities():
    found = scored("PSFS", [3, B, 4])
    assert (found.total, found.answered, found.asked) == (Decimal("3.5"), 2, 3)
    assert scored("PSFS", [B, B, B]).why_none == "nothing answered"


@pytest.mark.parametrize(("instrument", "value"), [("SANE", 82), ("GROC", -7), ("GROC", 5)])
def test_single_numbers(instrument: str, value: int):
    assert scored(instrument, [value]).total == value


# --- Constant-Murley: from its parts --------------------------------------------------------------------


def answers_with(**more: object) -> tuple[Answer, ...]:
    return constant_answers(rules(), ConstantParts(**more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("degrees", "points"),
    [
        (0, 0),
        (30, 0),
        (31, 2),
        (60, 2),
        (61, 4),
        (90, 4),
        (91, 6),
        (120, 6),
        (121, 8),
        (150, 8),
        (151, 10),
        (180, 10),
    ],
)
def test_constant_elevation_bands(degrees: int, points: int):
    """Bands as commonly reproduced, read second hand; in the rule file as from memory."""
    assert answers_with(flexion=Decimal(degrees))[5] == points
    assert answers_with(abduction=Decimal(degrees))[6] == points
    assert rules().constant.elevation.status == "from memory"


@pytest.mark.parametrize(("centimetres", "points"), [("0", 15), ("1.4", 14), ("1.5", 13), ("15", 0)])
def test_constant_pain_line(centimetres: str, points: int):
    """Ban 2013: 15 - x, rounded to the nearest whole (1.4 is 1, 1.5 is 2)."""
    assert answers_with(pain=Decimal(centimetres))[0] == points


@pytest.mark.parametrize(
    ("centimetres", "points"), [("3", 4), ("3.1", 3), ("6", 3), ("9", 2), ("12", 1), ("12.1", 0)]
)
def test_constant_work_line(centimetres: str, points: int):
    """Ban 2013: 0-3 cm 4 points, over 3 to 6 3, over 6 to 9 2, over 9 to 12 1, over 12 0."""
    assert answers_with(work=Decimal(centimetres))[1] == points


@pytest.mark.parametrize(
    ("kilograms", "points"), [("0", "0"), ("5", "11"), ("4.3", "9.5"), ("12", "25"), ("40", "25")]
)
def test_constant_strength(kilograms: str, points: str):
    """2.2 points a kilogram, at most 25, to a tenth."""
    assert answers_with(strength=Decimal(kilograms))[9] == Decimal(points)


@pytest.mark.parametrize("left_out", range(10))
def test_an_unmeasured_part_gives_no_constant_and_is_never_zero(left_out: int):
    """1.5, design: strength above all."""
    full: list[int | float | str | None] = [10, 3, 2, 1, 8, 8, 6, 6, 6, 11]
    full[left_out] = None
    found = scored("Constant-Murley", full)
    assert found.total is None
    assert found.missing == (left_out + 1,)
    assert found.why_none.endswith("every item is needed")
    if left_out == 9:
        assert found.why_none == "item 10 blank (strength), every item is needed"


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ({"flexion": Decimal(181)}, "flexion is 181, allowed is 0 to 180."),
        ({"work": Decimal("15.1")}, "work is 15.1, allowed is 0 to 15."),
        ({"pain": Decimal(16)}, "pain is 16 cm, allowed is 0 to 15."),
        ({"strength": Decimal(-1)}, "strength is -1 kg, allowed is 0 or more."),
        ({"sleep": "badly"}, "sleep is 'badly', allowed is one of undisturbed, "),
    ],
)
def test_constant_parts_out_of_their_tables(parts: dict[str, object], says: str):
    with pytest.raises(ScoringError, match=says.replace("(", r"\(")):
        answers_with(**parts)


# --- bad input, forms, scales ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("instrument", "answers", "formula", "says"),
    [
        (
            "QuickDASH",
            [6, *[1] * 10],
            None,
            "QuickDASH, item 1, is 6, allowed are whole numbers from 1 to 5.",
        ),
        (
            "QuickDASH",
            [*[1] * 10, 0],
            None,
            "QuickDASH, item 11, is 0, allowed are whole numbers from 1 to 5.",
        ),
        ("QuickDASH", ["1.5", *[1] * 10], None, "item 1, is 1.5, allowed are whole numbers"),
        ("QuickDASH", [1] * 10, None, "QuickDASH has 10 answers, needed are 11, a blank counted as one."),
        ("SPADI", ["NaN", *[1] * 12], None, "item 1, is NaN"),
        ("SPADI", ["3.25", *[1] * 12], None, "item 1, is 3.25, allowed are numbers with at most 1 decimals"),
        ("OSS", [5, *[1] * 11], None, "OSS, item 1, is 5, allowed are whole numbers from 0 to 4."),
        ("OSS", [0, *[1] * 11], "old 12-60", "OSS, item 1, is 0, allowed are whole numbers from 1 to 5."),
        ("OSS", [1] * 12, "all items", "OSS by 'all items': allowed is new 0-48, old 12-60."),
        ("DASH", [1] * 30, "all items", "DASH by 'all items': allowed is none."),
        ("WOOS", [1], None, "WOOS has no item scoring here: enter the total"),
    ],
)
def test_what_cannot_be_answered_is_refused_in_one_sentence(
    instrument: str, answers: list[int | float | str | None], formula: str | None, says: str
):
    with pytest.raises(ScoringError) as caught:
        scored(instrument, answers, formula)
    assert says in str(caught.value)


def test_every_form_has_its_arithmetic_and_every_other_instrument_takes_totals():
    forms = {key for key, spec in rules().instruments.items() if spec.form}
    assert forms == set(TOTALS)
    assert set(INSTRUMENTS) - forms == {"WOOS"}


@pytest.mark.parametrize(
    ("instrument", "number", "formula", "expected"),
    [
        ("ASES", 1, None, (0, 10, 1)),
        ("ASES", 2, None, (0, 3, 1)),
        ("OSS", 12, "old 12-60", (1, 5, 0)),
        ("Constant-Murley", 10, None, (0, 25, 1)),
    ],
)
def test_what_an_item_allows(
    instrument: str, number: int, formula: str | None, expected: tuple[int, int, int]
):
    assert answer_range(rules().instruments[instrument], number, formula) == expected


def test_an_item_the_form_lacks():
    for number in (0, 12):
        with pytest.raises(ScoringError, match=rf"QuickDASH has no item {number}, allowed is 1 to 11"):
            answer_range(rules().instruments["QuickDASH"], number)


def doubt(instrument: str, *totals: float, formula: str | None = None):
    return scale_doubt(rules().instruments[instrument], [Decimal(str(t)) for t in totals], formula)


def test_a_raw_sum_of_spadi_is_asked_about_and_never_converted():
    """10.4: 83 to 20 of 130 look like per cents. Above 100 it cannot be one."""
    certain, possible = doubt("SPADI", 103, 20), doubt("SPADI", 83, 20)
    assert certain is not None
    assert certain.certain
    assert certain.question == (
        "SPADI 103: is it a sum out of 130 (then 79.2 of 100 by all items), or already out of 100?"
    )
    assert possible is not None
    assert not possible.certain
    assert doubt("SPADI", 52.5, 20) is None  # no sum of whole answers
    assert doubt("SPADI", 131, 20) is None  # fits no scale: the range check speaks
    assert doubt("SPADI") is None


def test_per_cents_and_old_totals_are_asked_about():
    percent = doubt("WORC", 23, 73, 91)
    assert percent is not None
    assert percent.question.startswith(
        "WORC 91: is it per cent of the best (higher is better; then 189 of 2100)"
    )
    assert doubt("WORC", 1619, 73) is None
    old, either = doubt("OSS", 50, 20), doubt("OSS", 40, 20)
    assert old is not None
    assert either is not None
    assert (old.certain, either.certain) == (True, False)
    assert "50: is it the old 12 to 60 (lower is better; then 10 of 48)" in old.question
    assert doubt("OSS", 50, formula="old 12-60") is None
    assert doubt("OSS", 11) is None
    assert doubt("QuickDASH", 40) is None


def test_totals_are_exact_to_the_last_digit_shown():
    """The same totals in exact fractions."""
    assert scored("QuickDASH", [*spread(30, 11, 1, 5)]).total == Decimal(1900) / 44
    assert Fraction(scored("SPADI", [*PAIN, *DISABILITY]).total or 0) == Fraction(105, 2)
    assert str(scored("QuickDASH", [*spread(30, 11, 1, 5)]).recorded) == "43.18"
