"""The order of the morning list: the clinic's worked example and each key of the sort.

Source of every expected place: worked example 2.4 of the clinic's practice notes (20 rows) and the sort key
of 2.3, with rulings 25 (row C-08 has one reason only), 34 (what "remaining reasons" are) and 58 (ranks).
"""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest

from armrise.store.clinic.case.standing import Reason, Standing
from armrise.store.clinic.standing.triage import order, sort_key, why_above
from tests.clinic.build import TODAY, WORDS, Builder, case, live, rules, standing_of

RANKED = {
    **{"RED": (1, "today"), "INJ": (2, "today"), "LIM": (3, "today")},
    **{
        "MSU": (4, "harm if left"),
        "FUN": (5, "harm if left"),
        "FND": (6, "harm if left"),
        "FLA": (7, "harm if left"),
        "LOST": (8, "harm if left"),
        "STF": (9, "harm if left"),
    },
    **{"VIS": (10, "harm if left"), "WRS": (11, "harm if left"), "SCR": (12, "harm if left")},
    **{"MSG": (13, "contact owed"), "OVD2": (14, "contact owed"), "DNA": (15, "contact owed")},
    **{"OVD1": (16, "contact owed"), "SIL": (17, "contact owed")},
    **{"RDY": (18, "move on"), "ASK": (19, "move on"), "LOW": (20, "move on"), "OVR": (21, "move on")},
    **{"NRM": (22, "move on"), "STL": (23, "move on"), "PRM": (24, "move on"), "LTR": (25, "move on")},
    **{"WAT": (26, "move on")},
}
"""Ruling 63, which replaces the ranks of practice notes 2.2: by inside code."""

Row = tuple[str, int, int]

EXAMPLE: list[tuple[str, list[Row], str]] = [
    ("C-01", [("RED", 3, 0)], ""),
    ("C-02", [("RED", 2, 3), ("OVD1", 40, 6)], ""),
    ("C-05", [("INJ", 2, 0), ("FLA", 4, 0)], ""),
    ("C-04", [("LIM", 3, 1)], ""),
    ("C-03", [("RED", 2, 5)], "in hand"),
    ("C-06", [("FLA", 4, 1)], ""),
    ("C-07", [("FLA", 3, 2), ("OVD1", 42, 3)], ""),
    ("C-08", [("LOST", 17, 3)], ""),  # ruling 25: not the missed visit beside it
    ("C-09", [("STF", 3, 0)], ""),
    ("C-10", [("STF", 2, 9), ("OVD1", 20, 4)], ""),
    ("C-11", [("WRS", 1, 2)], ""),
    ("C-12", [("OVD2", 100, 14)], ""),
    ("C-15", [("DNA", 2, 5)], ""),
    ("C-13", [("OVD1", 42, 3)], ""),
    ("C-14", [("OVD1", 23, 10), ("RDY", 10, 10)], ""),
    ("C-19", [("SIL", 23, 2)], ""),
    ("C-16", [("RDY", 6, 6)], ""),
    ("C-17", [("STL", 125, 14)], ""),
    ("C-18", [("PRM", 9, 9)], ""),
    ("C-20", [], ""),
]
"""Code, live reasons (code, severity, days open) and answered or not, in the order of the printed places.

The table prints 43 (3 days of 7) and 24 (10 of 42) where its own rule, 2.2 "ratio x 100 (floor)", gives 42
and 23, as section 9 of the notes has it throughout. No place depends on it.
"""


def made_reason(row: Row, *, in_hand: bool = False) -> Reason:
    """A reason as the computation would hand it over."""
    code, severity, days_open = row
    rank, tier = RANKED[code]
    return Reason(
        code=code,
        name=WORDS[code],
        rank=rank,
        tier=tier,
        severity=severity,
        days_open=days_open,
        since=TODAY - timedelta(days=days_open),
        sentence=f"{WORDS[code]}: evidence",
        in_hand_until=TODAY + timedelta(days=4) if in_hand else None,
        in_hand_action="referral sent" if in_hand else "",
    )


@pytest.fixture(scope="module")
def plain() -> Standing:
    """A standing without any reason, to be given reasons by a test."""
    return standing_of(case("RC2", day=10))


def standing(plain: Standing, code: str, *rows: Row, answered: tuple[str, ...] = ()) -> Standing:
    """``plain`` under ``code`` with the reasons ``rows``, those with a code in ``answered`` in hand."""
    reasons = tuple(made_reason(row, in_hand=row[0] in answered) for row in rows)
    return plain._replace(code=code, reasons=reasons)


def example(plain: Standing) -> list[Standing]:
    """The twenty rows as standings, in the printed order."""
    made = []
    for code, rows, answer in EXAMPLE:
        made.append(standing(plain, code, *rows, answered=("RED",) if answer else ()))
    return made


def above(plain: Standing, first: Standing, second: Standing) -> bool:
    """True when ``first`` comes before ``second``, whichever way round they are handed in."""
    one = [s.code for s in order([first, second])]
    two = [s.code for s in order([second, first])]
    assert one == two, "the order depends on the order of the input"
    return one == [first.code, second.code]


# -- worked example 2.4, reasons given --------------------------------------------------------------------


def test_the_twenty_rows_take_their_printed_places(plain: Standing):
    """Worked example 2.4 of the practice notes, all twenty places."""
    expected = [code for code, _, _ in EXAMPLE]
    assert [s.code for s in order(list(reversed(example(plain))))] == expected


def test_the_order_is_that_of_the_key(plain: Standing):
    """Practice notes 2.3: a total order, so each key is smaller than the next and none are equal."""
    keys = [sort_key(s) for s in example(plain)]
    assert all(left < right for left, right in pairwise(keys))


# -- worked example 2.4, reasons computed from records ----------------------------------------------------


def c01() -> Builder:
    return case("RC2").screen(0, "hot or swollen joint, or unwell", "yes", severity=3)


def c02() -> Builder:
    made = case("RC3", day=30, last_visit=21, interval=15).contact(-3)
    return made.screen(-3, "mass, cancer history, weight loss or unrelenting night pain", "yes", severity=2)


def c05() -> Builder:
    made = case("AD3", day=20).mornings(-12, 2, 2, 2, 2)
    return made.session(-3, 3, 2, 6).session(-1, 3, 2, 6).event(0, "dislocation")


def c04() -> Builder:
    return case("PO2", day=17).mornings(-6, 1, 1, 1).session(-1, 1, 1, R1=(3, 10))


def c03() -> Builder:
    made = case("RC1", day=12)
    made.screen(-5, "mass, cancer history, weight loss or unrelenting night pain", "yes", severity=2)
    return made.in_hand(-3, "RED", 4, "cancer-pathway referral sent, answer due Friday")


def c06() -> Builder:
    return case("RC3", day=30).mornings(-12, 2, 2, 2, 2).session(-4, 3, 2, 6).session(-2, 3, 2, 6)


def c07() -> Builder:
    made = case("RC2", day=24, last_visit=10, interval=7).mornings(-12, 2, 2, 2, 2)
    return made.session(-5, 3, 2, 5).session(-3, 3, 2, 5)


def c08() -> Builder:
    made = case("PO2", day=10, onset=24, first=17, last_visit=None, interval=21)
    return made.missed(-3).session(-2, 1, 1, 1)


def c09() -> Builder:
    made = case("RC2", day=30).both(-30, "passive_external_rotation", 50, 55)
    made.measure(-30, "passive_flexion", 150)
    return made.measure(0, "passive_external_rotation", 20).measure(0, "passive_flexion", 130)


def c10() -> Builder:
    made = case("RC2", day=40, last_visit=24, interval=20).both(-40, "passive_external_rotation", 60, 65)
    made.measure(-18, "passive_external_rotation", 44).measure(-9, "passive_external_rotation", 42)
    return made.contact(-9)


def c11() -> Builder:
    return case("RC3", day=40, first=86, scored=False).score(-86, "SPADI", 46).score(-10, "SPADI", 42)


def c12() -> Builder:
    return case("RC2", day=28, last_visit=None, interval=14).contact(-5)


def c15() -> Builder:
    return case("RC3", day=30, last_visit=15, interval=28).missed(-10).missed(-5)


def c13() -> Builder:
    return case("RC2", day=20, last_visit=10, interval=7).contact(-2)


def _ready(made: Builder, since: int) -> Builder:
    """RC2 with every exit criterion met from ``since`` on; the strength comes last."""
    made.mornings(since - 12, 2, 2, 2, 2)
    for day in range(since - 7, 0, 2):
        made.session(day, 3, 2, 2, R1=(3, 10))
    made.both(since - 3, "active_flexion", 160, 170)
    return made.percent(since, "external_rotation_strength", 78)


def c14() -> Builder:
    made = case("RC2", day=52, last_visit=None, interval=42, scored=False)
    made.contact(-14, anything_new="no")  # the question, asked by phone (ruling 71)
    return _ready(made.score(-52, "SPADI", 60).score(-12, "SPADI", 18), -10)


def c19() -> Builder:
    # A morning told at home: without a diary silence counts later (ruling 95).
    return case("RC3", day=23, last_visit=None, interval=28).morning(-26, 2)


def c16() -> Builder:
    return _ready(case("RC2", day=30), -6)


def c17() -> Builder:
    return case("RC2", day=70).both(-1, "active_flexion", 120, 170)


def c18() -> Builder:
    return case("RC3", day=30, first=51, scored=False).score(-51, "SPADI", 46)


def c20() -> Builder:
    return case("RC2", day=10)


RECORDS = {
    **{"C-01": c01, "C-02": c02, "C-03": c03, "C-04": c04, "C-05": c05, "C-06": c06, "C-07": c07},
    **{"C-08": c08, "C-09": c09, "C-10": c10, "C-11": c11, "C-12": c12, "C-13": c13, "C-14": c14},
    **{"C-15": c15, "C-16": c16, "C-17": c17, "C-18": c18, "C-19": c19, "C-20": c20},
}


def computed(code: str) -> Standing:
    """The standing computed from the record of a row."""
    made = RECORDS[code]()
    made.head["code"] = code
    return standing_of(made)


@pytest.mark.parametrize(("code", "rows", "answer"), EXAMPLE, ids=[row[0] for row in EXAMPLE])
def test_each_row_follows_from_entries(code: str, rows: list[Row], answer: str):
    """Worked example 2.4: reasons, severities and days open of a record made for the row."""
    found = computed(code)
    assert live(found) == rows
    assert [r.in_hand for r in found.reasons] == [bool(answer)] * len(rows)


def test_the_twenty_records_take_their_printed_places():
    """Worked example 2.4, all twenty places, everything computed."""
    standings = [computed(code) for code in sorted(RECORDS)]
    assert [s.code for s in order(standings)] == [code for code, _, _ in EXAMPLE]


def test_ranks_and_tiers_are_those_of_the_notes():
    """Ruling 63; names in the words of clarification 11.8."""
    ranks = rules().ranks
    assert {code: (row.rank, row.tier) for code, row in ranks.items()} == RANKED
    assert [row.name for row in ranks.values()] == [WORDS[code] for code in RANKED]


# -- each key of the sort, and its boundary ---------------------------------------------------------------


def test_key_1_tier_comes_before_everything(plain: Standing):
    """2.3 key 1: the least reason of a tier is above the greatest of the next."""
    ladder = [
        standing(plain, "Z-1", ("LIM", 1, 0)),
        standing(plain, "Y-1", ("FLA", 8, 90)),
        standing(plain, "X-1", ("SCR", 1, 0)),
        standing(plain, "W-1", ("OVD2", 900, 400)),
        standing(plain, "V-1", ("SIL", 10, 0)),
        standing(plain, "U-1", ("RDY", 90, 90)),
        standing(plain, "T-1", ("WAT", 10, 0)),
        standing(plain, "S-1"),
    ]
    assert [s.code for s in order(ladder[::-1])] == [s.code for s in ladder]


def test_key_2_unanswered_before_in_hand_in_the_first_tier(plain: Standing):
    """2.3 key 2: an answered same-day flag stands below the least unanswered reason of its tier..."""
    answered = standing(plain, "A-1", ("RED", 3, 9), answered=("RED",))
    assert above(plain, standing(plain, "Z-1", ("LIM", 1, 0)), answered)
    # ... and above every case of the next tier: tier A reasons in hand stay in tier A
    assert above(plain, answered, standing(plain, "B-1", ("FLA", 8, 90)))


def test_key_2_in_the_other_tiers_an_answered_reason_does_not_place(plain: Standing):
    """2.2 "in hand": printed, but the next unanswered reason places the case."""
    placed = standing(plain, "A-1", ("FLA", 9, 9), ("OVD1", 20, 4), answered=("FLA",))
    assert above(plain, standing(plain, "Z-1", ("DNA", 1, 1)), placed)
    assert above(plain, placed, standing(plain, "Z-2", ("OVD1", 19, 90)))
    resting = standing(plain, "A-2", ("FLA", 9, 9), answered=("FLA",))
    assert above(plain, standing(plain, "Z-3", ("WAT", 10, 0)), resting)


def test_key_3_rank_comes_before_severity(plain: Standing):
    """2.3 key 3, as in C-05 above C-04 of the worked example."""
    assert above(plain, standing(plain, "Z-1", ("INJ", 1, 0)), standing(plain, "A-1", ("LIM", 3, 9)))


def test_key_4_severity_larger_first(plain: Standing):
    """2.3 key 4, one point apart, against days open."""
    assert above(plain, standing(plain, "Z-1", ("FLA", 4, 0)), standing(plain, "A-1", ("FLA", 3, 50)))


def test_key_5_days_open_longer_first(plain: Standing):
    """2.3 key 5, one day apart, against a further reason."""
    assert above(
        plain,
        standing(plain, "Z-1", ("FLA", 3, 2)),
        standing(plain, "A-1", ("FLA", 3, 1), ("OVD1", 90, 30)),
    )


def test_key_6_remaining_reasons_are_compared_by_rank(plain: Standing):
    """2.3 key 6: lower rank first; a further reason before none; severity of the further one is not read."""
    alone = standing(plain, "A-1", ("FLA", 3, 2))
    overdue = standing(plain, "B-1", ("FLA", 3, 2), ("OVD1", 10, 1))
    silent = standing(plain, "A-2", ("FLA", 3, 2), ("SIL", 90, 60))
    both = standing(plain, "Z-1", ("FLA", 3, 2), ("OVD1", 10, 1), ("SIL", 10, 1))
    ordered = order([alone, silent, overdue, both])
    assert [s.code for s in ordered] == ["Z-1", "B-1", "A-2", "A-1"]


def test_key_6_counts_unanswered_reasons_only(plain: Standing):
    """Ruling 34: a further reason in hand does not lift the case."""
    answered = standing(plain, "Z-1", ("FLA", 3, 2), ("OVD1", 10, 1), answered=("OVD1",))
    assert above(plain, standing(plain, "A-1", ("FLA", 3, 2)), answered)


def test_key_6_for_a_pinned_case_is_all_its_unanswered_reasons(plain: Standing):
    """Ruling 34: a case pinned by an answered tier A reason is compared by all its unanswered ones."""
    flaring = standing(plain, "Z-1", ("RED", 2, 5), ("FLA", 3, 2), answered=("RED",))
    overdue = standing(plain, "B-1", ("RED", 2, 5), ("OVD1", 3, 2), answered=("RED",))
    alone = standing(plain, "A-1", ("RED", 2, 5), answered=("RED",))
    assert [s.code for s in order([alone, overdue, flaring])] == ["Z-1", "B-1", "A-1"]


def test_an_unanswered_tier_a_reason_beside_an_answered_one_places_the_case(plain: Standing):
    """2.2 "in hand" covers its own reason only: an unanswered broken limit keeps the case above."""
    mixed = standing(plain, "Z-1", ("RED", 3, 5), ("LIM", 1, 0), answered=("RED",))
    assert above(plain, mixed, standing(plain, "A-1", ("RED", 3, 5), answered=("RED",)))
    assert above(plain, standing(plain, "A-2", ("LIM", 2, 0)), mixed)


def test_key_7_code_ascending(plain: Standing):
    """2.3 key 7."""
    assert above(plain, standing(plain, "A-1", ("FLA", 3, 2)), standing(plain, "A-2", ("FLA", 3, 2)))
    assert above(plain, standing(plain, "A-1"), standing(plain, "A-2"))


# -- "why is this above that?" ----------------------------------------------------------------------------

DECIDED = {
    "tier": ([("LIM", 1, 0)], [("FLA", 8, 90)], ("",), "today|healing limit broken"),
    "answered": ([("LIM", 1, 0)], [("RED", 3, 9)], ("RED",), "in hand|answered"),
    "rank": ([("INJ", 1, 0)], [("LIM", 3, 9)], ("",), "new injury.*healing limit broken"),
    "severity": ([("FLA", 4, 0)], [("FLA", 3, 50)], ("",), "4.*3|sever|larger|greater|worse"),
    "days": ([("FLA", 3, 2)], [("FLA", 3, 1)], ("",), "open|longer|2.*1"),
    "remaining": ([("FLA", 3, 2), ("OVD1", 5, 1)], [("FLA", 3, 2)], ("",), "review overdue|further|also"),
    "code": ([("FLA", 3, 2)], [("FLA", 3, 2)], ("",), "code"),
}


@pytest.mark.parametrize("key", DECIDED)
def test_one_sentence_names_the_deciding_key(plain: Standing, key: str):
    """2.1: the screen can always answer "why is this above that?" in one sentence."""
    import re

    upper, lower, answered, words = DECIDED[key]
    first = standing(plain, "A-1", *upper)
    second = standing(plain, "A-2", *lower, answered=answered)
    sentence = why_above(first, second)
    assert re.search(words, sentence, re.IGNORECASE), sentence
    assert "\n" not in sentence
    assert sentence.count(". ") == 0, "one sentence"
    assert not re.search(
        r"\b(RED|INJ|LIM|FLA|LOST|STF|WRS|SCR|OVD[12]|DNA|SIL|RDY|STL|PRM|LTR|WAT)\b", sentence
    )
    assert "A-1" in sentence or "A-2" in sentence or key != "code"
