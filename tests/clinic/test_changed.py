"""What changed between two looks, in one line (practice note 8.6); the wording has no source."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from armrise.store.clinic.standing.changed import counts, entries_between, what_changed
from tests.clinic.build import TODAY, case, standing_of

LOOKED = datetime(2026, 2, 27, 8, 10, tzinfo=UTC)


def test_nothing_new_names_the_last_look():
    now = standing_of(case("RC2", day=10))
    assert what_changed(now, now, [], LOOKED) == "nothing new since Fri 27 Feb 08:10"


def test_entries_reasons_and_the_verdict_in_one_line():
    before = case("RC3", day=30).mornings(-20, *[2] * 13)
    for day in (-12, -10, -8):
        before.session(day, 3, 3, None)
    earlier = before.record()
    before.session(-3, 6, 5, 6).session(-1, 6, 6, None).morning(0, 6).measure(-1, "passive_flexion", 150)
    later = before.record()
    came, withdrawn = entries_between(earlier, later)
    assert withdrawn == 0
    then, now = standing_of(earlier, TODAY - timedelta(days=3)), standing_of(later)
    line = what_changed(then, now, came, LOOKED)
    assert line.startswith("since Fri 27 Feb 08:10: 2 check-ins, 1 morning score, 1 measurement; ")
    assert "; came: flare not settling; " in line
    assert line.endswith("verdict UNKNOWN -> STEP BACK ADVISED")


def test_the_calendar_alone_brings_a_reason():
    record = case("RC2", day=24, last_visit=None, interval=21).record()
    then, now = standing_of(record, TODAY - timedelta(days=5)), standing_of(record)
    assert "review overdue" in what_changed(then, now, [], LOOKED).partition("came: ")[2]


def test_what_went_what_is_in_hand_and_what_was_withdrawn_is_said():
    made = case("RC2", day=24, last_visit=None, interval=21)
    first = standing_of(made)
    made.in_hand(0, "OVD1", 3)
    answered = standing_of(made)
    assert "now in hand: review overdue" in what_changed(first, answered, [], LOOKED)
    assert "no longer in hand: review overdue" in what_changed(answered, first, [], LOOKED)
    seen = standing_of(made.visit(0))
    assert "gone: review overdue" in what_changed(answered, seen, [], LOOKED)
    assert "1 withdrawn" in what_changed(seen, seen, [], LOOKED, withdrawn=1)


def test_an_entry_withdrawn_since_is_counted():
    made = case("RC2", day=10).measure(-2, "passive_flexion", 150)
    full = made.record()
    less = replace(full, measures=())
    assert entries_between(full, less) == ([], 1)


def test_a_step_and_an_end_are_said():
    made = case("RC2", day=40, first=60)
    before = standing_of(made)
    stepped = standing_of(made.step(0, "RC3"))
    assert "stage RC2 -> RC3" in what_changed(before, stepped, [], LOOKED)
    closed = standing_of(made.discharge(0))
    line = what_changed(stepped, closed, [], LOOKED)
    assert "case active -> closed" in line
    assert f"verdict {stepped.verdict.word} -> none" in line


def test_every_kind_is_counted_in_a_word_of_the_clinic():
    made = case("RC2", day=10).visit(-1).visit(0).programme(0, "R1").contact(0)
    told = counts(made.entries[-4:])
    assert told == ["1 call or message", "1 exercise change", "2 visits"]


def test_an_old_look_names_its_year():
    now = standing_of(case("RC2", day=10))
    assert what_changed(now, now, [], LOOKED.replace(year=2025)) == "nothing new since Thu 27 Feb 2025 08:10"
