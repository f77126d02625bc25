"""Values that can have made nothing true are passed over: the same as walking through every one of them.

Drawn histories of pain, lift and strength, told at visits by several people, some twice a day, some answered.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from random import Random
from unittest.mock import patch

import pytest

from armrise.store.clinic.case.measured import every_one, every_real, of_either_side
from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.motion.powers import Powers, Series
from armrise.store.clinic.pain import told_at_visits
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from tests.clinic.build import TODAY, case, rules

PAIN = ("rest_pain", "night_pain", "worst_pain", "night_waking")
POWER = ("active_flexion", "active_abduction", "passive_flexion", "abduction_strength")
RATERS = (None, "TK", "MO")


def drawn(seed: int) -> CaseRecord:
    """Thirty visits; every other history is quiet, so that most of it is passed over."""
    draw, made = Random(seed), case("RC2", day=200, first=300)
    calm = seed % 2
    for back in range(290, 0, -10):
        for name in draw.sample(PAIN, 2):
            made.measure(-back, name, draw.randint(0, 2 if calm else 7))
        for name in draw.sample(POWER, 2):
            for _ in range(draw.choice((1, 1, 2))):
                value = draw.randint(9, 11) if "strength" in name else 150 + draw.randint(-6, 6) * 2
                low = 1 if calm else draw.choice((1, 1, 2, 3))
                made.measure(-back, name, value // low, rater=draw.choice(RATERS))
        if draw.random() < 0.15:
            made.decision(-back, draw.choice(("worse at visits", "losing lift or strength")))
    return made.record()


def every_day(powers: Powers, series: Series) -> Iterator[date]:
    """Nothing passed over."""
    yield from (point.on for point in series.points)


@pytest.mark.parametrize("seed", range(24))
def test_what_is_passed_over_would_have_made_nothing_true(seed: int) -> None:
    record = drawn(seed)
    days = [TODAY - timedelta(days=back) for back in range(0, 280, 9)]
    found = [(worse_at_visits(v), power_loss(v)) for v in (View.of(record, rules(), day) for day in days)]
    with (
        patch.object(told_at_visits, "_may_have_risen", lambda *_: True),
        patch.object(Powers, "suspect", every_day),
    ):
        whole = [(worse_at_visits(v), power_loss(v)) for v in (View.of(record, rules(), day) for day in days)]
    assert found == whole


def test_both_kinds_of_history_are_drawn() -> None:
    views = [View.of(drawn(seed), rules(), TODAY) for seed in range(6)]
    assert {worse_at_visits(view) is None for view in views} == {True, False}
    assert {power_loss(view) is None for view in views} == {True, False}


def test_a_value_without_a_side_is_of_the_affected_one() -> None:
    made = (
        case("RC2", day=20).measure(-9, "active_flexion", 90).measure(-8, "active_flexion", 150, other=True)
    )
    made.measure(-7, "active_flexion", Absence.PROHIBITED)
    history = History(made.record(), rules())
    affected = every_real(history, "active_flexion")
    assert [m.value for m in affected.measures] == [90]
    assert every_real(history, "active_flexion", history.record.side) == affected
    assert [m.value for m in of_either_side(history, "active_flexion").measures] == [90, 150]
    assert len(every_one(history, "active_flexion").measures) == 2
    assert affected.upto(affected.dates[0] - timedelta(days=1)) == []
