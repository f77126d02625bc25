"""The level of irritability proposed from four rows.

Expected values: practice note 3.0 (rule and cut-offs) and its evidence table 3: McClure, Michener 2015 Phys
Ther 95:791 and Kelley, McClure, Leggin 2009 JOSPT 39:135 (three levels; the
cut-offs 7 and 4 are from memory).
"""

from __future__ import annotations

import pytest

from armrise.store.clinic.pain.irritability import (
    END_RANGE,
    REST_AND_NIGHT,
    SETTLING,
    Proposal,
    Rows,
    intensity,
    propose,
)
from tests.clinic.build import rules

H, M, L = "high", "moderate", "low"


@pytest.mark.parametrize(
    ("worst", "level"), [(10, H), (7, H), (6, M), (5, M), (4, M), (3, L), (0, L), (None, None)]
)
def test_intensity_at_its_cut_offs(worst: int | None, level: str | None) -> None:
    # Evidence table 3: high 7 or more, moderate 4-6, low 3 or less (from memory).
    assert intensity(worst, rules()) == level


@pytest.mark.parametrize(
    ("worst", "rest", "end", "settling", "level"),
    [
        (7, "constant", "before end of range", "more than 24 hours", H),
        (5, "intermittent", "at end of range", "1 to 24 hours", M),
        (3, "none", "only with overpressure", "less than 1 hour", L),
    ],
)
def test_the_three_columns_of_the_published_table(
    worst: int, rest: str, end: str, settling: str, level: str
) -> None:
    # McClure, Michener 2015, table of the three levels: each column proposes its own level.
    rows = Rows(intensity(worst, rules()), REST_AND_NIGHT[rest], END_RANGE[end], SETTLING[settling])
    assert propose(rows) == Proposal(level)


@pytest.mark.parametrize(
    ("rows", "level", "mixed"),
    [
        ((H, H, M, L), H, False),  # two agree
        ((H, L, L, M), L, False),  # two agree, though one row is higher: the rule as written
        ((H, M, M, None), M, False),
        ((M, M, None, None), M, False),
        ((H, M, L, None), H, True),  # none agree: the higher, mixed
        ((None, M, None, L), M, True),
        ((H, H, L, L), H, True),  # two against two: the more irritable (evidence table 3)
        ((M, L, L, M), M, True),
        ((L, L, L, H), L, False),
    ],
)
def test_two_rows_agree_or_the_higher_is_taken(rows: tuple[str | None, ...], level: str, mixed: bool) -> None:
    assert propose(Rows(*rows)) == Proposal(level, mixed)


@pytest.mark.parametrize("rows", [(None,) * 4, (H, None, None, None), (None, None, None, L)])
def test_one_row_alone_proposes_nothing(rows: tuple[str | None, ...]) -> None:
    """Absence does not vote: unknown is neither low nor none."""
    assert propose(Rows(*rows)) == Proposal(None)
