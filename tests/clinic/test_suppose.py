"""What would follow if a value were so: worked examples by hand.

Expected behaviour: the what-if of section 8 (18) of the clinic's practice notes, by the rules of 4.3-4.8.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from armrise.store.clinic.actions.suppose import (
    CannotSuppose,
    Supposed,
    added,
    asked,
    difference,
    session_days,
    suppose,
)
from armrise.store.clinic.case.standing import Truth, Word
from tests.clinic.build import TODAY, case, codes, rules, standing_of


def test_the_record_itself_is_not_touched() -> None:
    record = case("FS1", day=30).measure(-1, "night_pain", 4).record()
    before = standing_of(record)
    suppose(record, rules(), TODAY, Supposed(measures=(("night_pain", Decimal(3)),)))
    assert standing_of(record) == before
    assert len(record.measures) == 1


def test_nothing_supposed_changes_nothing() -> None:
    record = case("RC2", day=20).good(3).record()
    now = standing_of(record)
    assert difference(now, suppose(record, rules(), TODAY, Supposed())).nothing


def test_the_missing_next_morning_is_the_one_thing_between_unknown_and_ready() -> None:
    """Practice note 5.4: the third good session lacks its next morning."""
    made = case("RC1", day=12).mornings(-10, 2, 2, 2)
    made.measure(-7, "night_pain", 3).measure(-1, "night_pain", 2).measure(-1, "worst_pain", 5)
    made.both(-1, "active_flexion", 140, 165)
    record = made.session(-5, 3, 2, 2).session(-3, 3, 2, 2).session(-1, 3, 2).record()
    assert standing_of(record).verdict.word is Word.UNKNOWN
    assert suppose(record, rules(), TODAY, Supposed(morning=2)).verdict.word is Word.READY
    flared = suppose(record, rules(), TODAY, Supposed(morning=6))
    assert flared.verdict.word is Word.NOT_YET
    assert flared.pain.morning == 6


def test_a_morning_that_is_a_flare_brings_its_reason() -> None:
    """Practice note 4.5 (a): the last two sessions both flares."""
    record = case("RC2", day=30).mornings(-12, 2, 2, 2).session(-3, 3, 2, 6).session(-1, 3, 2).record()
    now = standing_of(record)
    then = suppose(record, rules(), TODAY, Supposed(morning=6))
    assert [r.code for r in difference(now, then).gained] == ["FLA"]
    assert then.verdict.word is Word.STEP_BACK


def test_one_low_night_is_one_observation_of_two() -> None:
    """Practice note 4.13, case 38: failing once is not met, passing once is unknown."""
    record = case("FS1", day=45).measure(-1, "night_pain", 4).record()
    results = suppose(record, rules(), TODAY, Supposed(measures=(("night_pain", Decimal(3)),))).verdict
    night = next(c for c in results.criteria if c.text.startswith("night pain"))
    assert (night.state, night.observed) == (Truth.UNKNOWN, "3, one more needed")


def test_a_later_day_makes_the_second_observation_count() -> None:
    record = case("FS1", day=45).measure(0, "night_pain", 3).record()
    low = (("night_pain", Decimal(3)),)
    soon = suppose(record, rules(), TODAY, Supposed(days_ahead=6, measures=low))
    week = suppose(record, rules(), TODAY, Supposed(days_ahead=7, measures=low))
    states = [
        next(c.state for c in s.verdict.criteria if c.text.startswith("night pain")) for s in (soon, week)
    ]
    assert states == [Truth.UNKNOWN, Truth.MET]
    assert week.as_of == date(2026, 3, 9)


def test_a_later_day_alone_opens_no_gate_early_and_shows_what_falls_due() -> None:
    """Days pass for the review as well: 13 days on, one of 14 days seen a day ago is due and not overdue."""
    record = case("PO2", day=20, onset=35).record()
    before = suppose(record, rules(), TODAY, Supposed(days_ahead=6))
    after = suppose(record, rules(), TODAY, Supposed(days_ahead=7))
    gate = [next(c.state for c in s.verdict.criteria if c.text.startswith("PO3")) for s in (before, after)]
    assert gate == [Truth.NOT_MET, Truth.MET]
    late = suppose(record, rules(), TODAY, Supposed(days_ahead=14))
    assert "OVD1" in codes(late)
    assert "OVD1" not in codes(suppose(record, rules(), TODAY, Supposed(days_ahead=13)))


def test_more_good_sessions_are_supposed_between_the_newest_and_the_day() -> None:
    made = case("RC1", day=20).mornings(-15, 2, 2, 2).session(-9, 3, 2, 2)
    record = made.record()
    then = suppose(record, rules(), TODAY, Supposed(repeats=3))
    run = next(c for c in then.verdict.criteria if "good sessions" in c.text)
    assert (run.state, run.observed_on) == (Truth.MET, date(2026, 3, 1))


@pytest.mark.parametrize(
    ("newest", "count", "days"),
    [
        (date(2026, 2, 20), 3, [date(2026, 2, 25), date(2026, 2, 27), date(2026, 3, 1)]),
        (date(2026, 2, 26), 3, [date(2026, 2, 27), date(2026, 2, 28), date(2026, 3, 1)]),
        (date(2026, 2, 26), 2, [date(2026, 2, 27), date(2026, 3, 1)]),
        (date(2026, 3, 1), 0, []),
    ],
)
def test_supposed_sessions_lie_on_days_without_one(newest: date, count: int, days: list[date]) -> None:
    assert session_days(newest, TODAY, count) == days


def test_without_room_more_sessions_cannot_be_supposed() -> None:
    with pytest.raises(CannotSuppose, match="suppose a later day"):
        session_days(date(2026, 3, 1), TODAY, 1)


def test_without_any_session_one_is_supposed_with_the_programme_done() -> None:
    record = case("RC1", day=20).mornings(-9, 2, 2, 2).programme(-10, "A1", 3, 10).record()
    then = suppose(record, rules(), TODAY, Supposed(during=3, later=2, morning=2))
    assert (then.pain.during, then.pain.later, then.pain.morning) == (3, 2, 2)
    run = next(c for c in then.verdict.criteria if "good sessions" in c.text)
    assert run.observed.startswith("1 good session")


def test_a_value_is_compared_with_the_like_of_the_one_before() -> None:
    made = case("RC2", day=20).measure(-9, "passive_flexion", 150, position="sitting")
    record = made.record()
    low = Supposed(measures=(("passive_flexion", Decimal(110)),))
    assert "STF" in codes(suppose(record, rules(), TODAY, low, rater="TK"))
    by_another = suppose(record, rules(), TODAY, low, rater="AB")
    assert "STF" not in codes(by_another)


def test_strength_is_supposed_in_the_unit_on_record() -> None:
    made = case("RC2", day=20).both(-20, "external_rotation_strength", 5, 10, unit="kg")
    then = suppose(
        made.record(), rules(), TODAY, Supposed(measures=(("external_rotation_strength", Decimal(8)),))
    )
    strength = next(c for c in then.verdict.criteria if c.text.startswith("external rotation strength"))
    assert (strength.state, strength.observed) == (Truth.MET, "80 % (8 of 10 kg)")


def test_a_supposed_clearance_is_read_and_withdrawn_ones_are_outdone() -> None:
    record = case("PO3", day=43, onset=85).clearance(-2, "surgeon", "withdrawn", "resisted").record()
    then = suppose(record, rules(), TODAY, Supposed(clearances=(("surgeon", "resisted", "yes"),)))
    cleared = next(c for c in then.verdict.criteria if "clear" in c.text)
    assert cleared.state is Truth.MET


def test_unknown_criteria_are_asked_first_then_those_not_met() -> None:
    made = case("FS1", day=45).measure(-1, "night_pain", 4).measure(-1, "rest_pain", 2).good(3)
    found = asked(made.mornings(-12, 2, 2, 2, 2, 2).record(), rules(), TODAY)
    assert [(a.kind, a.key) for a in found] == [
        ("measure", "rest_pain"),
        ("finding", "pain mainly at end range"),
        ("measure", "night_pain"),
    ]
    assert [a.state for a in found] == [Truth.UNKNOWN, Truth.UNKNOWN, Truth.NOT_MET]


def test_a_closed_case_is_asked_nothing() -> None:
    assert asked(case("RC2", day=45).discharge(-1).record(), rules(), TODAY) == ()


def test_added_entries_are_the_newest_word() -> None:
    made = case("RC2", day=45).event(-1, "fall")
    record = made.record()
    from armrise.store.record.kinds.care import Visit

    visit = Visit(on=TODAY, recorded_at=record.events[0].recorded_at, recorded_on=TODAY, injury_assessed=True)
    assert "INJ" in codes(standing_of(record))
    assert "INJ" not in codes(standing_of(added(record, [visit])))
