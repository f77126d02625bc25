"""A trial run of changed rules against the plain way, and worked examples counted by hand.

Source of what is compared: practice notes 4 ("record as known at time K, rule-file version V, clinic date
T"), 4.13 case 4 (verdicts before a late entry are not rewritten) and case 44, ruling 39. Counts by hand: no
source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.clinic.audit.trial import CaseTrial, Said, Trial, Versions, per_hundred, runs
from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.standing.stand import stand
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.known import Everything, withdrawn_ids
from armrise.store.rules.pathway import Rules
from tests.clinic.build import TODAY, Builder, case, on, rules
from tests.clinic.test_properties import built

READ_DAYS = 24


def told(made: Builder, *corrections: Correction) -> Everything:
    record = made.record()
    return Everything(record, corrections, record.pathway)


def withdrawal(number: int, of: int, day: int) -> Correction:
    at = datetime.combine(on(day), datetime.min.time()).astimezone()
    stamps: dict[str, Any] = {"on": on(day), "recorded_on": on(day), "recorded_at": at, "author": "TK"}
    return Correction(id=number, corrects=of, reason="wrong case", **stamps)


def with_figure(key: str, value: int) -> Rules:
    """The rules with one figure changed."""
    ours = rules()
    return replace(ours, figures={**ours.figures, key: replace(ours.figures[key], value=Decimal(value))})


def with_stage(code: str, **changes: Any) -> Rules:
    """The rules with one stage changed, or without it when nothing is said."""
    ours = rules()
    pathway = ours.pathways[code[:2]]
    stages = [
        replace(stage, **changes) if stage.code == code else stage
        for stage in pathway.stages
        if changes or stage.code != code
    ]
    return replace(ours, pathways={**ours.pathways, code[:2]: replace(pathway, stages=tuple(stages))})


def as_said(standing: Standing) -> Said:
    """What a trial compares, from a standing worked out in full."""
    return Said(
        standing.status,
        standing.tier,
        tuple(r.name for r in standing.reasons),
        tuple(r.name for r in standing.reasons if r.in_hand),
        frozenset(r.name for r in standing.reasons if r.tier in ("today", "harm if left")),
        standing.verdict.word.value,
    )


def plain_way(everything: Everything, using: Rules, day: date) -> Said:
    """One day the slow way: what was recorded by then, less what was withdrawn by then, judged anew."""
    by_then = sorted((c for c in everything.corrections if c.recorded_on <= day), key=lambda c: -c.id)
    gone: set[int] = set()
    for correction in by_then:
        gone |= set() if correction.id in gone else {correction.corrects}
    kept: dict[str, Any] = {
        name: tuple(e for e in getattr(everything.record, name) if e.recorded_on <= day and e.id not in gone)
        for name in FIELD_OF_KIND.values()
    }
    pathway = kept["steps"][-1].stage[:2] if kept["steps"] else everything.registered_as
    return as_said(stand(replace(everything.record, pathway=pathway, **kept), using, day))


def case_trial(
    everything: Everything, old: Rules, new: Rules, *, since: date | None, until: date
) -> CaseTrial:
    return Versions(old, new).case(everything, since=since, until=until)


@st.composite
def histories(draw: Any) -> Everything:
    """A random case, some of it told late, some of it withdrawn, some withdrawals withdrawn again."""
    made: Builder = draw(built(15))
    for at, entry in enumerate(made.entries):
        late = draw(st.sampled_from([0, 0, 0, 0, 1, 4, 9]))
        made.entries[at] = delayed(entry, min(late, (TODAY - entry.recorded_on).days))
    last = len(made.entries)
    corrections: list[Correction] = []
    for _ in range(draw(st.integers(0, 3))):
        number = last + len(corrections) + 1
        of = draw(st.integers(1, number - 1))
        corrections.append(withdrawal(number, of, -draw(st.integers(0, READ_DAYS))))
    return told(made, *corrections)


def delayed(entry: Entry, days: int) -> Entry:
    by = timedelta(days=days)
    return replace(entry, recorded_on=entry.recorded_on + by, recorded_at=entry.recorded_at + by)


@given(histories())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_sharing_a_history_between_days_and_versions_says_what_the_plain_way_says(everything: Everything):
    """Random cases, two versions, day by day: the same word from both ways."""
    versions = (rules(), with_figure("flare.horizon_days", 12))
    for day, *both in Versions(*versions).days(everything, TODAY - timedelta(days=READ_DAYS), TODAY):
        assert both == [plain_way(everything, using, day) for using in versions], day


@given(histories())
@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
def test_identical_rules_read_every_day_alike(everything: Everything):
    again = replace(rules(), figures=dict(rules().figures))
    found = case_trial(everything, rules(), again, since=TODAY - timedelta(days=READ_DAYS), until=TODAY)
    assert found.differences == ()
    assert found.alarms[0] == found.alarms[1]
    assert all(old == new for old, new in found.verdicts)
    assert sum(found.verdicts.values()) == found.days


def ready_but_for_the_days() -> Everything:
    """RC2 entered 15 days ago, everything met from the 8th day of the stage on but its minimum days."""
    made = case("RC2", day=15).mornings(-15, 2, 2, 2)
    for back in (12, 10, 8):
        made.session(-back, 3, 2, 2, R1=(3, 10))
    made.both(-7, "active_flexion", 160, 170).percent(-7, "external_rotation_strength", 78)
    return told(made)


def test_minimum_days_of_a_stage_from_14_to_10_move_exactly_four_days():
    """Days 10, 11, 12 and 13 of the stage would have read READY; day 14 does under both (boundary)."""
    minimum = rules().pathways["RC"].stage("RC2").minimum  # type: ignore[union-attr]
    shorter = with_stage("RC2", minimum=replace(minimum, value=Decimal(10)))
    found = case_trial(ready_but_for_the_days(), rules(), shorter, since=None, until=TODAY)
    assert [d.on for d in found.differences] == [on(day) for day in (-5, -4, -3, -2)]
    assert found.days == 16
    for difference in found.differences:
        assert difference.gained == ("ready to step forward",)
        assert (difference.old.verdict, difference.new.verdict) == ("NOT YET", "READY")
        assert (difference.old.tier, difference.new.tier) == ("none", "move on")
    assert found.verdicts["NOT YET", "READY"] == 4
    assert found.alarms == (0, 0), "what moves on is no alarm"
    ((first, last),) = runs(found.differences)
    assert (first.on, last.on) == (on(-5), on(-2))


def two_flares() -> Builder:
    """Flares 40 and 38 days ago, and nothing told since."""
    made = case("RC2", day=50).mornings(-49, 2, 2, 2)
    return made.session(-40, 3, 2, 5).session(-38, 3, 2, 5)


def test_a_shorter_horizon_of_flares_ends_exactly_eight_days_earlier():
    """Two flares in a row count while the older is at most 28 days old: up to day -12. With 20 days: -20."""
    found = case_trial(
        told(two_flares()), rules(), with_figure("flare.horizon_days", 20), since=None, until=TODAY
    )
    assert [d.on for d in found.differences] == [on(day) for day in range(-19, -11)]
    assert {d.lost for d in found.differences} == {("flare not settling",)}
    assert found.alarms == (1, 1)


def test_an_alarm_is_counted_when_it_begins_and_not_again_from_a_later_start():
    """Day -37 is the first on which both flares were told; a count from day -30 finds it going on."""
    for since, alarms in ((on(-37), 1), (on(-36), 0), (on(-30), 0)):
        found = case_trial(told(two_flares()), rules(), rules(), since=since, until=TODAY)
        assert found.alarms == (alarms, alarms), since
        assert found.days == (TODAY - since).days + 1


def test_what_is_told_late_changes_no_earlier_day():
    """4.13 case 4: a new injury of day -6 told on day -1 is read from day -1 on."""
    everything = told(case("RC2", day=20).event(-6, "fall", recorded=-1))
    days = Versions(rules(), rules()).days(everything, on(-8), TODAY)
    assert [day for day, one, _ in days if "new injury" in one.reasons] == [on(-1), TODAY]


def test_a_withdrawal_counts_from_the_day_it_was_recorded():
    made = case("RC2", day=20).event(-6, "fall")
    everything = told(made, withdrawal(99, made.entries[-1].id, -3))
    days = Versions(rules(), rules()).days(everything, on(-8), TODAY)
    assert [day for day, one, _ in days if "new injury" in one.reasons] == [on(-6), on(-5), on(-4)]


def test_a_withdrawal_that_was_itself_withdrawn_takes_nothing_away():
    assert withdrawn_ids([withdrawal(8, 3, -2), withdrawal(9, 8, -1)]) == {8}
    assert withdrawn_ids([withdrawal(8, 3, -2)]) == {3}


def test_a_stage_removed_from_the_rules_is_read_and_not_lost():
    """4.13 case 44: "stage not in rule file", no verdict, the case stays on the list."""
    without = with_stage("RC2")
    found = case_trial(ready_but_for_the_days(), rules(), without, since=None, until=TODAY)
    assert found.days == 16
    assert {new for _, new in found.verdicts} == {Word.NONE.value}
    assert stand(ready_but_for_the_days().record, without, TODAY).stage_name == "stage not in rule file"


def test_a_closed_case_is_counted_only_while_it_owes_something():
    """Closed ten days ago, letter sent four days ago: two days open, five owing (day -9 to day -5)."""
    made = case("RC2", day=20, last_visit=11).discharge(-10).letter(-4)
    found = case_trial(told(made), rules(), rules(), since=on(-12), until=TODAY)
    assert found.days == 7


def test_totals_and_denominators():
    shorter = with_figure("flare.horizon_days", 20)
    trial = Trial(rules(), shorter, None, TODAY, planned=3)
    for made in (told(two_flares()), ready_but_for_the_days()):
        trial.cases.append(case_trial(made, rules(), shorter, since=None, until=TODAY))
    assert trial.partial
    assert (trial.days, trial.dates, len(trial.differing)) == (51 + 16, 8, 1)
    assert trial.alarms == (1, 1)
    assert trial.reasons() == {"flare not settling": (0, 8)}
    assert sum(trial.verdicts.values()) == trial.days


@pytest.mark.parametrize(
    ("alarms", "days", "words"), [(1, 51, "2"), (3, 200, "1.5"), (0, 9, "0"), (0, 0, "none counted")]
)
def test_alarms_per_hundred_case_days(alarms: int, days: int, words: str):
    assert per_hundred(alarms, days) == words


def test_the_record_known_at_the_end_of_a_day_keeps_nothing_later():
    everything = told(two_flares().step(-3, "RC3"))
    before: CaseRecord = everything.known_by(on(-4))
    assert [s.stage for s in before.steps] == ["RC2"]
    assert all(e.recorded_on <= on(-4) for name in FIELD_OF_KIND.values() for e in getattr(before, name))
    assert everything.known_by(TODAY) == everything.record
