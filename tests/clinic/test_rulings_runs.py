"""Ruling 75 of the practice notes with 94 and 95: good sessions past slips, and the days they stand for.

In a pattern the newest session comes first: G good, R raised, S short, V over by one, W over by two, F flare,
"." incomplete, "-" sets not recorded, "O" a class nobody asked for.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.pain.good_sessions import count_run
from armrise.store.clinic.pain.runs import COUNTS, END, SKIP, SLIP, Observation, Run, read_back
from tests.clinic.build import TODAY, Builder, case, item, rules, standing_of
from tests.clinic.build_more import MET, NOT_MET, UNKNOWN, criterion, ready_fs1, ready_rc1, run_state

P = {"RC1": 3, "FS1": 3, "OA2": 5, "RC2": 4, "AD1": 3, "FX2": 4, "PO2": 3}
"""Pain limits during; the runs of these stages ask for three good sessions."""
ASKED = {"RC2": "R1", "PO2": "P1"}
"""The class they ask for, where they name one."""


def row(pattern: str, stage: str = "RC1", *, last: int = -2, every: int = 2) -> Builder:
    """A case with the sessions of a pattern, the newest on ``last``, ``every`` days apart; baseline 1."""
    made = case(stage, day=40, last_visit=1).mornings(-40, *[1] * 39)
    limit, klass = P[stage], ASKED.get(stage, "A1")
    done, short, untold = item(klass), item(klass, 1, sets_asked=3), item(klass, None, None)
    for back, letter in enumerate(pattern.replace(" ", "")):
        day = last - back * every
        during, later, morning, what = {
            "G": (2, 2, 1, done),
            "R": (2, 2, 3, done),
            "S": (2, 2, 1, short),
            "V": (limit + 1, 2, 1, done),
            "W": (limit + 2, 2, 1, done),
            "F": (limit + 4, 2, 1, done),
            ".": (2, None, 1, done),
            "-": (2, 2, 1, untold),
            "O": (2, 2, 1, item("S1")),
        }[letter]
        made.session(day, during, later, morning, what)
    return made


@pytest.mark.parametrize("stage", ["RC1", "FS1", "OA2", "RC2"])
@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("G G G", MET),
        ("G R G G", MET),  # ruling 75
        ("G . . G G", MET),  # ruling 75: incomplete ones are passed over, however many
        ("G R G R G", MET),  # ruling 95
        ("G R R G G", MET),
        ("R G G G", NOT_MET),  # ruling 75: the newest is a slip
        ("G R R R G", NOT_MET),  # ruling 95: a third slip
        ("G R G R R G", NOT_MET),
        ("G G F G", NOT_MET),  # ruling 75
        ("F G G G", NOT_MET),
        ("G G G F", MET),  # reached before the flare
        ("G G", UNKNOWN),  # ruling 75
        ("G R G", UNKNOWN),
        ("G R R", UNKNOWN),
        ("", UNKNOWN),
        (". .", UNKNOWN),
        (". G G G", MET),
        (". R G G G", NOT_MET),  # the newest that counts
        ("G - - G G", MET),
    ],
)
def test_75_good_sessions_are_read_past_two_slips(stage: str, pattern: str, expected: Truth) -> None:
    """k good among the newest k + 2, no flare, the newest no slip (RC, FS, OA)."""
    assert run_state(row(pattern, stage, every=1)) is expected


@pytest.mark.parametrize("stage", ["AD1", "FX2", "PO2"])
@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("G G G", MET),
        ("G . . G G", MET),
        ("G G G R", MET),
        ("G R G G", NOT_MET),
        ("G G R", NOT_MET),
        ("R G G G", NOT_MET),
        ("G V G G", NOT_MET),
        ("G S G G", NOT_MET),
        ("G G", UNKNOWN),
    ],
)
def test_75_no_slip_where_tissue_heals(stage: str, pattern: str, expected: Truth) -> None:
    """PO, AD, FX: run_slips_healing = 0."""
    assert run_state(row(pattern, stage, every=1)) is expected


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("G S G G", MET),  # short of its dose
        ("S G G G", NOT_MET),
        ("G V G G", MET),  # over by one point
        ("V G G G", NOT_MET),
        ("G W G G", NOT_MET),  # over by more ends it
        ("G G G W", MET),
        ("G S V G G", MET),
        ("G S V R G G", NOT_MET),
    ],
)
def test_75_what_a_slip_is(pattern: str, expected: Truth) -> None:
    assert run_state(row(pattern)) is expected


@pytest.mark.parametrize(("later", "expected"), [(5, MET), (6, NOT_MET)])
def test_75_over_by_more_later_ends_it_too(later: int, expected: Truth) -> None:
    """RC2, Q 4: 5 is over by one, 6 by two."""
    made = row("G G", "RC2", last=-2).session(-6, 2, later, 1, R1=(3, 10)).session(-8, 2, 2, 1, R1=(3, 10))
    assert run_state(made) is expected


@pytest.mark.parametrize(("dose", "expected"), [((3, 10), MET), ((2, 10), NOT_MET), ((3, 9), NOT_MET)])
def test_75_below_the_dose_of_the_criterion_is_a_slip(dose: tuple[int, int], expected: Truth) -> None:
    """RC2 asks for 3 x 10 of light resisted work: the newest done below it, then one further back."""
    made = row("G G G", "RC2", last=-3).session(-2, 2, 2, 1, item("R1", *dose, sets_asked=dose[0]))
    assert run_state(made) is expected
    assert run_state(made.session(-1, 2, 2, 1, R1=(3, 10))) is MET


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [("O G O G G", MET), ("O O O", UNKNOWN), ("G O G", UNKNOWN)],
)
def test_75_a_class_nobody_asked_for_is_passed_over(pattern: str, expected: Truth) -> None:
    assert run_state(row(pattern, "RC2")) is expected


@pytest.mark.parametrize(
    ("during", "later", "sets", "expected"),
    [
        (2, 2, 3, MET),
        (7, 2, 3, NOT_MET),  # over by more
        (8, 2, 3, NOT_MET),  # a flare
        (5, 2, 3, NOT_MET),  # over by one: a slip, and the newest
        (4, 2, 3, NOT_MET),  # above the criterion's own 3
        (2, 2, 1, NOT_MET),  # short
    ],
)
def test_94_slips_and_flares_count_whatever_class_was_asked(
    during: int, later: int, sets: int, expected: Truth
) -> None:
    """RC2 asks for light resisted work; the newest session was of assisted work only."""
    made = row("G G G", "RC2", last=-3).session(-2, during, later, 1, item("A1", sets, sets_asked=3))
    assert run_state(made) is expected


@pytest.mark.parametrize(("oldest", "expected"), [(-21, MET), (-22, UNKNOWN)])
def test_75_sessions_of_21_days_count(oldest: int, expected: Truth) -> None:
    made = row("G G", last=-9, every=2).session(oldest, 2, 2, 1, item("A1"))
    assert run_state(made) is expected


@pytest.mark.parametrize(("oldest", "expected"), [(-18, MET), (-19, UNKNOWN)])
def test_75_a_gap_of_14_days_is_bridged(oldest: int, expected: Truth) -> None:
    """Newer sessions of D-2 and D-4; an incomplete one between bridges nothing."""
    made = row("G G").session(oldest, 2, 2, 1, item("A1")).session(-10, 2, None, 1, item("A1"))
    assert run_state(made) is expected


def test_75_sessions_from_before_the_stage_do_not_count() -> None:
    """From the stage's first day, that day included."""
    for first, expected in ((6, MET), (5, UNKNOWN)):
        made = case("RC1", day=first, first=40).mornings(-40, *[1] * 39)
        for day in (-6, -4, -2):
            made.session(day, 2, 2, 1)
        assert run_state(made) is expected


@pytest.mark.parametrize(
    ("pattern", "observed"),
    [
        ("G G G", "3 good sessions"),
        ("G R G R G", "3 good sessions, 2 slips"),
        ("G S G G", "3 good sessions, 1 slip"),
        ("R G G G", "0 good sessions, 1 slip; raised on Sat 28 Feb: next morning 3, 2 above baseline"),
        ("G G F G", "2 good sessions; flare on Tue 24 Feb: pain during 7, limit 3"),
        ("G W G G", "1 good session; over the limit on Thu 26 Feb: pain during 5, limit 3"),
        ("G G", "2 good sessions; no older session in this stage"),
        ("", "0 good sessions; no session"),
    ],
)
def test_75_what_was_read_is_said(pattern: str, observed: str) -> None:
    assert criterion(standing_of(row(pattern)), "good sessions").observed == observed


@pytest.mark.parametrize(
    ("pattern", "ask"), [("G G", "1 more good session"), ("G", "2 more good sessions"), ("", "3 more good")]
)
def test_75_how_many_more_is_asked(pattern: str, ask: str) -> None:
    assert ask in criterion(standing_of(row(pattern)), "good sessions").ask


def test_75_sets_not_recorded_are_asked_for() -> None:
    assert criterion(standing_of(row("- G G")), "good sessions").ask == "sets done on Sat 28 Feb"


# --- periods as told beside recorded sessions -----------------------------------------------------------


def seen(day: int, weight: str = COUNTS, *, period: int = 0, worth: int = 1) -> Observation:
    return Observation(TODAY + timedelta(days=day), weight, f"{weight} {day}", "", worth, period)


def told(day: int, worth: int = 2) -> Observation:
    return seen(day, period=14, worth=worth)


def read(sessions: list[Observation], periods: list[Observation], wanted: int = 3) -> Run:
    return read_back(View.of(row("").record(), rules(), TODAY), sessions, periods, wanted)


def state(run: Run, wanted: int = 3) -> Truth:
    return NOT_MET if run.broken else Truth.of(True) if run.count >= wanted else UNKNOWN


def test_73_a_period_as_told_counts_beside_a_recorded_session() -> None:
    """One recorded, two as told."""
    run = read([seen(-1)], [told(0)])
    assert (state(run), run.count, run.told) == (MET, 3, 2)
    assert state(read([], [told(0)])) is UNKNOWN


def test_73_of_one_date_the_period_is_read_just_older_than_the_session() -> None:
    """The session of the day is a slip and the newest; after a good one it would be forgiven."""
    assert state(read([seen(-1, SLIP)], [told(-1, 3)])) is NOT_MET
    assert state(read([seen(-1), seen(-2, SLIP)], [told(-2)])) is MET


@pytest.mark.parametrize(("day", "expected"), [(-15, MET), (-16, UNKNOWN)])
def test_73_the_gap_binds_between_summary_and_session(day: int, expected: Truth) -> None:
    assert state(read([seen(-1)], [told(day)])) is expected


@pytest.mark.parametrize(("day", "expected"), [(-42, MET), (-43, UNKNOWN)])
def test_73_an_older_summary_counts_to_42_days(day: int, expected: Truth) -> None:
    """Between two summaries no gap binds."""
    assert state(read([], [told(-5), told(day, 1)])) is expected


@pytest.mark.parametrize(("day", "expected"), [(-21, MET), (-22, UNKNOWN)])
def test_73_the_newest_counted_lies_in_the_21_days(day: int, expected: Truth) -> None:
    assert state(read([], [told(day, 3)])) is expected


@pytest.mark.parametrize(("weight", "expected"), [(END, NOT_MET), (SLIP, MET), (COUNTS, MET), (SKIP, MET)])
def test_94_a_flare_beyond_the_gap_on_the_way_to_an_older_summary_ends_the_run(
    weight: str, expected: Truth
) -> None:
    """Summary of D-2, session of D-20 beyond the gap, summary of D-30."""
    assert state(read([seen(-20, weight)], [told(-2), told(-30, 1)])) is expected


def test_94_a_session_beyond_the_gap_adds_nothing_good() -> None:
    run = read([seen(-20), seen(-21)], [told(-2), told(-30, 0)])
    assert (run.count, state(run)) == (2, UNKNOWN)


def test_94_a_flare_beyond_the_oldest_summary_says_nothing() -> None:
    assert not read([seen(-1), seen(-20, END)], []).broken
    assert not read([seen(-31, END)], [told(-2), told(-30, 0)]).broken


# --- 95: the days good sessions stand for ---------------------------------------------------------------


def night(*days: int, value: int = 3) -> Builder:
    """RC1 with good sessions on these days, night pain told once, today; everything else is met."""
    made = ready_rc1(day=40, sessions=False, night=False).mornings(-40, *[2] * 20)
    for day in days:
        made.session(day, 2, 2, 2, item("A1"))
    return made.measure(0, "night_pain", value)


def night_state(made: Builder) -> Truth:
    return criterion(standing_of(made), "night pain").state


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ((-9, -5, -1), MET),  # ruling 95
        ((-3, -2, -1), UNKNOWN),  # ruling 95
        ((-6, -3, -1), MET),  # five days from the oldest to the newest
        ((-5, -3, -1), UNKNOWN),  # four
        ((-9, -1), UNKNOWN),  # no three good sessions
        ((), UNKNOWN),
    ],
)
def test_95_one_value_and_good_sessions_that_span_the_days(days: tuple[int, ...], expected: Truth) -> None:
    """RC1: night pain 3 or less, twice, at least 5 days apart."""
    assert night_state(night(*days)) is expected


def test_95_the_span_reads_more_sessions_than_the_run_needs() -> None:
    """Oldest and newest good session of the last 21 days, not of the three that count."""
    assert night_state(night(-12, -3, -2, -1)) is MET
    assert night_state(night(-22, -3, -2, -1)) is UNKNOWN


def test_95_the_value_has_to_be_at_the_limit_or_below() -> None:
    assert night_state(night(-9, -5, -1, value=4)) is NOT_MET
    assert night_state(night(-9, -5, -1, value=3).measure(0, "night_pain", 4)) is NOT_MET


def test_95_the_value_has_to_be_fresh() -> None:
    made = ready_rc1(day=40, sessions=False, night=False)
    made.good(4, last=-2, every=3, A1=(3, 10)).measure(-30, "night_pain", 2)
    assert night_state(made) is UNKNOWN


def test_95_an_earlier_value_above_the_limit_does_not_matter() -> None:
    assert night_state(night(-9, -5, -1).measure(-8, "night_pain", 6)) is MET


def test_95_what_was_good_before_a_flare_spans_nothing() -> None:
    """Good on D-12, a flare on D-4, good on D-3, D-2, D-1: only what came since shows the days since.

    The safer reading: the ruling names the oldest and newest good session and says nothing of a flare."""
    made = night(-12, -3, -2, -1)
    assert night_state(made) is MET
    assert night_state(made.session(-4, 8, 3, 2, item("A1"))) is UNKNOWN


def test_95_the_sessions_are_named() -> None:
    found = criterion(standing_of(night(-9, -5, -1)), "night pain")
    assert found.observed == "3, good sessions from Sat 21 Feb to Sun 1 Mar"


def test_95_sessions_of_the_stage_before_span_nothing() -> None:
    made = case("FS1", day=4, first=40).mornings(-40, *[2] * 39)
    for day in (-12, -3, -2, -1):
        made.session(day, 2, 2, 2, item("A1"))
    made.measure(0, "night_pain", 3)
    assert criterion(standing_of(made), "night pain").state is UNKNOWN


def test_95_rest_pain_of_a_stiff_shoulder_too() -> None:
    """FS1: rest pain 2 or less, twice, at least 7 days apart; sessions of D-6 to D-2 span four."""
    made = ready_fs1(rest=False).measure(-1, "rest_pain", 2)
    assert criterion(standing_of(made), "rest pain").state is UNKNOWN
    made.session(-9, 3, 2, 2, A1=(3, 10))
    assert criterion(standing_of(made), "rest pain").state is MET


def test_95_pathways_whose_file_does_not_say_so_keep_both_values() -> None:
    """``span_by_run``: RC, FS, OA; PO, AD, FX unchanged."""
    assert {code for code, p in rules().pathways.items() if p.span_by_run} == {"RC", "FS", "OA"}
    assert {code for code, p in rules().pathways.items() if p.clock} == {"PO", "AD", "FX"}


def test_95_good_sessions_advise_no_step_back() -> None:
    """ "Night pain 5 or more, twice" asks for two values: it is no criterion of little pain."""
    made = row("G G G", "RC2", last=-2, every=4).measure(-1, "night_pain", 6)
    assert standing_of(made).verdict.word.value != "STEP BACK ADVISED"


def test_looked_back_at_its_own_day_the_newest_session_has_no_next_morning_yet() -> None:
    """Whichever day of one history is looked at first."""
    record = case("RC1", day=20).good(4, last=-3, morning=2).record()
    looked = History(record, rules())
    for back in range(6):
        day = TODAY - timedelta(days=back)
        view, alone = looked.on(day), View.of(record, rules(), day)
        asked = next(one for one in view.stage.exit if one.kind == "sessions")
        assert count_run(view, asked) == count_run(alone, asked)
