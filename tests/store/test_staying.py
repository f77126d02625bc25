"""How long own past cases took, read from a store: the same as from whole records, as known then."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from armrise.store.caseload.read import case, codes
from armrise.store.caseload.stays import ever_in, own_past_cases
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.duration import own_stays
from armrise.store.rules.figure import Figure
from tests.clinic.build import rules

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize("stage", ["RC1", "RC2", "PO2", "FS2"])
@pytest.mark.parametrize("days_ago", [0, 30, 90])
def test_what_little_is_read_gives_the_stays_of_the_whole_records(demo, stage, days_ago):
    everyone = [case(demo, code) for code in codes(demo)]
    view = View.of(everyone[0], rules(), TODAY - timedelta(days=days_ago))
    whole = own_stays(everyone, rules(), view, stage)
    assert own_stays(ever_in(demo, stage), rules(), view, stage) == whole
    if days_ago == 0:
        assert whole


def test_the_case_itself_is_left_out_and_too_few_are_not_told(demo):
    assert own_past_cases(demo, case(demo, "BY-078"), rules(), TODAY) == (
        "own past cases took a median of 35 days in this stage (7 of 14 still there)"
    )
    assert own_past_cases(demo, case(demo, "BY-060"), rules(), TODAY) == ""  # two went on from FS1


def test_a_protected_stage_tells_nothing_however_few_are_asked_for(demo):
    easy = replace(rules(), figures={**rules().figures, "stays.least": Figure(Decimal(1), "test", "design")})
    assert own_past_cases(demo, case(demo, "BY-060"), easy, TODAY).startswith("own past cases")
    assert own_past_cases(demo, case(demo, "BY-003"), easy, TODAY) == ""


def test_nothing_was_known_before_it_was_recorded(demo):
    before = datetime(2025, 1, 1, tzinfo=UTC)
    assert own_past_cases(demo, case(demo, "BY-078"), rules(), TODAY, before) == ""
