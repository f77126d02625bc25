"""Sessions are judged on demand, from as far back as makes it certain: the same as all of them in order.

Held against :mod:`tests.clinic.in_order` over drawn histories of every kind of pain: low and quiet, steadily
sore, flaring, near the ceiling, told with gaps, late, or not at all; over stages, an operation, a step back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import product
from random import Random
from typing import NamedTuple

import pytest

from armrise.store.clinic.case.view import DAY, History, NeedsFullHistory
from armrise.store.clinic.pain.calm import Calm, lower_median
from armrise.store.clinic.pain.certain import Certain
from armrise.store.clinic.pain.creep import first_baseline
from armrise.store.clinic.pain.response import Line, Response
from armrise.store.clinic.pain.told import DURING, LATER, ToldPain
from armrise.store.record.case import CaseRecord
from tests.clinic.build import TODAY, Builder, case, on, rules
from tests.clinic.in_order import InOrder

SEEDS = range(40)
LONG = 200
"""Days of a drawn history."""


class Course(NamedTuple):
    """How pain on waking goes: usual, how much it varies, how often and how far it flares, told how often."""

    usual: int
    varies: int
    flares: float
    by: int
    told: float
    every: int


def drawn(seed: int) -> CaseRecord:
    """A record as drawn by its number."""
    draw = Random(seed)
    course = Course(
        usual=draw.choice((0, 1, 2, 3, 5, 8)),
        varies=draw.choice((0, 1, 1, 2)),
        flares=draw.choice((0.0, 0.05, 0.3)),
        by=draw.choice((2, 3, 5)),
        told=draw.choice((0.4, 0.8, 1.0)),
        every=draw.choice((1, 1, 2, 4)),
    )
    made, day = case(draw.choice(("RC1", "RC2", "OA1")), day=LONG, last_visit=5), -LONG
    moves = sorted(draw.sample(range(-LONG + 20, -10), draw.choice((0, 1, 2))))
    while day <= 0:
        if moves and day >= moves[0]:
            _move(made, moves.pop(0), draw)
        _day(made, day, course, draw)
        course = course._replace(usual=max(0, min(9, course.usual + draw.choice((0,) * 20 + (1, -1)))))
        day += draw.choice((1, course.every, course.every, 1 + draw.choice((0,) * 9 + (25,))))
    return made.record()


def _move(made: Builder, day: int, draw: Random) -> None:
    """A step forward or back, or an operation that opens a pathway where tissue heals."""
    stage = draw.choice(("RC3", "RC1", "PO3"))
    if stage == "PO3":
        made.onset(day - 60, "surgery")
    made.step(day, stage)


def _day(made: Builder, day: int, course: Course, draw: Random) -> None:
    """What is told of one day: sessions, a morning by itself, a usual morning, each perhaps late."""
    pain = course.usual + draw.randint(-course.varies, course.varies)
    pain += course.by if draw.random() < course.flares else 0

    def score(shift: int) -> int | None:
        return max(0, min(10, pain + shift)) if draw.random() < course.told else None

    late = draw.choice((1,) * 9 + (8,))
    usual = {"usual_morning": max(0, min(10, pain))} if draw.random() < 0.03 else {}
    made.session(day, score(2), score(draw.choice((0, 1, 3))), score(0), recorded=day + late, **usual)
    if draw.random() < 0.1:
        made.session(day, score(3), score(2), None, ordinal=2)
    if draw.random() < 0.2:
        made.morning(day + 1, score(0))


def history(record: CaseRecord) -> History:
    return History(record, rules())


def dates(first: int = -LONG) -> Iterator[date]:
    return (on(day) for day in range(first, 3))


@pytest.mark.parametrize("seed", SEEDS)
def test_judged_on_demand_is_judged_in_order(seed: int) -> None:
    """Whatever is asked first, and in whatever order."""
    record, draw = drawn(seed), Random(seed)
    order = InOrder(history(record))
    days = [*dates()]
    draw.shuffle(days)
    response = Response(history(record))
    certain = Certain(response.history, response.told)
    for day in days[: len(days) // 4]:
        assert response.baseline(day) == order.baseline(day)
        assert certain.value(certain.measured, day=day) == order.measured(day)
        for part in (DURING, LATER):
            assert response.usual(part, day) == order.usual(part, day)
        judged = response.judged_on(day)
        assert (judged and (judged.klass, judged.baseline)) == order.classes.get(day)
    line = [(judged.on, judged.klass) for judged in reversed(Line(Response(history(record)), on(1)))]
    assert line == [(day, klass) for day, (klass, _) in reversed(order.classes.items()) if day <= on(1)]


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_called_certain_is_so_whatever_was_before(seed: int) -> None:
    """Judged from any day on, with nothing known of the sessions before: certain and right, or doubtful."""
    record = history(drawn(seed))
    order, told = InOrder(record), ToldPain(record)
    for start in [*dates()][seed % 9 :: 50]:
        certain = Certain(record, told)
        for closely in (False, True):
            certain.judge(start, on(3), closely=closely)
        for day, flare in certain.flares.items():
            assert flare in (None, day in order.flared)
        for day in [*dates()][seed % 5 :: 9]:
            assert order.baseline(day) in certain.baseline(day)
            for part in (DURING, LATER):
                assert order.usual(part, day) in certain.usual(part, day)


def test_the_chain_is_cut_within_weeks() -> None:
    """Else nothing is gained: from a start in the midst of a history nearly all is certain in eight weeks."""
    cut = 0
    for seed in SEEDS:
        record = history(drawn(seed))
        certain = Certain(record, ToldPain(record))
        certain.judge(on(-100), on(0))
        cut += None not in [flare for day, flare in certain.flares.items() if on(-44) <= day < on(0)]
    assert cut >= 0.9 * len(SEEDS)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_window_says_the_same_or_asks_for_all_of_it(seed: int) -> None:
    """Some spans of dates were read, the rest is missing: never another answer than of the whole history."""
    record, draw = drawn(seed), Random(seed)
    whole = Response(history(record))
    edges = sorted(draw.sample(range(-LONG, 0), 3))
    spans = ((date.min, on(edges[0])), (on(edges[1]), on(edges[2])), (on(-draw.randint(20, 110)), date.max))
    if spans[2][0] <= spans[1][1]:
        spans = (spans[0], (min(spans[1][0], spans[2][0]), date.max))
    window = windowed(record, spans)
    response, said = Response(window), 0
    for day in [*dates()][seed % 3 :: 3]:
        for ask in QUESTIONS:
            try:
                found = ask(response, day)
            except NeedsFullHistory:
                continue
            said += 1
            assert found == ask(whole, day)
    assert said


QUESTIONS = (
    lambda response, day: response.baseline(day),
    lambda response, day: response.usual(DURING, day),
    lambda response, day: response.usual(LATER, day),
    lambda response, day: response.usual_morning(day),
    lambda response, day: response.judged_on(day),
    lambda response, day: response.rise(day),
    lambda response, day: response.settled(day),
    lambda response, day: response.mornings_found(day),
    lambda response, day: response.woke(day - 9 * DAY, day),
    lambda response, day: response.between(day - 12 * DAY, day),
    lambda response, day: response.all(day)[-3:],
)


def windowed(record: CaseRecord, spans: tuple[tuple[date, date], ...]) -> History:
    """The record with the sessions and mornings of these dates only."""

    def read(name: str) -> tuple[object, ...]:
        return tuple(e for e in getattr(record, name) if any(low <= e.on < high for low, high in spans))

    kept = {name: read(name) for name in ("sessions", "mornings")}
    return history(replace(record, **kept, known_from=spans[-1][0], known_spans=spans))


def test_every_middle_value_there_may_be() -> None:
    """Held against all ways to leave out what is doubtful, at each number of values taken."""
    draw = Random(5)
    for _ in range(300):
        many, take = draw.randint(1, 7), draw.randint(1, 5)
        values = {on(day): draw.randint(0, 6) for day in range(many)}
        flares = {day: draw.choice((True, False, None)) for day in values}
        doubtful = [day for day, flare in flares.items() if flare is None]
        least = draw.randint(1, 3)
        true = {
            Calm(values, flares | dict(zip(doubtful, so, strict=True)), timedelta(0)).middle(
                on(0), on(many), least, take
            )
            for so in product((True, False), repeat=len(doubtful))
        }
        found = Calm(values, flares, timedelta(0)).middles(on(0), on(many), least, take)
        assert {value for one in true if one for value in one} <= found
        assert min(v for v in (*found, 99) if v is not None) in {*values.values(), 99}


def test_the_first_baseline_is_not_looked_for_behind_a_gap() -> None:
    """Two mornings were told at first and none is a baseline; five a week later, not read, are the first."""
    made = case("RC2", day=190, last_visit=5).mornings(-190, 0, 0).mornings(-120, *[1] * 20)
    record = made.mornings(-40, *[4] * 40).record()
    assert first_baseline(history(record).on(TODAY), None) == (1, on(-118))
    window = windowed(record, ((date.min, on(-145)), (on(-98), date.max)))
    with pytest.raises(NeedsFullHistory):
        first_baseline(window.on(TODAY), None)


def test_the_lower_of_two_middle_values_counts() -> None:
    """Errs to safety: a rise shows sooner."""
    assert lower_median([3, 1, 2, 4]) == 2
