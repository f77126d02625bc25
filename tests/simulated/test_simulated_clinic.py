"""A small simulated clinic, with diaries and with visits only: its safety figures (ruling 75, targets).

The whole of it, with every figure: ``python -m tests.bench.simulated_clinic``.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from statistics import mean

import pytest

from armrise.store.clinic.case.standing import Verdict, Word
from tests.simulated.clinician import run
from tests.simulated.figures import Figures, figures
from tests.simulated.ready import opened
from tests.simulated.truth import Danger

SEEDS, SHOULDERS, DAYS = (1, 12), 12, 40
RC_SEED = 1
"""Draws a shoulder without surgery or injury first."""

ways = pytest.mark.parametrize("diary", [True, False], ids=["diaries", "visits only"])


@cache
def made(diary: bool) -> Figures:
    """The figures of the small clinics, which are run once."""
    return figures(run(seed, shoulders=SHOULDERS, days=DAYS, diary=diary) for seed in SEEDS)


@ways
def test_75_ready_is_never_said_with_its_danger_on_record(diary: bool) -> None:
    found = made(diary)
    assert found.ready_days["danger on record"] == 0, found.notes
    assert found.ready_days["right"] > 0


@ways
def test_75_ready_is_never_said_before_minimum_days_and_gate(diary: bool) -> None:
    assert made(diary).ready_days["shut"] == 0, made(diary).notes


@ways
def test_75_a_danger_is_shown_once_it_is_on_record(diary: bool) -> None:
    shown, of = made(diary).on_record
    assert shown == of >= 5, made(diary).notes


@ways
def test_75_flares_are_shown_by_the_next_visit(diary: bool) -> None:
    shown, of = made(diary).next_contact
    assert of >= 8
    assert shown / of >= 2 / 3, made(diary).notes


def test_75_flares_are_shown_within_20_days_where_a_diary_is_kept() -> None:
    days = made(True).flares
    assert len(days) >= 6
    assert sum(found is not None for found in days) / len(days) >= 20 / 24, made(True).notes


@ways
def test_75_the_top_two_tiers_stay_short(diary: bool) -> None:
    assert 0 < mean(made(diary).top_share) <= 0.15


def test_a_clinic_is_the_same_every_time() -> None:
    first, again = (run(3, shoulders=3, days=15, diary=True) for _ in range(2))
    assert [look.standing for look in first.looks] == [look.standing for look in again.looks]
    assert len(first.looks) > 3


# --- what the figures count -----------------------------------------------------------------------------


def called_ready(kind: str, *, told: bool) -> Counter[str]:
    """How the figures count a look that said READY on the day a danger began, which somebody told or not."""
    small = run(RC_SEED, shoulders=1, days=12, diary=False)
    (chart,), look = small.charts, small.looks[-1]
    chart.shoulder.danger = Danger(kind, look.day)
    if told:
        chart.made.event(look.day, "fall")
    standing = replace(look.standing, verdict=Verdict(Word.READY, "ready to step forward"))
    long_ago, known = date(2025, 1, 1), len(chart.made.entries)
    small.looks = [replace(look, at_visit=False, entered=long_ago, known=known, standing=standing)]
    return figures([small]).ready_days


def test_ready_with_a_danger_on_record_is_counted_as_wrong() -> None:
    assert called_ready("fall", told=True) == {"danger on record": 1}


def test_ready_with_a_danger_nobody_can_know_of_is_counted_apart() -> None:
    assert called_ready("cancer", told=False) == {"danger unseen": 1}


def test_ready_before_the_minimum_days_is_counted_as_shut() -> None:
    found = run(RC_SEED, shoulders=1, days=12, diary=False)
    (chart,), look = found.charts, found.looks[-1]
    stage = replace(chart.stage, minimum=replace(chart.stage.minimum, value=chart.stage.minimum.value + 90))
    assert opened(chart, chart.stage, date(2025, 1, 1), look.day + timedelta(days=200))
    assert not opened(chart, stage, look.day, look.day + timedelta(days=1))
