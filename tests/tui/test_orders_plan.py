"""What the orders form reads from what is typed.

Expected behaviour: section 4.1, trap 16 of section 7, and 4.13 (22) of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from armrise.tui.forms.decisions.orders_plan import DATES, RANGES, read, read_ordered
from tests.clinic.build import TODAY

SURGERY = date(2026, 2, 10)
LABELS = {key: key for key in (*DATES, *RANGES)}


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("day 42", date(2026, 3, 24)),
        ("week 6", date(2026, 3, 24)),
        ("6 weeks", date(2026, 3, 24)),
        ("6weeks", date(2026, 3, 24)),
        ("42 days", date(2026, 3, 24)),
        ("Day 0", date(2026, 2, 10)),
        ("24 Mar", date(2026, 3, 24)),
        ("2026-03-24", date(2026, 3, 24)),
        ("as tolerated", None),
        ("week", None),
        ("", None),
    ],
)
def test_dates_are_typed_in_words_or_counted_from_surgery(typed: str, meant: date | None) -> None:
    assert read_ordered(typed, TODAY, SURGERY) == meant


def test_without_a_surgery_date_nothing_is_counted_from_it() -> None:
    found = read({"sling_until": "week 6"}, LABELS, TODAY, None, "surgery")
    assert found.values == {}
    assert found.faults == {
        "sling_until": 'sling_until: "week 6" counts from surgery, whose date is not on record.'
    }


def test_vague_words_in_a_date_are_sent_to_the_text() -> None:
    found = read({"sling_until": "as tolerated"}, LABELS, TODAY, SURGERY, "surgery")
    assert found.values == {}
    assert "Vague words go in the text" in found.faults["sling_until"]


@pytest.mark.parametrize(
    ("key", "typed", "value"),
    [
        ("external_rotation_limit", "0", 0),
        ("external_rotation_limit", "-10", -10),
        ("elevation_limit", "180", 180),
        ("lifting_limit", "0.5", Decimal("0.5")),
        ("lifting_limit", "0,5", Decimal("0.5")),
    ],
)
def test_numbers_are_kept_as_typed(key: str, typed: str, value: object) -> None:
    assert read({key: typed}, LABELS, TODAY, SURGERY, "surgery").values == {key: value}


@pytest.mark.parametrize(
    ("key", "typed"),
    [
        ("external_rotation_limit", "111"),
        ("external_rotation_limit", "30.5"),
        ("elevation_limit", "shoulder height"),
        ("elevation_limit", "nan"),
        ("lifting_limit", "0.125"),
        ("lifting_limit", "101"),
    ],
)
def test_a_number_out_of_range_is_said_with_what_is_allowed(key: str, typed: str) -> None:
    found = read({key: typed}, LABELS, TODAY, SURGERY, "surgery")
    assert found.values == {}
    assert typed in found.faults[key]
    assert " to " in found.faults[key]


def test_a_later_stage_cannot_open_before_an_earlier() -> None:
    typed = {"stage2_from": "day 14", "stage4_from": "day 42", "stage5_from": "day 41"}
    found = read(typed, LABELS, TODAY, SURGERY, "surgery")
    assert list(found.faults) == ["stage5_from"]
    assert "Mon 23 Mar 2026 is before stage4_from, Tue 24 Mar 2026" in found.faults["stage5_from"]


def test_stages_may_open_on_one_day() -> None:
    typed = {"stage2_from": "day 42", "stage3_from": "week 6"}
    assert read(typed, LABELS, TODAY, SURGERY, "surgery").faults == {}
