"""What a summary of weeks can never do, tried on random ones (rulings 73, 75, 94 and 95)."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.periods import periods
from armrise.store.clinic.pain.response import Response
from tests.clinic.build import TODAY, Builder, case, rules, standing_of
from tests.clinic.build_more import MET, NOT_MET, UNKNOWN, criterion, ready_rc1

few = settings(max_examples=60, deadline=None)
LINES = st.builds(
    "{}/{} {} {} {} {} {}".format,
    st.integers(3, 7),
    st.just(7),
    st.integers(0, 5),
    st.integers(0, 5),
    st.integers(0, 3),
    st.sampled_from("wwpm"),
    st.sampled_from("ssn"),
)
SESSIONS = st.lists(
    st.tuples(st.integers(-40, -1), st.integers(0, 8), st.integers(0, 6), st.integers(1, 5)),
    max_size=8,
    unique_by=lambda told: told[0],
)
PERIODS = st.lists(st.tuples(st.integers(0, 21), st.integers(7, 20), LINES), max_size=3)


def placed(stage: str, sessions: list[tuple[int, int, int, int]]) -> Builder:
    """Long in the stage, baseline 2, with sessions of a day, during, later and next morning."""
    made = case(stage, day=90, last_visit=1).mornings(-80, *[2] * 80)
    for day, during, later, morning in sorted(sessions):
        made.session(day, during, later, morning)
    return made


def told(made: Builder, periods: list[tuple[int, int, str]]) -> Builder:
    """Periods as (days before the one after it, length, line), newest first, none of them sharing a day."""
    end = 0
    for gap, length, line in periods:
        made.summary(end - gap, end - gap - length, line)
        end -= gap + length
    return made


def run(made: Builder) -> Truth:
    return criterion(standing_of(made), "good sessions").state


@few
@given(st.sampled_from(["AD1", "FX2"]), SESSIONS, PERIODS)
@example(stage="AD1", sessions=[(-1, 0, 0, 1), (-9, 0, 0, 4)], weeks=[(0, 7, "4/7 0 0 0 w s")])
def test_73_where_tissue_heals_a_summary_undoes_no_refusal(stage: str, sessions: Any, weeks: Any) -> None:
    """No slip is forgiven there, and what is told counts as two of three."""
    alone = run(placed(stage, sessions))
    both = run(told(placed(stage, sessions), weeks))
    assert not (alone is NOT_MET and both is MET)
    assert run(told(placed(stage, []), weeks)) is not MET


@few
@given(st.sampled_from(["RC1", "FS1", "OA2"]), SESSIONS, PERIODS)
def test_73_a_flare_or_far_over_in_the_newest_period_is_never_met(
    stage: str, sessions: Any, weeks: Any
) -> None:
    made = told(placed(stage, sessions), weeks)
    view = View.of(made.record(), rules(), TODAY)
    summed = periods(view)
    harm = [j for j in Response.of(view).all(TODAY) if j.klass == "flare" or j.over > 1]
    if summed and any(summed[-1].told.since <= j.on <= summed[-1].told.on for j in harm):
        newer = [j for j in Response.of(view).all(TODAY) if j.on > harm[-1].on and j.klass == "good"]
        assert run(made) is not MET or len(newer) + 2 >= 3


@few
@given(st.sampled_from(["RC1", "FS1", "OA2", "RC2", "AD1"]), SESSIONS, PERIODS)
def test_73_bad_weeks_never_help(stage: str, sessions: Any, weeks: Any) -> None:
    """A period that is flare, over, raised or incomplete makes no run better than it was."""
    order = [NOT_MET, UNKNOWN, MET]
    made = told(placed(stage, sessions), weeks)
    record = made.record()
    bad = {p.told.id for p in periods(View.of(record, rules(), TODAY)) if p.klass != "good"}
    without = replace(record, summaries=tuple(s for s in record.summaries if s.id not in bad))
    with_all = criterion(standing_of(record), "good sessions").state
    assert order.index(with_all) <= order.index(criterion(standing_of(without), "good sessions").state)


@few
@given(LINES, st.integers(7, 28))
def test_73_ready_by_a_summary_is_never_against_it(line: str, length: int) -> None:
    """RC1 ready but for its sessions: with a summary READY asks that it is good."""
    made = ready_rc1(day=60, sessions=False, last_visit=length).summary(0, -length, line)
    (period,) = periods(View.of(made.record(), rules(), TODAY))
    ready = standing_of(made).verdict.word is Word.READY
    assert not ready or period.klass == "good"


@few
@given(st.sampled_from(["RC1", "OA2", "AD1"]), SESSIONS, PERIODS, st.integers(0, 10**6))
def test_73_order_of_entries_never_matters(stage: str, sessions: Any, weeks: Any, seed: int) -> None:
    record = told(placed(stage, sessions), weeks).record()

    def mixed(entries: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(random.Random(seed).sample(entries, len(entries)))

    shuffled = replace(
        record,
        summaries=mixed(record.summaries),
        sessions=mixed(record.sessions),
        mornings=mixed(record.mornings),
    )
    assert standing_of(shuffled) == standing_of(record)
