"""A small simulated clinic, with diaries and with visits only: its safety figures (ruling 75, targets).

The whole of it, with every figure: ``python -m tests.bench.simulated_clinic``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from statistics import mean

import pytest

from armrise.store.clinic.case.standing import Standing, Verdict, Word
from armrise.store.clinic.standing.stand import stand
from armrise.store.record.kinds.measured import Measure
from tests.clinic.build import Builder, rules
from tests.simulated.chart import DAY
from tests.simulated.clinician import Clinic, Look, run
from tests.simulated.figures import Figures, figures
from tests.simulated.ready import opened
from tests.simulated.truth import Danger

SEEDS, SHOULDERS, DAYS = (1, 11), 12, 40
RC_SEED = 1
"""Draws a shoulder without surgery or injury first."""

ways = pytest.mark.parametrize("diary", [True, False], ids=["diaries", "visits only"])


@cache
def clinics(diary: bool) -> list[Clinic]:
    """The small clinics, run once."""
    return [run(seed, shoulders=SHOULDERS, days=DAYS, diary=diary) for seed in SEEDS]


@cache
def made(diary: bool) -> Figures:
    """Their figures."""
    return figures(clinics(diary))


def looks(diary: bool) -> list[Look]:
    """Everything their rules said."""
    return [look for clinic in clinics(diary) for look in clinic.looks]


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


# --- ready, and then a danger is told -------------------------------------------------------------------


def measured(made: Builder, name: str) -> list[Measure]:
    """The values of the affected side, oldest first."""
    return [m for m in made.record().measures if m.name == name and m.side is None]


def most(values: list[Measure]) -> int:
    """The highest of them."""
    return max(int(m.value) for m in values if isinstance(m.value, Decimal))


def tear(made: Builder, day: date) -> None:
    """Active lift falls by 60 degrees and the passive partner stays."""
    if lifts := measured(made, "active_flexion"):
        made.measure(day, "active_flexion", most(lifts) - 60).measure(day, "passive_flexion", 168)


def stiffening(made: Builder, day: date) -> None:
    """Passive rotation is 25 degrees below its best, a week ago and in whatever was measured since."""
    name = "passive_external_rotation"
    older = [m for m in measured(made, name) if (day - m.on).days > 8]
    if not older:
        return
    low, newer = most(older) - 25, [m for m in measured(made, name) if m not in older]
    made.entries = [replace(e, value=Decimal(low)) if e in newer else e for e in made.entries]
    made.measure(day - 8 * DAY, name, low).measure(day, name, low)


def stiff_once(made: Builder, day: date) -> None:
    """Passive rotation is 16 degrees below its best, seen today only."""
    name = "passive_external_rotation"
    if values := measured(made, name):
        made.measure(day, name, most(values) - 16)


TOLD: dict[str, Callable[[Builder, date], object]] = {
    "fall": lambda made, day: made.event(day, "fall"),
    "night pain": lambda made, day: made.screen(day, "unrelenting night pain", "yes"),
    "something new": lambda made, day: made.contact(day, anything_new="yes"),
    "leaking wound": lambda made, day: made.contact(day, "message received", note="the wound is leaking"),
    "wet wound": lambda made, day: made.finding(day, "wound dry", "no"),
    "numb badge": lambda made, day: made.finding(day, "badge sensation lost"),
    "still deltoid": lambda made, day: made.finding(day, "deltoid contracts", "no"),
    "flare": lambda made, day: made.session(day - 2 * DAY, 9, 9, 9).session(day - DAY, 9, 9, 9),
    "flare as told": lambda made, day: made.summary(day, day - 7 * DAY, "7/7 8 8 5 w n"),
    "worse nights": lambda made, day: made.measure(day, "night_pain", 9).measure(day, "rest_pain", 9),
    "tear": tear,
    "stiffening": stiffening,
    "stiffening, seen once": stiff_once,
}
"""What may be told or found of a shoulder on the day on which it was called ready."""
ONLY = {"wet wound": ("PO",), "tear": ("RC", "AD", "PO")}
"""In which pathways each matters; the others in all."""


def chart_of(look: Look) -> Builder:
    """The case as it was known when it was looked at."""
    made = Builder(dict(look.chart.made.head), look.stage, look.chart.shoulder.first)
    made.entries = look.chart.made.entries[: look.known]
    return made


def judged(made: Builder, look: Look) -> Standing:
    """Its standing on the day of the look."""
    return stand(made.record(), rules(), look.day)


@ways
def test_75_a_shoulder_called_ready_is_not_once_a_danger_is_told(diary: bool) -> None:
    """Every danger against every look that said READY; one that compares has something to compare with."""
    tried = Counter[str]()
    for look in (one for one in looks(diary) if one.standing.verdict.word is Word.READY):
        known = look.chart.made.entries[: look.known]
        assert judged(chart_of(look), look).verdict.word is Word.READY
        for sign, tell in TOLD.items():
            told = chart_of(look)
            if look.stage[:2] in ONLY.get(sign, (look.stage[:2],)):
                tell(told, look.day)
            if told.entries != known:
                tried[sign] += 1
                assert judged(told, look).verdict.word is not Word.READY, (sign, look.stage, look.day)
    assert set(tried) == set(TOLD)


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
    standing = look.standing._replace(verdict=Verdict(Word.READY, "ready to step forward"))
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
