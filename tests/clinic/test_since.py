"""Since when a reason is true, found from turn to turn, is what a walk day by day finds (clarification 11.1).

The walks day by day stand here and nowhere else. What a reason declares of its turns (fields of the record,
days it counts to) is held against every day of generated cases and of a small simulated clinic: between two
turns neither its truth, nor its severity, nor the entries behind it may change. The cases hold entries of
every kind, told late and withdrawn, holds, two episodes, and more than one pathway.

``ARMRISE_EXAMPLES=5000 pytest tests/clinic/test_since.py`` tries more.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.standing.day_by_day import absences
from armrise.store.clinic.standing.since import earliest, first_day, grew_on, hidden, spoke_on
from armrise.store.clinic.verdict import freshness
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from tests.clinic.build import TODAY, Builder, rules
from tests.clinic.test_properties import PAIN, Adder, built
from tests.simulated.clinician import run

EXAMPLES = int(os.environ.get("ARMRISE_EXAMPLES", "15"))
some = settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
DECLARED = [code for code, rule in REASONS.items() if rule.turns is not None]
STANDING = [code for code, rule in REASONS.items() if rule.stands is not None]

ABOUT = ("worse at visits", "losing lift or strength", "image cuff", "losing range", "flare", "healing clock")
MORE: list[Adder] = [
    lambda m, d, draw: m.visit(d, usual_morning=draw(PAIN), anything_new="yes"),
    lambda m, d, draw: m.visit(d, decision=True, answers=draw(st.sampled_from(ABOUT))),
    lambda m, d, draw: m.decision(
        d, draw(st.sampled_from(ABOUT)), "it was looked at and talked over at length"
    ),
    lambda m, d, draw: m.referral(d, draw(st.sampled_from(ABOUT)), surgeon_told=draw(st.booleans())),
    lambda m, d, draw: m.contact(d, surgeon_told=True, plan_corrected=True),
    lambda m, d, draw: m.onset(d, draw(st.sampled_from(["surgery", "fracture", "dislocation"]))),
    lambda m, d, draw: m.measure(d, "night_waking", draw(st.integers(0, 7))),
    lambda m, d, draw: m.measure(d, "rest_pain", draw(PAIN)).measure(d, "night_pain", draw(PAIN)),
    lambda m, d, draw: m.measure(
        d, "passive_external_rotation", draw(st.integers(0, 80)), other=draw(st.booleans())
    ),
    lambda m, d, draw: m.measure(d, "active_flexion", draw(st.sampled_from([30, 60, 90, 120, 150]))),
    lambda m, d, draw: m.score(
        d, draw(st.sampled_from(["SPADI", "PSFS"])), draw(st.integers(0, 10)) * 10 or 5
    ),
    lambda m, d, draw: m.attendance(d, draw(st.sampled_from(["did not attend", "attended"])), recorded=d + 3),
    lambda m, d, draw: m.step(d, m.stage[:2] + draw(st.sampled_from("123"))),
    lambda m, d, draw: m.step(d, draw(st.sampled_from(["RC2", "FS2", "PO3", "OA2"]))),
    lambda m, d, draw: m.finding(d, "can lift to 90 degrees", draw(st.sampled_from(["yes", "no"]))),
    lambda m, d, draw: m.hold(d, d + draw(st.integers(1, 30))),
]


@st.composite
def told(draw: Any) -> CaseRecord:
    """A case in one or two episodes, some of it told late, some of it withdrawn."""
    made: Builder = draw(built(25))
    span = min((TODAY - made.head["registered_on"]).days, 150)
    for _ in range(draw(st.integers(0, 15))):
        draw(st.sampled_from(MORE))(made, -draw(st.integers(0, span)), draw)
    if span > 20 and draw(st.booleans()):
        closed = draw(st.integers(5, span))
        made.discharge(-closed, "goal met").reopen(
            -draw(st.integers(0, closed)), new_mechanism=draw(st.booleans())
        )
    record, chance = made.record(), random.Random(draw(st.integers(0, 999)))
    kinds = {name: tuple(_told(getattr(record, name), chance)) for name in FIELD_OF_KIND.values()}
    return replace(record, **kinds)


def _told(entries: tuple[Any, ...], chance: random.Random) -> Iterator[Any]:
    """One entry in twenty is withdrawn, one in six told up to three weeks late."""
    for entry in entries:
        if chance.random() < 0.05 and entry.KIND != "step":
            continue
        late = timedelta(days=chance.randint(1, 21) if chance.random() < 0.16 else 0)
        late = min(late, max(TODAY - entry.recorded_on, timedelta(0)))
        yield replace(entry, recorded_on=entry.recorded_on + late, recorded_at=entry.recorded_at + late)


# -- day by day ---------------------------------------------------------------------------------------------


def by_days_first(view: View, code: str) -> date:
    """The first day of the stretch, looked for day by day."""
    day = view.today
    while day > earliest(view):
        looking = view.at(day - DAY)
        if hidden(looking, code) or REASONS[code].condition(looking) is None:
            break
        day -= DAY
    return day


def by_days_spoke(view: View, code: str, ids: set[int], start: date) -> date:
    """The first day on which one of these entries was part of it."""
    day = start
    while day < view.today:
        found = REASONS[code].condition(view.at(day))
        if found and ids & set(found.evidence):
            return day
        day += DAY
    return view.today


def by_days_grew(view: View, code: str, severity: int, start: date) -> date:
    """The first day on which it was larger."""
    day = start
    while day < view.today:
        found = REASONS[code].condition(view.at(day))
        if found and found.severity > severity:
            return day
        day += DAY
    return view.today


def by_days_screen(view: View) -> date | None:
    """Since when the full screen is owed again, looked for day by day."""
    full = freshness.newest_full(view)
    if full is None or view.closed or view.span is None:
        return None
    bare = freshness._undecided(view)
    if freshness._trouble(bare) is None:
        return None
    day = view.today
    while day > full.on and freshness._trouble(bare.at(day - DAY)) is not None:
        day -= DAY
    return day if day > full.on else None


# -- what is compared ---------------------------------------------------------------------------------------


def seen(view: View, code: str) -> tuple[int, tuple[int, ...]] | None:
    """What may not change between two turns."""
    found = REASONS[code].condition(view)
    return (found.severity, found.evidence) if found else None


def check_walks(view: View) -> None:
    """Every walk of the program against the one day by day."""
    for code, rule in REASONS.items():
        found = None if hidden(view, code) else rule.condition(view)
        if found is None:
            continue
        assert first_day(view, code) == by_days_first(view, code), code
        entries = [e for name in FIELD_OF_KIND.values() for e in view.upto(name) if e.id in found.evidence]
        for newer in entries[-2:]:
            assert spoke_on(view, code, [newer]) == by_days_spoke(view, code, {newer.id}, newer.on), code
        for start in (view.today - 14 * DAY, view.today - 5 * DAY):
            larger = found.severity - 1
            assert grew_on(view, code, larger, start) == by_days_grew(view, code, larger, start), code
    again = freshness.screen_again(view)
    assert (again.since if again else None) == by_days_screen(view)


def check_truth(view: View) -> None:
    """What asks for the truth alone finds what the condition finds, in a history of its own."""
    alone = View.of(view.record, view.rules, view.today)
    for code, rule in REASONS.items():
        for back in range(0, 60, 2) if rule.is_true else ():
            day = view.today - back * DAY
            assert rule.true_on(alone.at(day)) == (rule.condition(view.at(day)) is not None), (code, day)


def check_stretches(view: View, code: str) -> None:
    """Whatever day is looked at: back to the last turn, and on to the next one, all is the same."""
    turning = REASONS[code].turns
    assert turning is not None
    first = earliest(view)
    days = [first + n * DAY for n in range((view.today - first).days + 1)]
    known = {day: seen(view.at(day), code) for day in days}
    day = view.today
    while day >= first:
        start = max(first, turning.newest(view.at(day)))
        assert start <= day
        assert all(known[one] == known[day] for one in known if start <= one <= day), (code, start, day)
        day = start - DAY
    day = first
    while day < view.today:
        following = turning.following(view.at(day))
        assert following > day
        assert all(known[one] == known[day] for one in known if day <= one < following), (code, day)
        day = following


@some
@given(told())
def test_from_turn_to_turn_finds_what_day_by_day_finds(record: CaseRecord) -> None:
    view = View.of(record, rules(), TODAY)
    check_walks(view)
    check_truth(view)


@some
@given(told(), st.sampled_from(DECLARED))
def test_between_two_turns_a_reason_is_the_same_on_every_day(record: CaseRecord, code: str) -> None:
    check_stretches(View.of(record, rules(), TODAY), code)


def check_standing(view: View, code: str) -> None:
    """Some weeks ahead too: until the day it names it is found, or not, by the same entries."""
    rule, day = REASONS[code], max(earliest(view), view.today - 120 * DAY)

    def found(on: date) -> tuple[object, ...] | None:
        state = rule.condition(view.at(on))
        return (state.evidence, state.since, state.severity if rule.grows else 0) if state else None

    while day < view.today + 40 * DAY:
        again = min(rule.until(view.at(day)), view.today + 40 * DAY)
        assert again > day
        now, one = found(day), day + DAY
        while one < again:
            assert found(one) == now, (code, day, one)
            one += DAY
        day = again


@some
@given(told(), st.sampled_from(STANDING))
def test_what_stands_until_a_day_is_the_same_on_every_day_before_it(record: CaseRecord, code: str) -> None:
    check_standing(View.of(record, rules(), TODAY), code)


@some
@given(told(), st.integers(0, 90))
def test_what_reasons_share_says_nothing_while_none_of_them_is_true(record: CaseRecord, back: int) -> None:
    for (reading, nothing), codes in absences().items():
        view = View.of(record, rules(), TODAY - back * DAY)
        if all(REASONS[code].condition(view) is None for code in codes):
            said = reading(View.of(record, rules(), view.today))
            assert said == (list(nothing) if nothing is not None else None), codes


@pytest.fixture(scope="module")
def clinic() -> list[CaseRecord]:
    """The records of a small simulated clinic."""
    return [chart.made.record() for chart in run(5, shoulders=5, days=30, diary=True).charts]


def test_the_simulated_clinic_too(clinic: list[CaseRecord]) -> None:
    for record in clinic:
        last = max(e.on for name in FIELD_OF_KIND.values() for e in getattr(record, name))
        view = View.of(record, rules(), last)
        check_walks(view)
        for code in DECLARED:
            check_stretches(view, code)
        for code in STANDING:
            check_standing(view, code)


# -- what is read is what is declared -----------------------------------------------------------------------


BY_THEIR_DAYS = {"LIM": ("sessions", "measures"), "WRS": ("visits", "findings")}
"""Fields of which few entries matter, so that the days of those are declared and not every entry."""


class _Noting(History):
    """A history that notes which fields of the record are asked for."""

    def __init__(self, record: CaseRecord) -> None:
        self.asked: set[str] = set()
        super().__init__(record, rules())

    def ordered(self, name: str) -> tuple[list[Any], list[date]]:
        """As the history has it."""
        self.asked.add(name)
        return super().ordered(name)


@some
@given(told())
def test_a_reason_reads_no_field_that_it_does_not_declare(record: CaseRecord) -> None:
    """Where the view's date itself is a turn, as where a flare may speak, anything may be read."""
    for code in DECLARED:
        history, turning = _Noting(record), REASONS[code].turns
        REASONS[code].condition(history.on(TODAY))
        assert turning is not None
        if TODAY not in set(turning.days(History(record, rules()).on(TODAY))):
            assert history.asked <= {*turning.fields, *BY_THEIR_DAYS.get(code, ())}, code
