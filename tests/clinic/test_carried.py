"""What an audit and a trial run carry from day to day, against judging every day anew.

Source: the rules are pure functions of record, rule version and clinic date (practice notes 4); what is
compared is worked out here from a record and a view made for one day alone. No other source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from armrise.store.clinic.audit.case import case_facts, week_ends
from armrise.store.clinic.audit.facts import Period
from armrise.store.clinic.audit.trial import Reading, Versions
from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.standing.reasons import tier_on
from armrise.store.clinic.standing.stand import stand
from armrise.store.clinic.verdict.ahead import Spans, near
from armrise.store.clinic.verdict.readiness import verdict, word
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.known import Everything
from armrise.store.rules.noted import Noted
from armrise.store.rules.pathway import Rules
from tests.clinic.build import TODAY, Builder, case, on, rules
from tests.clinic.test_properties import built
from tests.clinic.test_since import told as cases
from tests.clinic.test_trial import as_said, delayed, plain_way, told, with_figure, with_stage, withdrawal

PERIOD = Period(TODAY - timedelta(days=27), TODAY - timedelta(days=2), TODAY)
DAYS = 24


def up_to(record: CaseRecord, last: date) -> CaseRecord:
    """The record without what happened after ``last``."""
    kinds = {f: tuple(e for e in getattr(record, f) if e.on <= last) for f in FIELD_OF_KIND.values()}
    return replace(record, **kinds)


# --- the audit --------------------------------------------------------------------------------------------


@given(built(25))
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_weeks_of_an_audit_say_what_each_day_judged_anew_says(made: Builder) -> None:
    record = up_to(made.record(), PERIOD.last)
    facts = case_facts(made.record(), rules(), PERIOD)
    expected: dict[date, str] = {}
    for day in week_ends(PERIOD):
        standing = stand(record, rules(), day)
        if record.registered_on <= day and standing.status in ("active", "on hold"):
            expected[day] = standing.tier
    assert {placed.week_end: placed.tier for placed in facts.placed} == expected
    assert [active.tier for active in facts.active] == [t for d, t in expected.items() if d == PERIOD.last]


@given(built(25), some.integers(0, 60))
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_tier_and_word_alone_are_those_of_the_standing(made: Builder, back: int) -> None:
    """Whichever is asked for first."""
    day = TODAY - timedelta(days=back)
    standing = stand(made.record(), rules(), day)
    alone = View.of(made.record(), rules(), day)
    assert word(alone) is standing.verdict.word
    assert tier_on(alone) == standing.tier
    assert verdict(alone).word is word(alone)


# --- stretches of days ------------------------------------------------------------------------------------


def stretches(everything: Everything) -> list[tuple[date, date]]:
    """First and last days of the stretches of the last twenty days."""
    return [(first, last) for first, last, _ in everything.stretches(on(-20), TODAY)]


def test_what_is_told_on_its_day_adds_to_one_record() -> None:
    made = case("RC2", day=40).session(-18, 3, 2).measure(-9, "worst_pain", 3).score(-3, "SPADI", 20)
    assert stretches(told(made)) == [(on(-20), TODAY)]


def test_a_day_on_which_something_is_told_late_or_withdrawn_begins_a_stretch() -> None:
    made = case("RC2", day=40).session(-18, 3, 2).measure(-9, "worst_pain", 3)
    number = len(made.entries)
    made.entries[-1] = delayed(made.entries[-1], 1)
    everything = told(made, withdrawal(99, number, -4))
    assert stretches(everything) == [(on(-20), on(-9)), (on(-8), on(-5)), (on(-4), TODAY)]


def test_what_speaks_of_earlier_days_begins_a_stretch() -> None:
    """A step into another pathway says in which one days before it are read, where they have no stage."""
    assert stretches(told(case("RC2", day=40).step(-6, "FS1"))) == [(on(-20), on(-7)), (on(-6), TODAY)]
    assert stretches(told(case("RC2", day=40).step(-6, "RC3"))) == [(on(-20), TODAY)]


@given(built(40), some.integers(0, 60), some.booleans())
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_days_of_one_stretch_read_as_if_each_was_the_last(made: Builder, back: int, late: bool) -> None:
    """Nothing told on a later day is seen, whatever is carried on from day to day."""
    if late:
        made.entries[:] = [_told_late(entry, number) for number, entry in enumerate(made.entries)]
    everything, other = told(made), with_figure("screen.question_days", 10)
    first = max(TODAY - timedelta(days=back + DAYS), everything.record.registered_on)
    until = min(TODAY, first + timedelta(days=DAYS // 2))
    for day, one, two in Versions(rules(), other).days(everything, first, until):
        assert (one, two) == (plain_way(everything, rules(), day), plain_way(everything, other, day)), day


def _told_late(entry: Entry, number: int) -> Entry:
    return delayed(entry, min(number % 3, (TODAY - entry.recorded_on).days))


STRICT = {
    "as shipped": rules(),
    "one flare is enough": with_figure("flare.of", 1),
    "one raised morning is enough": with_figure("flare.mornings", 1),
    "one morning makes a baseline": with_figure("baseline.least", 1),
    "one session makes it usual": with_figure("usual.all_least", 1),
    "a point is creep": with_figure("creep.points", 1),
    "silent after a day": with_figure("silence.floor_days", 1),
}
"""What is passed over by days ahead is passed over by these figures."""


@given(cases(), some.integers(0, 100), some.integers(1, 25), some.sampled_from(sorted(STRICT)))
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_days_gone_through_say_what_each_judged_anew_says(
    record: CaseRecord, back: int, days: int, figures: str
) -> None:
    """Reasons, what is in hand, status and word, whatever is looked at again and when."""
    using = STRICT[figures]
    reading, day = Reading(History(record, using)), max(record.registered_on, on(-back - days))
    for day in (day + timedelta(days=number) for number in range(days)):
        assert reading.said(day) == as_said(stand(record, using, day)), day


def test_days_near_enough_together_are_spans_that_are_put_together() -> None:
    dates = [on(-60), on(-40), on(-38), on(-20)]
    assert list(near(dates, 2, 20)) == [
        (on(-40), on(-40)),
        (on(-38), on(-20)),
        (on(-20), on(-18)),
    ]
    assert list(near(dates, 3, 20, further=5)) == [(on(-20), on(-15))]
    spans = Spans(near(dates, 2, 20))
    asked = {-61: -40, -41: -40, -40: -38, -39: -38, -30: -29, -20: -19, -19: -18}
    assert {day: (spans.after(on(day)) - TODAY).days for day in asked} == asked
    assert spans.after(on(-18)) == date.max
    assert [day for day in range(-62, -15) if on(day) in spans] == [-40, *range(-38, -17)]


# --- what is read of the rules ----------------------------------------------------------------------------


def test_only_what_the_other_version_has_otherwise_is_noted() -> None:
    noted = Noted(rules(), with_figure("flare.horizon_days", 12))
    assert noted.rules["flare.last"] == rules()["flare.last"]
    assert noted.read == set()
    assert noted.rules["flare.horizon_days"] == rules()["flare.horizon_days"]
    assert noted.read == {"figures.flare.horizon_days"}
    assert noted.rules == rules(), "whoever compares them reads them all"


def test_a_figure_of_a_stage_is_noted_by_itself() -> None:
    stage = rules().pathways["RC"].stage("RC2")
    assert stage is not None
    noted = Noted(rules(), with_stage("RC2", minimum=replace(stage.minimum, value=Decimal(3))))
    read = noted.rules.pathways["RC"].stage("RC2")
    assert read == stage
    noted.read.clear()
    assert read is not None
    assert (read.usual.whole, read.minimum.source) == (stage.usual.whole, stage.minimum.source)
    assert noted.read == set()
    assert read.minimum.whole == stage.minimum.whole
    assert {name.split(".")[-1] for name in noted.read} == {"value"}
    assert replace(read, name="Other") == replace(stage, name="Other")


def test_a_stage_that_went_and_another_order_are_noted_as_a_whole() -> None:
    without = Noted(rules(), with_stage("RC2"))
    assert without.rules.pathways["RC"].stages[0].code == "RC1"
    assert without.read == {"pathways.RC.stages"}
    turned = replace(rules(), pathways=dict(reversed(rules().pathways.items())))
    noted = Noted(rules(), turned)
    assert list(noted.rules.pathways) == list(rules().pathways)
    assert noted.read == {"pathways"}


def test_what_is_worked_out_once_of_the_rules_is_noted_every_time() -> None:
    plain = tuple(replace(exercise, load_class_in=()) for exercise in rules().exercises)
    noted = Noted(rules(), replace(rules(), exercises=plain))
    for _ in range(2):
        noted.read.clear()
        assert noted.rules.classes_in == rules().classes_in
        assert "classes_in" in noted.read


def passes(new: Rules) -> tuple[int, int]:
    """Case-days, and those of them that were judged under both versions."""
    days = list(Versions(rules(), new).days(told(case("RC2", day=20).session(-9, 3, 2, 2)), on(-20), TODAY))
    return len(days), sum(one is not two for _, one, two in days)


def test_a_changed_number_that_no_day_reads_costs_one_pass() -> None:
    assert passes(with_figure("audit.after_days", 3)) == (21, 0)
    assert passes(replace(rules(), version="another")) == (21, 0)
    assert passes(with_figure("flare.horizon_days", 12)) == (21, 21)
